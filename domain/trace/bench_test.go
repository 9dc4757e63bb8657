package trace_test

import (
	"fmt"
	"runtime"
	"testing"
	"time"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/trace"
)

const seasonEntries = 50_000

// seasons are a season of 50,000 entries in which one tank is never emptied, so
// that its honey reaches back to the first day, and one of an ordinary outfit
// with many houses.
var seasons = map[string]func(testing.TB) *ledger.Book{
	"one tank never emptied": func(t testing.TB) *ledger.Book { return mustOpen(t, ledgertest.Large(seasonEntries, 1)) },
	"many houses":            inventedBook,
}

func inventedBook(t testing.TB) *ledger.Book {
	made := demo.Outfit(demo.Sized(1, seasonEntries))
	for i, e := range made.Entries {
		e.Number = int64(i + 1)
		e.RecordedAt = e.OccurredAt.Add(made.Delays[i])
	}
	b, err := ledger.Open(made.Location, made.Entries)
	if err != nil {
		t.Fatalf("the book does not open: %v", err)
	}
	return b
}

func drums(b *ledger.Book) (out []ledger.ID) {
	b.InForceOf(ledger.KindFill, func(root ledger.ID, _ *ledger.Entry) bool {
		out = append(out, root)
		return true
	})
	return out
}

// BenchmarkTraceOfOneDrum traces drums of a season back, with a book that does
// not change: the middle one of the season, and the last.
func BenchmarkTraceOfOneDrum(b *testing.B) {
	for name, open := range seasons {
		book := open(b)
		tracer := trace.Open(book)
		all := drums(book)
		for where, drum := range map[string]ledger.ID{"middle": all[len(all)/2], "last": all[len(all)-1]} {
			b.Run(name+"/"+where, func(b *testing.B) {
				for b.Loop() {
					if _, err := tracer.Back(drum); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/trace")
			})
		}
	}
}

// BenchmarkRecall follows a yard forward.
func BenchmarkRecall(b *testing.B) {
	for name, open := range seasons {
		book := open(b)
		tracer := trace.Open(book)
		var yard ledger.ID
		book.InForceOf(ledger.KindYard, func(root ledger.ID, _ *ledger.Entry) bool { yard = root; return false })
		subject, err := trace.SubjectOf(book, yard)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				tracer.Forward(subject)
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/recall")
		})
	}
}

// BenchmarkOpen readies a book for tracing, as is done anew after an entry.
func BenchmarkOpen(b *testing.B) {
	for name, open := range seasons {
		book := open(b)
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				trace.Open(book)
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/open")
		})
	}
}

// BenchmarkSuperseded looks through a season for what rests on facts that are
// not so any more.
func BenchmarkSuperseded(b *testing.B) {
	for name, open := range seasons {
		book := open(b)
		b.Run(name, func(b *testing.B) {
			found := 0
			for b.Loop() {
				out, err := trace.Superseded(book)
				if err != nil {
					b.Fatal(err)
				}
				found = len(out)
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/season")
			b.ReportMetric(float64(found), "found")
		})
	}
}

// BenchmarkChanges tells what changed over the last entries of a season: so few
// that each is named, and so many that they are taken together.
func BenchmarkChanges(b *testing.B) {
	book := seasons["many houses"](b)
	for _, n := range []int64{20, 5_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if _, err := trace.Changes(book, book.Len()-n, book.Len()); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e3/float64(b.N), "ms/report")
		})
	}
}

// BenchmarkAppendWithWhatRests adds the last entries of a book of ten seasons as they were
// recorded, and tells how much of that what rests on each, and what shows beside the book,
// take in the same run.
func BenchmarkAppendWithWhatRests(b *testing.B) {
	const all, last = 500_000, 20_000
	entries := ledgertest.Large(all, 1)
	book, err := ledger.Open(time.UTC, entries[:all-last])
	if err != nil {
		b.Fatal(err)
	}
	runtime.GC()
	n := all - last
	var appending, resting time.Duration
	superseded := 0
	for b.Loop() {
		if n == all {
			b.Fatal("the book has no more entries: ask for fewer")
		}
		began := time.Now()
		r := trace.RestingOn(book, entries[n])
		mid := time.Now()
		if _, err := book.Append(entries[n]); err != nil {
			b.Fatal(err)
		}
		end := time.Now()
		superseded += len(r.Superseded(book))
		appending, resting = appending+end.Sub(mid), resting+mid.Sub(began)+time.Since(end)
		n++
	}
	b.ReportMetric(float64(appending.Nanoseconds())/1e3/float64(b.N), "append-µs/entry")
	b.ReportMetric(float64(resting.Nanoseconds())/1e3/float64(b.N), "rests-µs/entry")
	b.ReportMetric(float64(superseded)/float64(b.N), "superseded/entry")
}
