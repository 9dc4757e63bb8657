package ledger_test

import (
	"fmt"
	"maps"
	"runtime"
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// BenchmarkManyFindings finds what is odd in books in which the same is odd 10,000, 20,000 and
// 40,000 times over, and tells what each odd entry takes.
func BenchmarkManyFindings(b *testing.B) {
	for _, code := range slices.Sorted(maps.Keys(manyFindings)) {
		for _, n := range []int{10_000, 20_000, 40_000} {
			b.Run(fmt.Sprint(code, "/", n), func(b *testing.B) {
				o := ledgertest.NewOutfit()
				manyFindings[code](o, n)
				book := mustOpen(b, o.Entries)
				found := entriesOdd(book, code)
				runtime.GC()
				before := processorTime()
				b.ResetTimer()
				for b.Loop() {
					book.State().Findings()
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(found), "ns/odd-entry")
				b.ReportMetric(float64((processorTime()-before).Nanoseconds())/float64(b.N)/float64(found), "cpu-ns/odd-entry")
			})
		}
	}
}

// entriesOdd is how many entries findings of a sort are about.
func entriesOdd(book *ledger.Book, code ledger.Code) (n int) {
	for _, f := range book.State().Findings() {
		if f.Code == code {
			n += 1 + len(f.With)
		}
	}
	return n
}
