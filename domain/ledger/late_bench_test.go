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

// lateBook is a book whose line is long enough for an entry 100,000 places back, and
// seasonBook one of a large season.
var (
	lateBook   = sync.OnceValue(func() []*ledger.Entry { return ledgertest.Large(120_000, 1) })
	seasonBook = sync.OnceValue(func() []*ledger.Entry { return ledgertest.Large(50_000, 1) })
)

// lateWriter writes entries into a book that happened before its last ones.
type lateWriter struct {
	*ledger.Book
	// line is what had happened when the book was opened, in order.
	line                []*ledger.Entry
	sump, settling, lot ledger.ID
	drum                ledger.ID
	written             int
}

func openLate(b *testing.B, entries []*ledger.Entry) *lateWriter {
	w := &lateWriter{Book: mustOpen(b, entries)}
	for _, e := range w.Happened {
		w.line = append(w.line, e)
	}
	for e := range w.Entries {
		switch body := e.Body.(type) {
		case *ledger.Tank:
			if body.Use == ledger.Sump {
				w.sump = e.ID
			} else {
				w.settling = e.ID
			}
		case *ledger.ContainerKind:
			w.drum = e.ID
		case *ledger.Lot:
			if w.lot == (ledger.ID{}) {
				w.lot = e.ID
			}
		}
	}
	return w
}

// back is a moment right before the last so many that happened; with none, right after all.
func (w *lateWriter) back(places int) time.Time {
	if places == 0 {
		return w.line[len(w.line)-1].OccurredAt.Add(time.Second)
	}
	return w.line[len(w.line)-places].OccurredAt.Add(-time.Second)
}

// The bodies that are written late. A gram is so little that the tank does not run dry,
// however many are written.
var lateKinds = []struct {
	name string
	body func(w *lateWriter) ledger.Body
}{
	{"reading", func(w *lateWriter) ledger.Body { return ledgertest.Moisture(ledger.PlaceTank, w.settling, 17.5) }},
	{"transfer", func(w *lateWriter) ledger.Body {
		return ledgertest.Move(ledger.PlaceTank, w.settling, ledger.PlaceTank, w.sump, 1)
	}},
	{"fill", func(w *lateWriter) ledger.Body {
		return &ledger.Fill{LotID: w.lot, TankID: w.settling, ContainerKindID: w.drum, Container: fmt.Sprint("late ", w.written), TareG: 17_000, GrossG: 17_001}
	}},
}

// entry is the book's next, about what happened at a moment.
func (w *lateWriter) entry(at time.Time, body ledger.Body) *ledger.Entry {
	w.written++
	recorded := w.line[len(w.line)-1].OccurredAt.Add(time.Hour)
	return &ledger.Entry{Number: w.Len() + 1, ID: ledgertest.ID(40_000_000 + w.written), Kind: body.Kind(),
		OccurredAt: at, RecordedAt: recorded, RecordedBy: "Ada", Body: body}
}

func (w *lateWriter) append(b *testing.B, entries ...*ledger.Entry) {
	if _, err := w.AppendTogether(entries...); err != nil {
		b.Fatal(err)
	}
}

// perEntry reports how long each entry took that a benchmark wrote, by the clock and of the
// processor.
func perEntry(b *testing.B, entries int, used time.Duration) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/1e3/float64(entries), "µs/entry")
	b.ReportMetric(float64(used.Nanoseconds())/1e3/float64(entries), "cpu-µs/entry")
}

// writtenAt writes entries of a kind at a moment, one after the other, so that each is as many
// places back.
func writtenAt(b *testing.B, w *lateWriter, at time.Time, body func(*lateWriter) ledger.Body) {
	b.ReportAllocs()
	runtime.GC()
	before := processorTime()
	b.ResetTimer()
	for b.Loop() {
		w.append(b, w.entry(at.Add(time.Duration(w.written)*time.Microsecond), body(w)))
	}
	perEntry(b, b.N, processorTime()-before)
}

// BenchmarkLate writes entries so many places back in a line of 120,000.
func BenchmarkLate(b *testing.B) {
	for _, kind := range lateKinds {
		for _, places := range []int{0, 10, 100, 1_000, 10_000, 100_000} {
			b.Run(fmt.Sprint(kind.name, "/", places), func(b *testing.B) {
				w := openLate(b, lateBook())
				writtenAt(b, w, w.back(places), kind.body)
			})
		}
	}
}

// BenchmarkLateInASeason writes what an evening brings into a book of 50,000 entries: a
// reading of the day before, and a transfer that nobody had written down.
func BenchmarkLateInASeason(b *testing.B) {
	b.Run("reading a day late", func(b *testing.B) {
		w := openLate(b, seasonBook())
		writtenAt(b, w, w.back(0).Add(-24*time.Hour), lateKinds[0].body)
	})
	b.Run("transfer 25,000 entries back", func(b *testing.B) {
		w := openLate(b, seasonBook())
		writtenAt(b, w, w.back(25_000), lateKinds[1].body)
	})
}

// BenchmarkDayThatWaited writes a day's 500 entries into a book of a season: of a device
// that had no network, after all that others recorded on that day; and the same 500 into
// the book as it was on that morning, where each is the last that happened; and all at once,
// as a request brings them.
func BenchmarkDayThatWaited(b *testing.B) {
	const waited = 500
	all := seasonBook()
	evening := openLate(b, all).back(0)
	morning := evening.Add(-24 * time.Hour)
	n := 0
	for n < len(all) && all[n].RecordedAt.Before(morning) {
		n++
	}
	for _, book := range []struct {
		name     string
		entries  []*ledger.Entry
		together bool
	}{{"in order", all[:n], false}, {"waited", all, false}, {"waited, together", all, true}} {
		b.Run(book.name, func(b *testing.B) {
			b.ReportAllocs()
			var used time.Duration
			for b.Loop() {
				b.StopTimer()
				w := openLate(b, book.entries)
				runtime.GC()
				before := processorTime()
				b.StartTimer()
				var day []*ledger.Entry
				for i := range waited {
					e := w.entry(morning.Add(time.Duration(i)*24*time.Hour/waited), lateKinds[i%len(lateKinds)].body(w))
					e.Number += int64(len(day))
					if day = append(day, e); !book.together || i == waited-1 {
						w.append(b, day...)
						day = nil
					}
				}
				used += processorTime() - before
			}
			perEntry(b, waited*b.N, used)
		})
	}
}
