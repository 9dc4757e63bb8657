package ledger_test

import (
	"fmt"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// yards is a book of so many yards.
func yards(t testing.TB, n int) *ledger.Book {
	t.Helper()
	o := ledgertest.NewOutfit()
	for i := range n {
		o.SetUp(&ledger.Yard{Name: fmt.Sprint("Old Yard ", i)})
	}
	b, err := ledger.Open(time.UTC, o.Entries)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Whether a name is free costs as much in a large book as in a small one: a sheet
// asks it of each of its rows. Each name that was looked at would be put into lower
// case, which takes memory.
func TestLookingUpANameCostsTheSameInALargeBook(t *testing.T) {
	cost := func(n int) (allocations float64) {
		b := yards(t, n)
		e := &ledger.Entry{ID: ledgertest.ID(9_000_000), Kind: ledger.KindYard, OccurredAt: ledgertest.At(1), Body: &ledger.Yard{Name: "A New Yard"}}
		return testing.AllocsPerRun(10, func() {
			if _, known := b.Names(ledger.KindYard, "A Yard Of None"); known {
				t.Fatal("a yard that nobody has is known")
			}
			if err := b.Check(e, ledgertest.At(2)); err != nil {
				t.Fatal(err)
			}
		})
	}
	if small, large := cost(10), cost(5_000); large > small {
		t.Errorf("a name takes %.0f allocations to look up among 10 yards, and %.0f among 5,000", small, large)
	}
}

// BenchmarkCheckName is how long it takes to say that a new yard's name is free.
func BenchmarkCheckName(b *testing.B) {
	for _, n := range []int{100, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			book := yards(b, n)
			e := &ledger.Entry{ID: ledgertest.ID(9_000_000), Kind: ledger.KindYard, OccurredAt: ledgertest.At(1), Body: &ledger.Yard{Name: "A New Yard"}}
			for b.Loop() {
				if err := book.Check(e, ledgertest.At(2)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
