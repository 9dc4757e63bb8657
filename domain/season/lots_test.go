package season_test

import (
	"runtime"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// Whoever goes through all lots holds one of them at a time. The test runs alone: it
// reads what the whole process holds.
func TestLotsAreReportedOneByOne(t *testing.T) {
	book, err := ledger.Open(time.UTC, ledgertest.Large(40_000, 1))
	if err != nil {
		t.Fatal(err)
	}
	containers, lots := 0, 0
	for l := range season.EveryLot(book) {
		containers += len(l.Containers)
		lots++
	}
	before := held()
	var last *season.LotReport
	for l := range season.EveryLot(book) {
		if lots--; lots > 0 {
			continue
		}
		last = l
		// The containers alone would take more than 200 bytes each, the readings on them 40.
		if more := held() - before; more > int64(10*containers) {
			t.Errorf("at the last lot of %d containers %d bytes are held", containers, more)
		}
	}
	if last == nil || len(last.Containers) == 0 {
		t.Errorf("the last lot is %v", last)
	}
	runtime.KeepAlive(book)
}

func held() int64 {
	runtime.GC()
	runtime.GC() // what the first only set free
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}
