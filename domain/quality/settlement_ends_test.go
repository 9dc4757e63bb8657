package quality_test

import (
	"errors"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// found is a settlement that lists what the buyer found of each drum.
func settled(set, sent ledger.ID, minor int64, drums ...ledger.BuyerFound) *ledger.Settlement {
	return &ledger.Settlement{DispatchID: sent, RuleSet: own(set), PaidMinor: minor, Drums: drums}
}

func weighed(drum ledger.ID, netG int64, moisture ...float64) ledger.BuyerFound {
	f := ledger.BuyerFound{FillID: drum, NetG: netG}
	if len(moisture) > 0 {
		f.MoisturePct = &moisture[0]
	}
	return f
}

// What was paid may be for drums that the buyer does not list; a sum in hundredths of cents is
// asked back with the sum in cents, where that may be it: above a twentieth of the full price,
// 237,800 for both drums, and at most that.
func TestWhatWasPaidIsHeldAgainstAllThatLeft(t *testing.T) {
	t.Parallel()
	h, set, sent := sold(t)
	for minor, meant := range map[int64]any{23_780_000: int64(237_800), 23_780_100: nil, 25_000_000: nil, 1_189_100: int64(11_891), 1_189_000: nil} {
		_, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(500), Body: settled(set, sent, minor, weighed(h.drums[0], 290_000, 17.2))})
		var f *fault.Error
		if !errors.As(err, &f) || len(f.Fields) != 1 || f.Fields[0].DidYouMean != meant {
			t.Errorf("of %d cents is said %+v", minor, f)
		}
	}
	h.refused("a cent too much", fault.Invalid, 500, settled(set, sent, 237_801, weighed(h.drums[0], 290_000, 17.2)), "/paid_minor", "All 580 kg of that dispatch come to 237800")
	h.at(110, settled(set, sent, 237_800, weighed(h.drums[0], 290_000, 17.2))) // on the day on which it left
}

// The driest and the wettest that can be recorded can be settled by as well.
func TestABuyerMayFindWhateverHoneyCanHave(t *testing.T) {
	t.Parallel()
	for _, pct := range []float64{5, 40} {
		h, set, sent := sold(t)
		h.at(500, h.paid(set, sent, 100, 290_000, pct))
	}
}

// What is just as far off as may be is not flagged, and of several the one furthest off is.
func TestTheFurthestOffOfASettlementIsFlagged(t *testing.T) {
	t.Parallel()
	type flag struct {
		quantity string
		of       int // the drum; -1 for the buyer
		expected float64
	}
	for what, c := range map[string]struct {
		minor int64
		found func(h *house) []ledger.BuyerFound
		want  []flag
	}{
		// 2 % of 290 kg are 5.8 kg; 284.2 and 290 kg at 410 come to 116,522 and 118,900.
		"two in a hundred less in a drum": {235_422, func(h *house) []ledger.BuyerFound {
			return []ledger.BuyerFound{weighed(h.drums[0], 284_200, 17.2), weighed(h.drums[1], 290_000, 17.2)}
		}, nil},
		"a drum of which the moisture is not told, and one that is wetter": {1, func(h *house) []ledger.BuyerFound {
			return []ledger.BuyerFound{weighed(h.drums[0], 290_000), weighed(h.drums[1], 290_000, 18.8)}
		}, []flag{{ledger.SettledMoisture, 1, 17.2}}},
		"two drums that are drier, the second by more": {237_800, func(h *house) []ledger.BuyerFound {
			return []ledger.BuyerFound{weighed(h.drums[0], 290_000, 15.7), weighed(h.drums[1], 290_000, 14.2)}
		}, []flag{{ledger.SettledMoisture, 1, 17.2}}},
		"two drums that are lighter, the first by more": {229_600, func(h *house) []ledger.BuyerFound {
			return []ledger.BuyerFound{weighed(h.drums[0], 278_000, 17.2), weighed(h.drums[1], 282_000, 17.2)}
		}, []flag{{ledger.SettledNet, 0, 290}}},
		"one in a hundred less paid": {235_422, func(h *house) []ledger.BuyerFound {
			return []ledger.BuyerFound{weighed(h.drums[0], 290_000, 17.2), weighed(h.drums[1], 290_000, 17.2)}
		}, nil},
		"a cent less than that": {235_421, func(h *house) []ledger.BuyerFound {
			return []ledger.BuyerFound{weighed(h.drums[0], 290_000, 17.2), weighed(h.drums[1], 290_000, 17.2)}
		}, []flag{{ledger.SettledPaid, -1, 100}}},
	} {
		h, set, sent := sold(t)
		id := h.at(500, settled(set, sent, c.minor, c.found(h)...))
		var got []flag
		for _, f := range h.book.State().FlagsOn(id) {
			of := -2
			for i, drum := range h.drums {
				if f.On.ID == drum {
					of = i
				}
			}
			if f.On.ID == h.Buyer {
				of = -1
			}
			got = append(got, flag{f.Quantity, of, f.Expected})
		}
		if len(got) != len(c.want) || len(got) > 0 && got[0] != c.want[0] {
			t.Errorf("%s: flagged %+v, want %+v", what, got, c.want)
		}
	}
}

// A point between two figures that a computer holds exactly: 17 and 18.
func TestAPointOfMoistureIsNotFlagged(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, contract(h.Buyer, "18.0"))
	h.read(30, 0, 17, 0)
	h.at(100, h.overridden())
	id := h.at(500, settled(set, h.at(101, h.anyway(h.truck(0))), 117_116, weighed(h.drums[0], 290_000, 18)))
	if flags := h.book.State().FlagsOn(id); len(flags) != 0 {
		t.Errorf("flagged %+v", flags)
	}
}

// What was taken back or stands after the settlement says nothing of it.
func TestASettlementIsHeldAgainstWhatStandsBeforeIt(t *testing.T) {
	t.Parallel()
	odd := func(h *house, set, sent ledger.ID) ledger.ID {
		return h.at(500, settled(set, sent, 1, weighed(h.drums[0], 250_000, 17.2), weighed(h.drums[1], 270_000, 17.2)))
	}
	for what, c := range map[string]struct {
		later func(h *house, sent ledger.ID)
		want  string
	}{
		"nothing since":                    {func(*house, ledger.ID) {}, "D-1 net_kg"},
		"the dispatch taken back":          {func(h *house, sent ledger.ID) { h.instead(sent, 101, &ledger.Withdrawal{}) }, ""},
		"the dispatch dated after it":      {func(h *house, sent ledger.ID) { h.instead(sent, 600, h.anyway(h.truck(0, 1))) }, ""},
		"the first drum's fill taken back": {func(h *house, _ ledger.ID) { h.instead(h.drums[0], 25, &ledger.Withdrawal{}) }, "D-2 net_kg"},
	} {
		h, set, sent := sold(t)
		id := odd(h, set, sent)
		c.later(h, sent)
		got := ""
		for _, f := range h.book.State().FlagsOn(id) {
			if f.Code == ledger.SettlementOdd && f.Quantity == ledger.SettledNet {
				got = h.book.Name(f.On.ID) + " " + f.Quantity
			}
		}
		if got != c.want {
			t.Errorf("%s: flagged %q, want %q", what, got, c.want)
		}
	}
}
