package quality_test

import (
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// other gives the house a second lot with one drum.
func (h *house) other() (lot, drum ledger.ID) {
	h.t.Helper()
	lot = h.at(40, &ledger.Lot{Code: "26-015", StoreID: h.store})
	return lot, h.at(41, h.FillBody(lot, h.Settling, "D-9", 50_000))
}

// decant pours honey out of one drum into another.
func (h *house) decant(hours float64, from, to ledger.ID) ledger.ID {
	h.t.Helper()
	return h.at(hours, ledgertest.Move(ledger.PlaceContainer, from, ledger.PlaceContainer, to, 10_000))
}

func (h *house) decided(lot ledger.ID) ledger.Decided { return h.book.State().LotStatus(lot) }

// Whoever recalls a lot wants its honey wherever it is.
func TestARecallGoesAlongWithTheHoney(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	second, drum := h.other()
	h.decant(50, h.drums[0], drum)
	word := &ledger.LotStatus{LotID: second, Status: ledger.StatusReleased, Override: true, Note: "as agreed"}
	h.at(60, word)
	hold := h.at(70, h.held(ledger.HeldForLimit))
	if got := h.decided(second); got.Status != ledger.StatusReleased {
		t.Errorf("the first lot is held for a limit, and the second is %s", got.Status)
	}
	h.instead(hold, 70, h.held(ledger.HeldForRecall))
	if got := h.decided(second); got.Status != ledger.StatusHeld || got.Of != h.lot || got.Why != ledger.HeldForRecall {
		t.Errorf("of the second lot stands %+v", got)
	}
	if got := h.book.Decided(second, ledgertest.At(45)); got.Status != ledger.StatusOpen {
		t.Errorf("before the honey was poured over, the second lot was %s", got.Status)
	}
	truck := h.anyway(&ledger.Dispatch{BuyerID: h.Buyer, Containers: []ledger.ID{drum}})
	h.refused("a truck on a manager's word", fault.Conflict, 80, truck, "/containers/0", "honey of lot 26-014 is in it, which is held (recall")
	h.refused("the second lot released", fault.Conflict, 80, word, "/status", "Once that hold is lifted, by a check of lot 26-014, this lot can be released")
}

// A lot is held by its own recall, also where its honey went from drum to drum.
func TestALotIsNotHeldByWayOfItself(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.decant(50, h.drums[0], h.drums[1])
	hold := h.at(70, h.held(ledger.HeldForRecall))
	if got := h.decided(h.lot); got.Of != (ledger.ID{}) || got.By.ID != hold {
		t.Errorf("of the recalled lot stands %+v", got)
	}
}

// Before any honey of it came, a recalled lot held no other.
func TestARecallHoldsFromWhenTheHoneyCame(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	second, drum := h.other()
	h.at(45, h.held(ledger.HeldForRecall))
	h.decant(50, h.drums[0], drum)
	for hours, want := range map[float64]ledger.Status{49: ledger.StatusOpen, 50: ledger.StatusHeld} {
		if got := h.book.Decided(second, ledgertest.At(hours)); got.Status != want {
			t.Errorf("after %g hours the second lot is %s", hours, got.Status)
		}
	}
}

// What was poured back out of the second lot's drum is no part of that lot any more.
func TestARecallDoesNotHoldALotThatTheHoneyLeft(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	second, drum := h.other()
	h.decant(50, h.drums[0], drum)
	h.at(70, h.held(ledger.HeldForRecall))
	h.at(80, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, To: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}})
	if got := h.decided(second); got.Status == ledger.StatusHeld {
		t.Errorf("the drum was emptied, and of its lot stands %+v", got)
	}
}

// A drum may have honey of several lots, its own lot's other drums among them.
func TestARecallIsFoundAmongAllThatCameIntoADrum(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	second, drum := h.other()
	beside := h.at(42, h.FillBody(second, h.Settling, "D-10", 50_000))
	h.decant(50, beside, drum)
	third := h.at(51, &ledger.Lot{Code: "26-016", StoreID: h.store})
	h.decant(53, h.at(52, h.FillBody(third, h.Settling, "D-11", 50_000)), drum)
	h.decant(54, h.drums[0], drum)
	h.at(70, h.held(ledger.HeldForRecall))
	if got := h.decided(second); got.Of != h.lot {
		t.Errorf("of the second lot stands %+v", got)
	}
}

// Honey of a lot that was poured over twice is found by way of both drums.
func TestARecallIsFoundBehindAnotherLotsDrum(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	second, drum := h.other()
	h.decant(50, h.drums[0], drum)
	third := h.at(51, &ledger.Lot{Code: "26-016", StoreID: h.store})
	h.decant(53, drum, h.at(52, h.FillBody(third, h.Settling, "D-11", 50_000)))
	h.at(70, &ledger.LotStatus{LotID: second, Status: ledger.StatusHeld, Why: ledger.HeldForRecall})
	if got := h.decided(third); got.Of != second {
		t.Errorf("of the third lot stands %+v", got)
	}
	if got := h.decided(h.lot); got.Status != ledger.StatusOpen {
		t.Errorf("of the first lot, which has none of its honey, stands %+v", got)
	}
}

// A correction that comes after a recall takes no drum out of it. One that came before it
// says that the drum never was of that lot.
func TestNoCorrectionTakesADrumOutOfARecall(t *testing.T) {
	t.Parallel()
	for _, first := range []string{"recalled", "corrected"} {
		h := newHouse(t, nil)
		second, _ := h.other()
		moved := func() { h.instead(h.drums[3], 28, h.FillBody(second, h.Settling, "D-4", 290_000)) }
		if first == "corrected" {
			moved()
		}
		h.at(70, h.held(ledger.HeldForRecall))
		if first == "recalled" {
			moved()
		}
		if got := h.decided(second); (got.Status == ledger.StatusHeld) != (first == "recalled") {
			t.Errorf("%s first: of the second lot stands %+v", first, got)
		}
	}
}

// A drum that a correction puts into a released lot, or fills out of another tank, has honey
// that nobody released; the right weight of a drum does not say so.
func TestACorrectionThatPutsOtherHoneyIntoALotOpensIt(t *testing.T) {
	t.Parallel()
	for what, c := range map[string]struct {
		correct func(h *house, drum ledger.ID)
		want    ledger.Status
	}{
		"a drum's weight put right": {func(h *house, _ ledger.ID) {
			h.instead(h.drums[0], 25, h.FillBody(h.lot, h.Settling, "D-1", 280_000))
		}, ledger.StatusReleased},
		"a drum out of another tank": {func(h *house, _ ledger.ID) {
			h.instead(h.drums[0], 25, h.FillBody(h.lot, h.Sump, "D-1", 290_000))
		}, ledger.StatusOpen},
		"a drum of another lot": {func(h *house, drum ledger.ID) {
			h.instead(drum, 41, h.FillBody(h.lot, h.Settling, "D-9", 50_000))
		}, ledger.StatusOpen},
	} {
		h := newHouse(t, nil)
		_, drum := h.other()
		_, check := h.ready()
		h.at(201, h.released(check))
		c.correct(h, drum)
		h.is(t, what, c.want)
	}
}

// Of two holds of one sort the later told stands, since the check has to come after it; a
// lesser one that is told late does not stand before a recall.
func TestOfTwoHoldsTheOneThatAsksMoreStands(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(205, h.held(ledger.HeldForRecall))
	later := h.at(210, h.held(ledger.HeldForRecall))
	if got := h.decided(h.lot); got.By.ID != later {
		t.Errorf("recalled twice, and entry %d stands", got.By.Number)
	}
	last := h.at(203, h.held(ledger.HeldForRecall))
	if got := h.decided(h.lot); got.By.ID != last {
		t.Errorf("told late of a recall, and entry %d stands", got.By.Number)
	}
	h.at(202, h.held(ledger.HeldForFinding))
	if got := h.decided(h.lot); got.By.ID != last {
		t.Errorf("told late of a finding, and of the lot stands %+v", got)
	}
}
