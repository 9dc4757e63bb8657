package ledger_test

import (
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// Combs that were pulled too wet ferment in the boxes: whoever sees that sees it of the drums
// that are filled from them.
func TestALotIsHeldWhoseHoneyWasSeenToFermentBefore(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what string
		look func(o *ledgertest.Outfit, pull, run ledger.ID)
		want ledger.Status
	}{
		{"nobody saw anything", func(*ledgertest.Outfit, ledger.ID, ledger.ID) {}, ledger.StatusOpen},
		{"in the boxes", func(o *ledgertest.Outfit, pull, _ ledger.ID) { o.Write(5, looked(ledger.PlacePull, pull, "present")) }, ledger.StatusHeld},
		{"in the run", func(o *ledgertest.Outfit, _, run ledger.ID) { o.Write(11, looked(ledger.PlaceRun, run, "present")) }, ledger.StatusHeld},
		{"in the boxes, and quiet when looked at again", func(o *ledgertest.Outfit, pull, _ ledger.ID) {
			o.Write(5, looked(ledger.PlacePull, pull, "present"))
			o.Write(8, looked(ledger.PlacePull, pull, "absent"))
		}, ledger.StatusOpen},
		{"in the boxes, after the honey had gone out of them", func(o *ledgertest.Outfit, pull, _ ledger.ID) { o.Write(13, looked(ledger.PlacePull, pull, "present")) }, ledger.StatusOpen},
		{"in the tank", func(o *ledgertest.Outfit, _, _ ledger.ID) {
			o.Write(20, looked(ledger.PlaceTank, o.Settling, "present"))
		}, ledger.StatusHeld},
		{"in the tank, after the drum was filled", func(o *ledgertest.Outfit, _, _ ledger.ID) {
			o.Write(30, looked(ledger.PlaceTank, o.Settling, "present"))
		}, ledger.StatusOpen},
		{"in the tank, which was washed", func(o *ledgertest.Outfit, _, _ ledger.ID) {
			o.Write(13, looked(ledger.PlaceTank, o.Settling, "present"))
			o.Write(14, &ledger.Wash{TankID: o.Settling})
		}, ledger.StatusOpen},
		{"in the tank a month before, which the book never has empty", func(o *ledgertest.Outfit, _, _ ledger.ID) {
			o.Write(13-31*24, &ledger.Stocktake{TankID: o.Settling, Method: "scale", MassG: 50_000})
			o.Write(14-31*24, looked(ledger.PlaceTank, o.Settling, "present"))
		}, ledger.StatusOpen},
	} {
		o := ledgertest.NewOutfit()
		pull := o.Pull(0, o.Mill, 60, 0)
		run := o.Run(10, "1")
		o.Supers(10, run, pull, 60)
		o.Out(12, run, o.Settling, 1_400_000)
		c.look(o, pull, run)
		lot := o.Write(24, &ledger.Lot{Code: "26-014"})
		o.Fill(25, lot, o.Settling, "D-1", 290_000)
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		if got := b.State().LotStatus(lot); got.Status != c.want {
			t.Errorf("%s: the lot is %s", c.what, got.Status)
		}
	}
}

func looked(kind ledger.PlaceKind, on ledger.ID, word string) *ledger.Reading {
	return &ledger.Reading{On: ledger.Place{Kind: kind, ID: on}, Observed: []ledger.Observed{{What: "fermentation", Word: word}}}
}
