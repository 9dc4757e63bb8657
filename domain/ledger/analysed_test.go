package ledger_test

import (
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/standard"
)

// The first drum is filled 100 hours after 1 July 2026, 06:00: on 5 July.
func TestAResultFromBeforeTheHoneyWasFilledIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		on       ledger.PlaceKind
		analysed standard.Date
		flagged  bool
	}{
		{ledger.PlaceLot, "2026-07-04", true},
		{ledger.PlaceLot, "2026-07-05", false},
		{ledger.PlaceLot, "", false},
		{ledger.PlaceContainer, "2026-07-04", true},
		{ledger.PlaceContainer, "2026-07-06", false},
		{ledger.PlaceTank, "2026-07-02", false},
	} {
		o := ledgertest.NewOutfit()
		lot := o.Lot(5, "26-01")
		drum := o.Fill(100, lot, o.Settling, "D-1", 300_000)
		o.Fill(300, lot, o.Settling, "D-2", 300_000)
		id := map[ledger.PlaceKind]ledger.ID{ledger.PlaceLot: lot, ledger.PlaceContainer: drum, ledger.PlaceTank: o.Settling}[row.on]
		result := o.Write(400, &ledger.Reading{On: ledger.Place{Kind: row.on, ID: id}, AnalysedOn: row.analysed,
			Measured: measured("hmf_mg_per_kg", 6.0)})
		if got := slices.Contains(flagsOn(t, o, result), ledger.AnalysedBeforeFilled); got != row.flagged {
			t.Errorf("%s analysed on %q: flagged is %t", row.on, row.analysed, got)
		}
		if !row.flagged {
			continue
		}
		o.Correct(drum, 60, o.FillBody(lot, o.Settling, "D-1", 300_000))
		if slices.Contains(flagsOn(t, o, result), ledger.AnalysedBeforeFilled) {
			t.Errorf("%s: the drum was filled on 3 July after all, and the result is still flagged", row.on)
		}
	}
}

// A withdrawn drum says nothing of when a lot was filled.
func TestAWithdrawnDrumDoesNotSayWhenALotWasFilled(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	lot := o.Lot(5, "26-01")
	early := o.Fill(60, lot, o.Settling, "D-1", 300_000)
	o.Fill(100, lot, o.Settling, "D-2", 300_000)
	result := o.Write(400, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, AnalysedOn: "2026-07-04", Measured: measured("hmf_mg_per_kg", 6.0)})
	if got := flagsOn(t, o, result); slices.Contains(got, ledger.AnalysedBeforeFilled) {
		t.Errorf("%v: D-1 was filled on 3 July", got)
	}
	o.Withdraw(early)
	if got := flagsOn(t, o, result); !slices.Contains(got, ledger.AnalysedBeforeFilled) {
		t.Errorf("%v: by D-2 the lot was filled from 5 July", got)
	}
}
