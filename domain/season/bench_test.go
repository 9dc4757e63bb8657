package season_test

import (
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// BenchmarkSeason reports a season of 50,000 entries: from an open book, and
// cold, from the entries.
func BenchmarkSeason(b *testing.B) {
	entries := ledgertest.Large(50_000, 1)
	book, err := ledger.Open(time.UTC, entries)
	if err != nil {
		b.Fatal(err)
	}
	var id ledger.ID
	book.InForceOf(ledger.KindSeason, func(root ledger.ID, _ *ledger.Entry) bool { id = root; return false })
	report := func(b *testing.B, book *ledger.Book) {
		r, err := season.Of(book, id)
		if err != nil || !r.Balance.Balanced() || r.HoneyG == 0 {
			b.Fatal("the season does not balance", err)
		}
	}
	b.Run("book open", func(b *testing.B) {
		for b.Loop() {
			report(b, book)
		}
	})
	b.Run("cold", func(b *testing.B) {
		for b.Loop() {
			fresh, err := ledger.Open(time.UTC, entries)
			if err != nil {
				b.Fatal(err)
			}
			report(b, fresh)
		}
	})
	b.Run("evening", func(b *testing.B) {
		for b.Loop() {
			if len(season.Evening(book).Open) == 0 {
				b.Fatal("nothing is odd")
			}
		}
	})
}
