package db

import (
	"runtime/debug"
	"sync"
)

// whileReading has the collector look half as often while books are read: nearly
// all that is allocated then stays, and is looked through in vain.
var whileReading struct {
	mu     sync.Mutex
	books  int
	before int
}

const percentWhileReading = 200

// easeCollector is undone by what it returns.
func easeCollector() (done func()) {
	r := &whileReading
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.books++; r.books == 1 {
		r.before = debug.SetGCPercent(percentWhileReading)
		if r.before < 0 || r.before > percentWhileReading {
			debug.SetGCPercent(r.before) // whoever set it wants it rarer still
		}
	}
	return func() {
		r.mu.Lock()
		defer r.mu.Unlock()
		if r.books--; r.books == 0 {
			debug.SetGCPercent(r.before)
		}
	}
}
