package books

import (
	"runtime/debug"
	"sync"
)

// whileOpening has the garbage collector run half as often while books are opened: nearly
// all that is allocated then stays.
var whileOpening struct {
	mu     sync.Mutex
	books  int
	before int
}

const percentWhileOpening = 200

// easeCollector has the garbage collector run less often until done is called.
func easeCollector() (done func()) {
	r := &whileOpening
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.books++; r.books == 1 {
		r.before = debug.SetGCPercent(percentWhileOpening)
		if r.before < 0 || r.before > percentWhileOpening {
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
