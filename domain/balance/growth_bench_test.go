package balance_test

import (
	"fmt"
	"testing"
	"time"

	"pullbook/domain/balance"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// BenchmarkReconcileOneTankNeverEmptied reconciles seasons of which all weights hang
// together: how the time grows from one size to one four times as large.
func BenchmarkReconcileOneTankNeverEmptied(b *testing.B) {
	for _, entries := range []int{1500, 3000, 6000, 12000, 24000} {
		b.Run(fmt.Sprint(entries), func(b *testing.B) {
			book, err := ledger.Open(time.UTC, ledgertest.Large(entries, 1))
			if err != nil {
				b.Fatal(err)
			}
			var season ledger.ID
			book.InForceOf(ledger.KindSeason, func(root ledger.ID, _ *ledger.Entry) bool { season = root; return true })
			period, err := balance.Season(book, season)
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				if _, err := balance.Reconcile(book, period); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
