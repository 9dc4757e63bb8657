package ledger_test

import (
	"strings"
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
		{"in the tank thirty days before the drum was filled, to the hour", func(o *ledgertest.Outfit, _, _ ledger.ID) {
			o.Write(24-30*24, &ledger.Stocktake{TankID: o.Settling, Method: "scale", MassG: 50_000})
			o.Write(25-30*24, looked(ledger.PlaceTank, o.Settling, "present"))
		}, ledger.StatusHeld},
		{"in the tank, and quiet when looked at again", func(o *ledgertest.Outfit, _, _ ledger.ID) {
			o.Write(13, looked(ledger.PlaceTank, o.Settling, "present"))
			o.Write(20, looked(ledger.PlaceTank, o.Settling, "absent"))
		}, ledger.StatusOpen},
		{"in the tank, before more came into it", func(o *ledgertest.Outfit, _, run ledger.ID) {
			o.Write(13, looked(ledger.PlaceTank, o.Settling, "present"))
			o.Out(14, run, o.Settling, 100_000)
		}, ledger.StatusHeld},
		{"in the tank, which was emptied before more came into it", func(o *ledgertest.Outfit, _, run ledger.ID) {
			o.Write(13, looked(ledger.PlaceTank, o.Settling, "present"))
			o.Write(14, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, To: ledger.Place{Kind: ledger.PlaceWaste}, MassG: 1_400_000})
			o.Out(15, run, o.Settling, 100_000)
		}, ledger.StatusOpen},
		{"in the tank, and a decision dated before the drum was filled", func(o *ledgertest.Outfit, _, _ ledger.ID) {
			o.Write(13, looked(ledger.PlaceTank, o.Settling, "present"))
		}, ledger.StatusHeld},
	} {
		o := ledgertest.NewOutfit()
		pull := o.Pull(0, o.Mill, 60, 0)
		run := o.Run(10, "1")
		o.Supers(10, run, pull, 60)
		o.Out(12, run, o.Settling, 1_400_000)
		c.look(o, pull, run)
		lot := o.Write(24, &ledger.Lot{Code: "26-014"})
		o.Fill(25, lot, o.Settling, "D-1", 290_000)
		if strings.Contains(c.what, "a decision") {
			o.WriteLate(20, 30, &ledger.LotStatus{LotID: lot, Status: ledger.StatusOpen, Note: "it is only foam"})
		}
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

// The check that lifts a hold has to come after the last that somebody saw of the honey, out
// of whichever boxes or tank it came.
func TestALotIsHeldByTheLastThatWasSeenOfItsHoney(t *testing.T) {
	t.Parallel()
	for what, honey := range map[string]func(o *ledgertest.Outfit) (last ledger.ID){
		"two yards' boxes": func(o *ledgertest.Outfit) ledger.ID {
			first, second := o.Pull(0, o.Mill, 30, 0), o.Pull(0, o.Ridge, 30, 0)
			run := o.Run(10, "1")
			o.Supers(10, run, first, 30)
			o.Supers(10, run, second, 30)
			o.Write(5, looked(ledger.PlacePull, first, "present"))
			last := o.Write(6, looked(ledger.PlacePull, second, "present"))
			o.Out(12, run, o.Settling, 1_400_000)
			return last
		},
		"two tanks": func(o *ledgertest.Outfit) ledger.ID {
			other := o.SetUp(&ledger.Tank{Name: "small tank", Use: ledger.Settling, CapacityG: 500_000})
			run := o.Run(10, "1")
			o.Supers(10, run, o.Pull(0, o.Mill, 60, 0), 60)
			o.Out(12, run, o.Sump, 200_000)
			o.Out(12, run, other, 200_000)
			o.Write(13, looked(ledger.PlaceTank, o.Sump, "present"))
			last := o.Write(14, looked(ledger.PlaceTank, other, "present"))
			o.Pump(15, o.Sump, o.Settling, 200_000)
			o.Pump(16, other, o.Settling, 200_000)
			return last
		},
	} {
		o := ledgertest.NewOutfit()
		last := honey(o)
		lot := o.Write(24, &ledger.Lot{Code: "26-014"})
		o.Fill(25, lot, o.Settling, "D-1", 290_000)
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		if got := b.State().LotStatus(lot); got.Status != ledger.StatusHeld || got.By.ID != last {
			t.Errorf("%s: the lot is %s by %v, not by the last look", what, got.Status, got.By)
		}
	}
}

// What is seen of a whole lot goes along with the honey of the drums that it had by then.
func TestASightOfALotGoesAlongWithItsDrums(t *testing.T) {
	t.Parallel()
	for number, want := range map[string]ledger.Status{"D-1": ledger.StatusHeld, "D-2": ledger.StatusOpen} {
		o := ledgertest.NewOutfit()
		run := o.Run(10, "1")
		o.Supers(10, run, o.Pull(0, o.Mill, 60, 0), 60)
		o.Out(12, run, o.Settling, 1_400_000)
		lot := o.Lot(24, "26-014")
		drums := map[string]ledger.ID{"D-1": o.Fill(25, lot, o.Settling, "D-1", 290_000)}
		o.Write(26, looked(ledger.PlaceLot, lot, "present"))
		drums["D-2"] = o.Fill(27, lot, o.Settling, "D-2", 290_000)
		second := o.Lot(28, "26-015")
		o.Write(30, ledgertest.Move(ledger.PlaceContainer, drums[number], ledger.PlaceContainer, o.Fill(29, second, o.Settling, "D-3", 50_000), 10_000))
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		if got := b.State().LotStatus(second); got.Status != want {
			t.Errorf("with honey of %s the second lot is %s", number, got.Status)
		}
	}
}

// A decision about a lot may lie between two pours of the same honey: the second holds it again.
func TestTheSameHoneyPouredAgainHoldsTheLotAgain(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(10, "1")
	o.Supers(10, run, o.Pull(0, o.Mill, 60, 0), 60)
	o.Out(12, run, o.Settling, 1_400_000)
	o.Write(20, looked(ledger.PlaceTank, o.Settling, "present"))
	lot := o.Lot(24, "26-014")
	drum := o.Fill(25, lot, o.Settling, "D-1", 200_000)
	o.Write(30, &ledger.LotStatus{LotID: lot, Status: ledger.StatusOpen, Note: "it is only foam"})
	for _, want := range []ledger.Status{ledger.StatusOpen, ledger.StatusHeld} {
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		if got := b.State().LotStatus(lot); got.Status != want {
			t.Errorf("the lot is %s, not %s", got.Status, want)
		}
		o.Write(35, ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceContainer, drum, 50_000))
	}
}
