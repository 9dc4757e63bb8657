package ledger_test

import (
	"fmt"
	"runtime"
	"sync"
	"syscall"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// million is a book of a million entries, written once for all benchmarks.
var million = sync.OnceValue(func() []*ledger.Entry { return ledgertest.Large(1_000_000, 1) })

// sizes are of a small outfit's season, of a large one's, of ten seasons and of
// twenty. The small ones come first, before the large one weighs on the garbage
// collector.
var sizes = []struct {
	n       int
	entries func() []*ledger.Entry
}{
	{10_000, func() []*ledger.Entry { return ledgertest.Large(10_000, 1) }},
	{100_000, func() []*ledger.Entry { return ledgertest.Large(100_000, 1) }},
	{500_000, func() []*ledger.Entry { return million()[:500_000] }},
	{1_000_000, million},
}

// perSecond reports the entries a second, and those a second of processor time
// that the whole process took, which others on the machine do not lengthen.
func perSecond(b *testing.B, entries int, before time.Duration) {
	n := float64(entries) * float64(b.N)
	b.ReportMetric(n/b.Elapsed().Seconds(), "entries/s")
	b.ReportMetric(n/(processorTime()-before).Seconds(), "entries/cpu-s")
}

func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkOpen reads a book from its entries: registering, ordering, replay.
func BenchmarkOpen(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size.n), func(b *testing.B) {
			entries := size.entries()
			runtime.GC()
			before := processorTime()
			b.ResetTimer()
			for b.Loop() {
				if _, err := ledger.Open(time.UTC, entries); err != nil {
					b.Fatal(err)
				}
			}
			perSecond(b, size.n, before)
		})
	}
}

// BenchmarkReplay walks the line alone, from nothing to the end.
func BenchmarkReplay(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size.n), func(b *testing.B) {
			book := mustOpen(b, size.entries())
			end := ledgertest.At(1e6)
			runtime.GC()
			before := processorTime()
			b.ResetTimer()
			for b.Loop() {
				if !book.StateAt(end).Totals().Balanced() {
					b.Fatal("grams are lost")
				}
			}
			perSecond(b, size.n, before)
		})
	}
}

// BenchmarkFindings looks over the whole book for what does not add up.
func BenchmarkFindings(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size.n), func(b *testing.B) {
			book := mustOpen(b, size.entries())
			runtime.GC()
			before := processorTime()
			b.ResetTimer()
			for b.Loop() {
				book.State().Findings()
			}
			perSecond(b, size.n, before)
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
			book.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = root; return true })
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

// BenchmarkAppendLog adds temperature logs to a book of a million entries, of a
// tank that has some twenty thousand points.
func BenchmarkAppendLog(b *testing.B) {
	entries := million()
	book := mustOpen(b, entries)
	var tank ledger.ID
	book.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = root; return true })
	last := entries[len(entries)-1].OccurredAt
	n := 0
	b.ResetTimer()
	for b.Loop() {
		n++
		at := last.Add(time.Duration(n) * time.Minute)
		e := &ledger.Entry{Number: book.Len() + 1, ID: ledgertest.ID(20_000_000 + n), Kind: ledger.KindTemperatureLog, OccurredAt: at, RecordedAt: at,
			Body: &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceTank, ID: tank}, Points: []ledger.TemperaturePoint{
				{At: at.Add(-30 * time.Second), TemperatureC: 30}, {At: at, TemperatureC: 30}}}}
		if _, err := book.Append(e); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(b.Elapsed().Seconds()*1e6/float64(b.N), "µs/entry")
}

// BenchmarkAppendVeryLate adds readings to a book of 50,000 entries that were taken before
// 25,000 of them; or opens the book with one more instead, and says what it changed, which
// is all that is done then while the book is held.
func BenchmarkAppendVeryLate(b *testing.B) {
	entries := ledgertest.Large(50_000, 1)
	book := mustOpen(b, entries)
	var line []*ledger.Entry
	for _, e := range book.Happened {
		line = append(line, e)
	}
	at := line[len(line)-25_000].OccurredAt
	var tank ledger.ID
	book.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = root; return true })
	n := 0
	late := func() *ledger.Entry {
		n++
		return &ledger.Entry{Number: book.Len() + 1, ID: ledgertest.ID(30_000_000 + n), Kind: ledger.KindReading, OccurredAt: at.Add(time.Duration(n) * time.Microsecond),
			RecordedAt: entries[len(entries)-1].RecordedAt, Body: ledgertest.Moisture(ledger.PlaceTank, tank, 17.5)}
	}
	timed := func(name string, do func() error) {
		b.Run(name, func(b *testing.B) {
			runtime.GC()
			before := processorTime()
			for b.Loop() {
				if err := do(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric((processorTime()-before).Seconds()*1e3/float64(b.N), "cpu-ms/entry")
		})
	}
	timed("appended", func() error { _, err := book.Append(late()); return err })
	var with *ledger.Book
	timed("opened with it", func() error {
		past, err := book.Past(book.Len())
		if err == nil {
			with, err = past.With(late())
		}
		return err
	})
	timed("told", func() error { with.Changed(book); return nil })
}

// BenchmarkAppendAsRecorded adds the last entries of a book of ten seasons as they were
// recorded, and tells how much of that looking twice for what shows beside the book takes.
func BenchmarkAppendAsRecorded(b *testing.B) {
	const all, last = 500_000, 20_000
	entries := ledgertest.Large(all, 1)
	book := mustOpen(b, entries[:all-last])
	runtime.GC()
	n := all - last
	var appending, looking time.Duration
	for b.Loop() {
		if n == all {
			b.Fatal("the book has no more entries: ask for fewer")
		}
		began := time.Now()
		book.LooksBeside(entries[n])
		book.LooksBeside(entries[n])
		mid := time.Now()
		if _, err := book.Append(entries[n]); err != nil {
			b.Fatal(err)
		}
		appending, looking = appending+time.Since(mid), looking+mid.Sub(began)
		n++
	}
	b.ReportMetric(float64(appending.Nanoseconds())/1e3/float64(b.N), "append-µs/entry")
	b.ReportMetric(float64(looking.Nanoseconds())/1e3/float64(b.N), "of-it-beside-µs/entry")
}
