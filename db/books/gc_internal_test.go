package books

import (
	"runtime"
	"runtime/debug"
	"testing"
)

// TestTheCollectorGoesBackToItsPace runs alone: it looks at the pace of the whole process.
func TestTheCollectorGoesBackToItsPace(t *testing.T) {
	before := debug.SetGCPercent(100)
	defer debug.SetGCPercent(before)
	pace := func() int {
		percent := debug.SetGCPercent(100)
		debug.SetGCPercent(percent)
		return percent
	}
	opened := easeCollector()
	if pace() != percentWhileOpening {
		t.Errorf("%d while a book is opened", pace())
	}
	done := (&Books{}).SpareMemory()
	if pace() > 100 || pace() < leastPercent {
		t.Errorf("%d while a sheet comes in beside it", pace())
	}
	opened()
	if pace() > 100 || pace() < leastPercent {
		t.Errorf("%d once the book is open", pace())
	}
	done()
	if pace() != 100 {
		t.Errorf("%d once all is done", pace())
	}
}

// The more is in use, the less garbage may lie about of it, down to a quarter.
func TestGarbageBesideALargeBookIsBounded(t *testing.T) {
	t.Parallel()
	for inUse, want := range map[uint64]int{0: 50, 100 << 20: 50, 160 << 20: 40, 512 << 20: 25, 4 << 30: 25} {
		if got := sparingPercent(inUse); got != want {
			t.Errorf("%d MB in use: %d", inUse>>20, got)
		}
	}
}

// Beside a small book so much garbage may lie about, and beside a large one as much as is in use.
func TestGarbageBesideASmallBookMayLieAbout(t *testing.T) {
	t.Parallel()
	for inUse, want := range map[uint64]int{0: 1600, 4 << 20: 1600, 8 << 20: 800, 32 << 20: 200, 64 << 20: 100, 4 << 30: 100} {
		if got := lyingPercent(64<<20, inUse); got != want {
			t.Errorf("%d MB in use: %d", inUse>>20, got)
		}
	}
}

// TestThePaceFollowsWhatIsInUse runs alone: it looks at the pace of the whole process.
func TestThePaceFollowsWhatIsInUse(t *testing.T) {
	before := debug.SetGCPercent(100)
	t.Cleanup(func() {
		debug.SetGCPercent(before)
	})
	var watched pace
	watched.lie = 1 << 40
	watched.watch()
	if pace := debug.SetGCPercent(100); pace != 1600 {
		t.Errorf("%d beside little", pace)
	}
	watched.lie = 1
	watched.watch()
	if pace := debug.SetGCPercent(100); pace != 100 {
		t.Errorf("%d beside much", pace)
	}
	calls := make(chan bool, 1)
	eachCollection(func() {
		select {
		case calls <- true:
		default:
		}
	})
	for range 2 { // it is called again after the second
		runtime.GC()
		<-calls
	}
}
