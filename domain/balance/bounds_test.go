package balance_test

import (
	"strings"
	"testing"
	"time"

	"pullbook/domain/balance"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestASeasonTooEntangledToReconcileSaysSo asks for a season of which a tank is never
// emptied in 32,000 entries, which would take minutes, and for one of its days.
func TestASeasonTooEntangledToReconcileSaysSo(t *testing.T) {
	t.Parallel()
	book, err := ledger.Open(time.UTC, ledgertest.Large(32_000, 1))
	if err != nil {
		t.Fatal(err)
	}
	var season ledger.ID
	var first ledger.Date
	book.InForceOf(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
		season, first = root, e.Body.(*ledger.Season).First
		return false
	})
	period, err := balance.Season(book, season)
	if err != nil {
		t.Fatal(err)
	}
	_, err = balance.Reconcile(book, period)
	if fault.CodeOf(err) != fault.Invalid || !strings.Contains(err.Error(), period.Name) || !strings.Contains(err.Error(), "Ask for a single day") {
		t.Errorf("a season that would take minutes: %v", err)
	}
	day, err := balance.Day(book, first)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := balance.Reconcile(book, day); err != nil {
		t.Errorf("a day of it: %v", err)
	}
}
