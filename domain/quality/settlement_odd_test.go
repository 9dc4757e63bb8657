package quality_test

import (
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// sold is a house whose first two drums, of 290 kg and 17.2 %, left at 410 cents a
// kilogram: both come to 237,800.
func sold(t *testing.T) (h *house, set, sent ledger.ID) {
	t.Helper()
	h = newHouse(t, nil)
	set = h.at(10, contract(h.Buyer, "18.0"))
	h.read(30, 0, 17.2, 0)
	h.read(31, 1, 17.2, 0)
	h.at(100, h.overridden())
	return h, set, h.at(101, h.anyway(h.truck(0, 1)))
}

func (h *house) paid(set, sent ledger.ID, minor, netG int64, moisture float64) *ledger.Settlement {
	right := 17.2
	return &ledger.Settlement{DispatchID: sent, RuleSet: own(set), PaidMinor: minor, Drums: []ledger.BuyerFound{
		{FillID: h.drums[0], NetG: netG, MoisturePct: &moisture}, {FillID: h.drums[1], NetG: 290_000, MoisturePct: &right}}}
}

func TestASettlementThatCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what          string
		hours         float64
		minor, netG   int64
		moisture      float64
		pointer, says string
	}{
		{"paid before it left", 70, 237_800, 290_000, 17.2, "/occurred_at", "cannot have been settled before"},
		{"pounds for kilograms", 500, 237_800, 639_000, 17.2, "/drums/0/net_kg", "Was it weighed in pounds?"},
		{"a moisture without its point", 500, 237_800, 290_000, 172, "/drums/0/moisture_pct", "did you mean 17.2?"},
		{"one cent above the full price", 500, 237_801, 290_000, 17.2, "/paid_minor", "come to 237800 minor units (cents) at the full price"},
		{"hundredths of cents", 500, 23_780_000, 290_000, 17.2, "/paid_minor", "this is more"},
	} {
		h, set, sent := sold(t)
		h.refused(row.what, fault.Invalid, row.hours, h.paid(set, sent, row.minor, row.netG, row.moisture), row.pointer, row.says)
	}
}

func TestAnOddSettlementIsStoredAndFlagged(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what        string
		hours       float64
		minor, netG int64
		moisture    float64
		says        []string
	}{
		{"as agreed", 500, 237_800, 290_000, 17.2, nil},
		// 284 kg are 6 kg less; at 410 both drums come to 235,340.
		{"six kilograms less", 500, 235_340, 284_000, 17.2, []string{"pays for 284 kg, where 290 kg were weighed here: 6 kg less"}},
		{"four kilograms less, as two scales may differ", 500, 236_160, 286_000, 17.2, nil},
		// 1.5 % off the first drum's 118,900 are 1,784 (1,783.5).
		{"a point drier than read", 500, 237_800, 290_000, 16.0, []string{"found 16.0 % moisture, where 17.2 % was read here"}},
		{"half a point wetter, paid as agreed", 500, 236_016, 290_000, 17.7, nil},
		{"two in a hundred less", 500, 233_044, 290_000, 17.2, []string{"paid 2.0 % less than the terms come to"}},
		{"in whole coins instead of cents", 500, 2378, 290_000, 17.2, []string{"paid 99.0 % less"}},
	} {
		h, set, sent := sold(t)
		id, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(row.hours), Body: h.paid(set, sent, row.minor, row.netG, row.moisture)})
		if err != nil {
			t.Errorf("%s: refused: %v", row.what, err)
			continue
		}
		var said []string
		for _, f := range h.book.State().FlagsOn(id) {
			if f.Code == ledger.SettlementOdd {
				said = append(said, season.Sentence(h.book, f).String())
			}
		}
		for i, want := range row.says {
			if len(said) != len(row.says) || !strings.Contains(said[i], want) {
				t.Errorf("%s: it says %q, want %q", row.what, said, row.says)
			}
		}
		if len(row.says) == 0 && len(said) > 0 {
			t.Errorf("%s: flagged with %q", row.what, said)
		}
	}
}

// Money that is waited for longer than a year; the outfit's clock is not there yet, so
// the book is asked without it.
func TestASettlementAYearLateIsFlagged(t *testing.T) {
	t.Parallel()
	for days, want := range map[float64]bool{366: false, 548: true} {
		h, set, sent := sold(t)
		e := &ledger.Entry{ID: ledgertest.ID(int(h.book.Len()) + 1), Kind: ledger.KindSettlement, Number: h.book.Len() + 1, RecordedBy: "Ada",
			OccurredAt: ledgertest.At(101 + 24*days), RecordedAt: ledgertest.At(101 + 24*days), Body: h.paid(set, sent, 237_800, 290_000, 17.2)}
		if _, err := h.book.Append(e); err != nil {
			t.Fatal(err)
		}
		var said []string
		for _, f := range h.book.State().FlagsOn(e.ID) {
			said = append(said, season.Sentence(h.book, f).String())
			if f.Expected != 366 || f.Found != days {
				t.Errorf("after %g days the flag has %g days where %g are usual", days, f.Found, f.Expected)
			}
		}
		if got := len(said) == 1 && strings.Contains(said[0], "settled this 548 days after it left"); got != want || !want && len(said) > 0 {
			t.Errorf("after %g days it says %q", days, said)
		}
	}
}
