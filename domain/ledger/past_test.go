package ledger_test

import (
	"errors"
	"runtime"
	"testing"
	"time"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestABookTakesNoMoreThanIsSaid runs alone: it reads the memory of the whole process.
func TestABookTakesNoMoreThanIsSaid(t *testing.T) {
	for name, entries := range map[string][]*ledger.Entry{
		"a large book": ledgertest.Large(20_000, 1), "a small one": ledgertest.Large(500, 1),
		"a season": demo.Outfit(demo.Options{Seed: 1}).Recorded(), "long logs": longLogs(20, 10_000),
	} {
		past, err := mustOpen(t, entries).Past(int64(len(entries)))
		if err != nil {
			t.Fatal(err)
		}
		before := heap()
		book, err := past.Open(nil)
		if err != nil {
			t.Fatal(err)
		}
		took := heap() - before
		t.Logf("%s of %d entries: %.0f KiB, said are %d", name, len(entries), took/1024, past.Bytes()>>10)
		if took > float64(past.Bytes()) {
			t.Errorf("%s of %d entries takes %.0f KiB, and %d are said", name, len(entries), took/1024, past.Bytes()>>10)
		}
		runtime.KeepAlive(book)
		runtime.KeepAlive(entries)
	}
}

// longLogs are temperatures of a tank, so many logs of so many points.
func longLogs(logs, points int) []*ledger.Entry {
	o := ledgertest.NewOutfit()
	for i := range logs {
		log := &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}}
		for k := range points {
			log.Points = append(log.Points, ledger.TemperaturePoint{At: ledgertest.At(float64(i*points+k) / 60), TemperatureC: 30})
		}
		o.Write(float64(i), log)
	}
	return o.Entries
}

func TestWhatABookWasIsReadBesideItAndNotOutOfIt(t *testing.T) {
	t.Parallel()
	entries := ledgertest.Large(600, 1)
	b := mustOpen(t, entries[:500])
	past, err := b.Past(300)
	if err != nil {
		t.Fatal(err)
	}
	b.GoOn()
	if _, err := b.AsKnown(300); !errors.Is(err, ledger.ErrGoesOn) {
		t.Errorf("a book that goes on gives an earlier one: %v", err)
	}
	for _, e := range entries[500:] {
		if _, err := b.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	then, err := past.Open(nil)
	if err != nil {
		t.Fatal(err)
	}
	want := mustOpen(t, entries[:300])
	if d := differ(pictureOf(want, want.State()), pictureOf(then, then.State())); d != "" {
		t.Errorf("as known at 300: %s", d)
	}
	if n := past.Number(); n != 300 || then.Len() != 300 || past.Location() != time.UTC {
		t.Errorf("as known at %d it has %d entries", n, then.Len())
	}
	for _, n := range []int64{-1, 601} {
		if _, err := b.Past(n); err == nil {
			t.Errorf("the book was known at %d", n)
		}
	}
}
