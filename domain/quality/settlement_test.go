package quality_test

import (
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
)

// By hand, at 410 cents a kilogram and 1.5 % off above 17.5 % moisture, up to
// 18.0: our drum 1 is 290.0 kg of 17.2 %: 118,900. The buyer has 288.9 kg of
// 17.6 %: 118,449 less 1,777 (1.5 % is 1,776.7) = 116,672. Our drum 2 is 290.0
// kg of 17.8 %: 118,900 less 1,784 (1,783.5) = 117,116; the buyer's 290.2 kg of
// 17.4 %: 118,982. Together ours 236,016 and the buyer's 235,654.
func TestASettlementSetsBothSidesBesideEachOther(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, contract(h.Buyer, "18.0"))
	h.read(30, 0, 17.2, 0)
	h.read(31, 1, 17.8, 0)
	h.at(100, h.overridden())
	sent := h.at(101, h.anyway(h.truck(0, 1, 2)))
	wetter, drier := 17.6, 17.4
	id := h.at(500, &ledger.Settlement{DispatchID: sent, RuleSet: own(set), PaidMinor: 235_000, Drums: []ledger.BuyerFound{
		{FillID: h.drums[0], NetG: 288_900, MoisturePct: &wetter}, {FillID: h.drums[1], NetG: 290_200, MoisturePct: &drier}}})
	// The terms of the day of the settlement hold, whatever the contract says later.
	h.instead(set, 510, contract(h.Buyer, "17.9"))
	s, err := quality.SettlementOf(h.book, id)
	if err != nil {
		t.Fatal(err)
	}
	if s.ByOwn == nil || s.ByBuyer == nil || *s.ByOwn != 236_016 || *s.ByBuyer != 235_654 || s.Paid != 235_000 || s.Currency != "USD" {
		t.Errorf("ours %v, the buyer's %v, paid %d %s", show(s.ByOwn), show(s.ByBuyer), s.Paid, s.Currency)
	}
	if !strings.Contains(s.Terms, "version 1") || s.Buyer != "packer" {
		t.Errorf("terms %q of %q", s.Terms, s.Buyer)
	}
	if s.OwnNetG != 580_000 || s.BuyerNetG != 579_100 || len(s.NotReported) != 1 || s.NotReported[0] != "D-3" {
		t.Errorf("ours %d g, the buyer's %d g, not reported %v", s.OwnNetG, s.BuyerNetG, s.NotReported)
	}
	// Nobody read our drum 3, and it has no sample of its lot: it cannot be priced.
	if s.NotReportedG != 290_000 || s.NotReportedByOwn != nil {
		t.Errorf("of the drum not reported: %d g, %v", s.NotReportedG, show(s.NotReportedByOwn))
	}
	// Read at 17.6 it is 118,900 less 1,784 (1,783.5): 117,116, on top of the others.
	h.read(32, 2, 17.6, 0)
	if s, err = quality.SettlementOf(h.book, id); err != nil || s.NotReportedByOwn == nil || *s.NotReportedByOwn != 117_116 || *s.ByOwn != 236_016 {
		t.Fatalf("the drum not reported comes to %v, those reported to %v: %v", show(s.NotReportedByOwn), show(s.ByOwn), err)
	}
	if got := differences(s.Drums[0]); !strings.Contains(got, "-1.1 kg") || strings.Contains(got, "moisture") {
		t.Errorf("drum 1 differs in %q: by 1.1 kg, and by 0.4 points, which is within what two refractometers differ", got)
	}
	if len(s.Drums[1].Differences) != 0 {
		t.Errorf("drum 2 differs in %q", s.Drums[1].Differences)
	}
	// Ours stays ours.
	if fill := h.book.InForce(h.drums[0]).Body.(*ledger.Fill); fill.NetG() != 290_000 {
		t.Errorf("our net became %d g", fill.NetG())
	}
	for _, e := range h.gather("2026-08-01").Evidence.Estimates("moisture") {
		if e.Readings != 3 {
			t.Errorf("%d readings: the buyer's count as ours", e.Readings)
		}
	}
}

func TestADrumWithoutAFigureIsNotPriced(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, contract(h.Buyer, "18.0"))
	h.at(100, h.overridden())
	sent := h.at(101, h.anyway(h.truck(0, 1)))
	moist := 17.4
	id := h.at(500, &ledger.Settlement{DispatchID: sent, RuleSet: own(set), PaidMinor: 1, Drums: []ledger.BuyerFound{
		{FillID: h.drums[0], NetG: 290_000, MoisturePct: &moist}, {FillID: h.drums[1], NetG: 290_000}}})
	s, err := quality.SettlementOf(h.book, id)
	if err != nil {
		t.Fatal(err)
	}
	if s.ByOwn != nil || s.ByBuyer != nil {
		t.Errorf("ours %v, the buyer's %v, and moisture is missing on both sides", show(s.ByOwn), show(s.ByBuyer))
	}
	if s.Drums[0].ByBuyer == nil || *s.Drums[0].ByBuyer != 118_900 {
		t.Errorf("drum 1 has all the buyer's figures: %v", show(s.Drums[0].ByBuyer))
	}
	if !strings.Contains(differences(s.Drums[1]), "has to be measured") {
		t.Errorf("of drum 2 is said %q", s.Drums[1].Differences)
	}
}

func TestWhatTheBookHasNotGotIsSaidSo(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	if _, err := quality.SettlementOf(h.book, h.lot); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("a settlement that is a lot: %v", err)
	}
	if _, err := quality.Gather(h.book, h.Buyer, day10); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("a lot that is a buyer: %v", err)
	}
}

func show(v *int64) any {
	if v == nil {
		return "nothing"
	}
	return *v
}

// differences is all that is said of a drum.
func differences(d quality.SettledDrum) string {
	var out []string
	for _, t := range d.Differences {
		out = append(out, t.String())
	}
	return strings.Join(out, "; ")
}
