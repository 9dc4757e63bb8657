package trace_test

import (
	"fmt"
	"testing"

	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/trace"
)

// BenchmarkGrowth has what changed and what is superseded in seasons of one size and of twice
// and four times as many entries, in which one tank is never emptied.
func BenchmarkGrowth(b *testing.B) {
	for _, entries := range []int{3000, 6000, 12000, 24000} {
		book := mustOpen(b, ledgertest.Large(entries, 1))
		b.Run(fmt.Sprint("Superseded/", entries), func(b *testing.B) {
			for b.Loop() {
				if _, err := trace.Superseded(book); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprint("Changes/", entries), func(b *testing.B) {
			for b.Loop() {
				if _, err := trace.Changes(book, 0, book.Len()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
