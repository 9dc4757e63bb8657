package books

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"sync"
)

// collector says how often the garbage collector runs: a quarter as often while books are
// opened, since nearly all that is allocated then stays; and twice as often while sheets are
// brought in, beside large books more often still, since nearly nothing of it does.
var collector pace

type pace struct {
	mu              sync.Mutex
	opening, sheets int
	// usual is the percentage while nobody does either: of whoever set it, or so much that lie
	// bytes of garbage may lie about, where lie is not 0.
	usual int
	lie   int64
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
func easeCollector() (done func()) { return collector.set(&collector.opening) }

// SpareMemory has the garbage collector run more often until done is called, and the more so
// the more is in use: its usual pace would let several times the memory of a sheet lie about.
func (b *Books) SpareMemory() (done func()) { return collector.set(&collector.sheets) }

// set counts one more of those who open books, or who bring sheets in.
func (c *pace) set(of *int) (done func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.opening+c.sheets == 0 && c.lie == 0 {
		c.usual = debug.SetGCPercent(percentWhileOpening)
	}
	if of == &c.sheets && c.sheets == 0 {
		c.sparing = sparingPercent(inUse())
	}
	*of++
	c.adjust()
	return func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		*of--
		c.adjust()
	}
}

// adjust sets what is due. Whoever set the collector otherwise may want it rarer than while
// books are opened, or more often than while sheets are brought in.
func (c *pace) adjust() {
	percent := c.usual
	rare := percent < 0 // it is switched off
	switch {
	case c.sheets > 0 && (rare || percent > c.sparing):
		percent = c.sparing
	case c.sheets == 0 && c.opening > 0 && !rare:
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

// LetGarbageLie has the collector wait until so many bytes of garbage lie about. Beside a book
// of some megabytes it would else run after every few requests. Where GOGC says how often it
// runs, that holds.
func LetGarbageLie(bytes int64) {
	if os.Getenv("GOGC") != "" || bytes <= 0 {
		return
	}
	collector.mu.Lock()
	watched := collector.lie > 0
	collector.lie = bytes
	collector.mu.Unlock()
	if collector.watch(); !watched {
		eachCollection(collector.watch)
	}
}

// eachCollection calls a function after each collection: what nothing holds is finalized then.
func eachCollection(do func()) {
	runtime.SetFinalizer(new(*byte), func(**byte) {
		do()
		eachCollection(do)
	})
}

// watch sets the usual pace by what is in use. It leaves it where it is about right, since to
// set it stops all goroutines for some microseconds.
func (c *pace) watch() {
	c.mu.Lock()
	defer c.mu.Unlock()
	percent := lyingPercent(c.lie, inUse())
	if off := percent - c.usual; off > c.usual/4 || -off > c.usual/4 {
		c.usual = percent
		c.adjust()
	}
}

// lyingPercent is how much garbage may lie about, of what is in use: as Go has it, or so many
// bytes where that is more.
func lyingPercent(lie int64, inUse uint64) int {
	const asGoHasIt, most = 100, 1600 // with nothing in use Go waits for 4 MB times the percentage
	if inUse == 0 {
		return most
	}
	return min(most, max(asGoHasIt, int(100*uint64(lie)/inUse)))
}
