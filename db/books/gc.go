package books

import (
	"runtime/debug"
	"runtime/metrics"
	"sync"
)

// collector says how often the garbage collector runs: a quarter as often while books are
// opened, since nearly all that is allocated then stays; and twice as often while sheets are
// brought in, beside large books more often still, since nearly nothing of it does.
var collector struct {
	mu              sync.Mutex
	opening, sheets int
	// before is the percentage of whoever set it, while it is another one.
	before int
	// sparing is the percentage while sheets are brought in.
	sparing int
}

const (
	percentWhileOpening = 400
	// usualGarbage is how much garbage may lie about while sheets are brought in, in bytes;
	// usualPercent and leastPercent are how much and how little of what is in use, for each
	// collection looks at that.
	usualGarbage = 64 << 20
	usualPercent = 50
	leastPercent = 25
)

// easeCollector has the garbage collector run less often until done is called.
func easeCollector() (done func()) { return setCollector(&collector.opening) }

// SpareMemory has the garbage collector run more often until done is called, and the more so
// the more is in use: its usual pace would let several times the memory of a sheet lie about.
func (b *Books) SpareMemory() (done func()) { return setCollector(&collector.sheets) }

// setCollector counts one more of those who open books, or who bring sheets in.
func setCollector(of *int) (done func()) {
	c := &collector
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.opening+c.sheets == 0 {
		c.before = debug.SetGCPercent(percentWhileOpening)
	}
	if of == &c.sheets && c.sheets == 0 {
		c.sparing = sparingPercent(inUse())
	}
	*of++
	adjustCollector()
	return func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		*of--
		adjustCollector()
	}
}

// adjustCollector sets what is due. Whoever set the collector otherwise may want it rarer
// than while books are opened, or more often than while sheets are brought in.
func adjustCollector() {
	percent := collector.before
	rare := percent < 0 // it is switched off
	switch {
	case collector.sheets > 0 && (rare || percent > collector.sparing):
		percent = collector.sparing
	case collector.sheets == 0 && collector.opening > 0 && !rare:
		percent = max(percent, percentWhileOpening)
	}
	debug.SetGCPercent(percent)
}

// sparingPercent is how much garbage may lie about, of what is in use.
func sparingPercent(inUse uint64) int {
	if inUse == 0 {
		return usualPercent
	}
	return min(usualPercent, max(leastPercent, int(100*usualGarbage/inUse)))
}

// inUse is what the last collection left, in bytes.
func inUse() uint64 {
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(live)
	return live[0].Value.Uint64()
}
