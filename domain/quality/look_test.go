package quality_test

import (
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// quietAgain releases the lot by a check made at that hour.
func (h *house) quietAgain(hours float64, set ledger.ID) *ledger.LotStatus {
	h.t.Helper()
	x := h.released(h.checkedOn(hours, own(set)))
	x.Note = "looked at again, and quiet"
	return x
}

// seenInTheTank says that the tank was seen to ferment.
func (h *house) seenInTheTank(hours float64) ledger.ID {
	h.t.Helper()
	return h.at(hours, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
}

// Each drum that a sight is about is looked at again before a check lifts the hold: after the
// sight, after its honey came, and by somebody who says what there was to be seen.
func TestWhatWasSeenFermentingIsLookedAtAgain(t *testing.T) {
	t.Parallel()
	onTheLot := func(h *house) {
		h.at(210, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
	}
	onADrum := func(h *house) { h.at(210, h.fermenting(0, "present")) }
	inTheTank := func(h *house) {
		h.seenInTheTank(210)
		h.at(220, h.topUp(0))
	}
	for what, c := range map[string]struct {
		seen, then func(h *house)
		missing    string
	}{
		"nobody looked":                    {onADrum, func(*house) {}, "D-1"},
		"the drum was looked at":           {onADrum, func(h *house) { h.at(225, h.fermenting(0, "absent")) }, ""},
		"another drum was":                 {onADrum, func(h *house) { h.at(225, h.fermenting(1, "absent")) }, "D-1"},
		"its moisture was read":            {onADrum, func(h *house) { h.read(225, 0, 17.2, 0) }, "D-1"},
		"a look from before was told late": {onADrum, func(h *house) { h.at(205, h.fermenting(0, "absent")) }, "D-1"},
		"the lot was looked at":            {onADrum, func(h *house) { h.at(225, onLotLooked(h.lot)) }, ""},
		"seen of the lot, one was looked at": {onTheLot, func(h *house) {
			h.at(225, h.fermenting(0, "absent"))
		}, "D-2"},
		"seen of the lot, each that is left was": {onTheLot, func(h *house) {
			h.at(224, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[3]}, To: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}})
			for i := range 3 {
				h.at(225, h.fermenting(i, "absent"))
			}
		}, ""},
		"seen in the tank, nobody looked": {inTheTank, func(*house) {}, "D-1"},
		"seen in the tank, looked at before the honey came": {inTheTank, func(h *house) {
			h.at(215, h.fermenting(0, "absent"))
		}, "D-1"},
		"seen in the tank, looked at": {inTheTank, func(h *house) { h.at(225, h.fermenting(0, "absent")) }, ""},
	} {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			h := newHouse(t, nil)
			set, _ := h.ready()
			c.seen(h)
			c.then(h)
			for i := range h.drums {
				h.read(226, i, 17.2, 0)
			}
			h.certify(227, hmf(8))
			release := h.quietAgain(230, set)
			if c.missing != "" {
				h.refused(what, fault.Conflict, 231, release, "/check_id", "nobody looked at container "+c.missing+" since")
				return
			}
			h.at(231, release)
		})
	}
}

func onLotLooked(lot ledger.ID) *ledger.Reading {
	return &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, Observed: []ledger.Observed{{What: "fermentation", Word: "absent"}}}
}

// Looked at and released, and then filled up once more with the honey that somebody saw ferment.
func TestTheSameHoneyPouredAgainHoldsTheLotAgain(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set, _ := h.ready()
	h.seenInTheTank(210)
	h.at(220, ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceContainer, h.drums[0], 5_000))
	h.at(225, h.fermenting(0, "absent"))
	for i := range h.drums {
		h.read(226, i, 17.2, 0)
	}
	h.certify(227, hmf(8))
	h.at(231, h.quietAgain(230, set))
	h.is(t, "looked at", ledger.StatusReleased)
	h.at(240, h.topUp(0))
	h.is(t, "filled up once more", ledger.StatusHeld)
}
