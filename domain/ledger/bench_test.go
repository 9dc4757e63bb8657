package ledger_test

import (
	"fmt"
	"runtime"
	"sync"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// million is a book of a million entries, written once for all benchmarks.
var million = sync.OnceValue(func() []*ledger.Entry { return ledgertest.Large(1_000_000, 1) })

// sizes are of a season of a large outfit, and of twenty of them. The small one
// comes first, before the large one weighs on the garbage collector.
var sizes = []struct {
	n       int
	entries func() []*ledger.Entry
}{
	{50_000, func() []*ledger.Entry { return ledgertest.Large(50_000, 1) }},
	{1_000_000, million},
}

func perSecond(b *testing.B, entries int) {
	b.ReportMetric(float64(entries)*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
}

// BenchmarkOpen reads a book from its entries: registering, ordering, replay.
func BenchmarkOpen(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size.n), func(b *testing.B) {
			entries := size.entries()
			b.ResetTimer()
			for b.Loop() {
				if _, err := ledger.Open(time.UTC, entries); err != nil {
					b.Fatal(err)
				}
			}
			perSecond(b, size.n)
		})
	}
}

// BenchmarkReplay walks the line alone, from nothing to the end.
func BenchmarkReplay(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size.n), func(b *testing.B) {
			book := mustOpen(b, size.entries())
			end := ledgertest.At(1e6)
			b.ResetTimer()
			for b.Loop() {
				if !book.StateAt(end).Totals().Balanced() {
					b.Fatal("grams are lost")
				}
			}
			perSecond(b, size.n)
		})
	}
}

// BenchmarkMemory tells the bytes that a book takes per entry: the entries
// themselves, and what the book adds to them.
func BenchmarkMemory(b *testing.B) {
	const n = 200_000
	var own, added float64
	for b.Loop() {
		start := heap()
		entries := ledgertest.Large(n, 1)
		written := heap()
		book, err := ledger.Open(time.UTC, entries)
		if err != nil {
			b.Fatal(err)
		}
		own, added = (written-start)/n, (heap()-written)/n
		runtime.KeepAlive(book)
		runtime.KeepAlive(entries)
	}
	b.ReportMetric(own, "B/entry-itself")
	b.ReportMetric(added, "B/entry-added")
}

func heap() float64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc)
}

// BenchmarkAppend adds entries to a book of a million: at the end of the line,
// and a few hours or days before it.
func BenchmarkAppend(b *testing.B) {
	for _, late := range []time.Duration{0, 3 * time.Hour, 72 * time.Hour} {
		b.Run(fmt.Sprint("late=", late), func(b *testing.B) {
			o := ledgertest.Outfit{Scribe: ledgertest.Scribe{Entries: million()}}
			book := mustOpen(b, o.Entries)
			var tank ledger.ID
			book.Of(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = root; return true })
			last := o.Entries[len(o.Entries)-1].OccurredAt
			n := 0
			b.ResetTimer()
			for b.Loop() {
				n++
				e := &ledger.Entry{Number: book.Len() + 1, ID: ledgertest.ID(10_000_000 + n), Kind: ledger.KindReading,
					OccurredAt: last.Add(-late + time.Duration(n)*time.Microsecond), RecordedAt: last,
					Body: ledgertest.Moisture(ledger.PlaceTank, tank, 17.5)}
				if n%2 == 0 {
					e.Kind, e.Body = ledger.KindStocktake, &ledger.Stocktake{TankID: tank, Method: "dip", MassG: 100_000}
				}
				if _, err := book.Append(e); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e6/float64(b.N), "µs/entry")
		})
	}
}
