package quality_test

import (
	"reflect"
	"strings"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// remedies are what would lower the risk of a drum, by kind.
func (h *house) remedies(number string) map[string]quality.Remedy {
	h.t.Helper()
	out := map[string]quality.Remedy{}
	for _, l := range riskOf(h.t, h.ferments(day10), number).Lower {
		out[l.Kind] = l
	}
	return out
}

// 290 kg of 18.0 % to 17.0 % with honey of 16.0 % take 290 kg of it.
func TestJustEnoughDryHoneyIsEnough(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 18.0, 0)
	other := h.at(24, &ledger.Lot{Code: "26-015", StoreID: h.store})
	drum := h.at(29, h.FillBody(other, h.Settling, "D-9", 290_000))
	h.readExactly(31, ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, 16.0, 0)
	got := h.remedies("D-1")["blend"]
	if near(t, "the drier honey needed", got.Kg, 290, 1e-6); strings.Contains(got.Text.String(), "only") {
		t.Errorf("290 kg are enough: %q", got.Text)
	}
}

// 100 kg of 15.0 % take 100 * 2 / 2.6 = 76.9 kg of 19.6 % to 17.0 %.
func TestLittleDryHoneyIsEnoughForSome(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 19.6, 0)
	other := h.at(24, &ledger.Lot{Code: "26-015", StoreID: h.store})
	drum := h.at(29, h.FillBody(other, h.Settling, "D-9", 100_000))
	h.readExactly(31, ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, 15.0, 0)
	if text := h.remedies("D-1")["blend"].Text.String(); !strings.Contains(text, "only 100 kg are here, which is enough for 77 kg of it") {
		t.Errorf("%q", text)
	}
}

// A figure that only the good lot was measured for is not made worse by what nobody measured.
func TestAMixIsJudgedByWhatBothWereMeasuredFor(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 19.6, 0)
	good := h.at(24, &ledger.Lot{Code: "26-015", StoreID: h.store})
	h.at(29, h.FillBody(good, h.Settling, "D-9", 200_000))
	h.readExactly(31, ledger.Place{Kind: ledger.PlaceLot, ID: good}, 16.0, 0)
	h.at(32, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: good}, Laboratory: "Fern Valley", ContainersSampled: 1, Measured: []ledger.Measured{diastase(9)}})
	id := h.at(40, &ledger.RuleSet{Name: "terms", Form: "limits", Citation: "contract 7", Limits: []standard.Limit{
		{Parameter: "diastase", Unit: "Gothe scale", Comparator: standard.AtLeast, Limit: "8", Clause: "2"}}})
	terms, err := h.book.RuleSet(own(id), day10)
	if err != nil {
		t.Fatal(err)
	}
	g := h.gather(day10)
	f, err := quality.FermentationOf(h.book, g, quality.ClimateOf(h.book), day10)
	if err != nil {
		t.Fatal(err)
	}
	f.Advise(h.book, g, day10, terms)
	if got := riskOf(t, f, "D-1").Lower[0]; got.Kind != "blend" || got.WithLot != "26-015" {
		t.Errorf("%+v", got)
	}
}

func TestTheHighestCountOfALotIsItsYeast(t *testing.T) {
	t.Parallel()
	counts := map[string]ledger.Measured{"": {Value: 20}, "D-1": {Value: 300}, "D-2": {Value: 5}, "D-3": {Value: 80}}
	for range 30 { // in whatever order the map is gone through
		if got := quality.MostYeast(counts); got == nil || got.Value != 300 {
			t.Fatalf("%+v", got)
		}
	}
	if got := quality.MostYeast(nil); got != nil {
		t.Errorf("nothing was counted: %+v", got)
	}
}

// Diastase is to be at least so much, and the mix has the lower end of it; of HMF, and of
// what no limit is about, it has the higher.
func TestTheWorseEndIsTheOneThatALimitCatches(t *testing.T) {
	t.Parallel()
	set := ledger.Resolved{RuleSet: &standard.RuleSet{Limits: []standard.Limit{
		{Parameter: "diastase", Comparator: standard.AtLeast}, {Parameter: "invertase", Comparator: standard.Above},
		{Parameter: "hmf", Comparator: standard.AtMost}, {Parameter: "sucrose", Comparator: standard.Below}}}}
	for parameter, highest := range map[string]bool{"diastase": false, "invertase": false, "hmf": true, "sucrose": true, "ash": true} {
		if quality.WorstIsHighest(set, parameter) != highest {
			t.Errorf("of %s the worst is not as its limit says", parameter)
		}
	}
}

// A drum that was poured back is told nothing of, and those after it are.
func TestOnlyWhatIsHereIsAtRisk(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, 19.0, 0)
	h.saw(31, 0, "fermentation", "absent")
	h.at(32, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, To: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}})
	if f := h.ferments(day10); len(f.Risks) != 3 {
		t.Errorf("three drums are here, and %d risks", len(f.Risks))
	}
	h.at(100, h.overridden())
	h.at(101, h.truck(1))
	if f := h.ferments(day10); len(f.Risks) != 2 {
		t.Errorf("two drums are here, and %d risks", len(f.Risks))
	}
	h.at(102, h.truck(2, 3))
	if f := h.ferments(day10); len(f.Risks) != 0 || f.SeenFermenting() {
		t.Errorf("nothing is here, and %d risks", len(f.Risks))
	}
}

// Of two readings of a drum the wetter counts, whichever came last.
func TestTheWetterOfTwoReadingsCounts(t *testing.T) {
	t.Parallel()
	for _, pcts := range [][]float64{{17, 19}, {19, 17}} {
		h := newHouse(t, nil)
		for i, pct := range pcts {
			h.readExactly(30+float64(i), ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, pct, 0)
		}
		if got := riskOf(t, h.ferments(day10), "D-1").Container.MoisturePct.Float64(); got != 19 {
			t.Errorf("of %v it is taken as %g", pcts, got)
		}
	}
}

func TestACountIsTakenAsItWasGiven(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, 18.0, 0)
	h.certify(31, ledger.Measured{Quantity: "yeast_per_g", Value: 0.25})
	if got := riskOf(t, h.ferments(day10), "D-1").Container.YeastPerG; got == nil || got.String() != "0.25" {
		t.Errorf("0.25 yeasts a gram are taken as %v", got)
	}
}

// Rape, fructose to glucose 0.95 and both 78 g, sets fast up to 25 C, acacia hardly at all
// (GranulationTendency).
func TestSugarsAndStoreSayWhetherHoneyWillSet(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what   string
		ratio  float64
		storeC float64
		known  bool
		want   standard.GranulationAhead
	}{
		{"rape, nobody knows where", 0.95, 0, false, standard.BySugars},
		{"acacia, nobody knows where", 1.6, 0, false, standard.NotExpected},
		{"rape at 20 C", 0.95, 20, true, standard.BySugars},
		{"rape at 30 C", 0.95, 30, true, standard.NotExpected},
		{"acacia at 14 C", 1.6, 14, true, standard.NotExpected},
		{"not known, at 14 C", 0, 14, true, standard.ByStore},
	} {
		h := newHouse(t, nil)
		if c.known {
			h.stands(c.storeC)
		} else {
			h.instead(h.lot, 24, &ledger.Lot{Code: "26-014"})
		}
		h.readExactly(30, ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, 17.8, 0)
		if c.ratio > 0 {
			h.certify(31, ledger.Measured{Quantity: "fructose_to_glucose", Value: c.ratio}, ledger.Measured{Quantity: "fructose_plus_glucose_g_per_100g", Value: 78})
		}
		if got := riskOf(t, h.ferments(day10), "D-1").Container.Granulation; got != c.want {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}

// What helps is told where it helps: no water is taken from honey of 17.0 %, liquid honey is
// not liquefied, and yeast is counted once, unless the honey always ferments.
func TestOnlyWhatHelpsIsAdvised(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what       string
		pct        float64
		granulated bool
		yeast      float64
		advised    string
		not        string
	}{
		{"granulating at 17.0 %", 17.0, true, 0, "liquefy", "dry"},
		{"liquid at 19.6 %", 19.6, false, 0, "count_yeast", "liquefy"},
		{"counted at 19.6 %", 19.6, false, 900, "dry", "count_yeast"},
		{"always ferments at 21 %", 21, false, 0, "dry", "count_yeast"},
	} {
		h := newHouse(t, nil)
		reading := moisture(ledger.PlaceContainer, h.drums[0], c.pct, 0)
		reading.Granulated = c.granulated
		h.at(30, reading)
		h.readExactly(31, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[1]}, 14, 0)
		if c.yeast > 0 {
			h.at(32, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, Laboratory: "Fern Valley", Measured: []ledger.Measured{{Quantity: "yeast_per_g", Value: c.yeast}}})
		}
		got := h.remedies("D-1")
		if _, there := got[c.advised]; !there {
			t.Errorf("%s: %q is not advised, but %v", c.what, c.advised, got)
		}
		if _, there := got[c.not]; there {
			t.Errorf("%s: %q is advised", c.what, c.not)
		}
		if low := riskOf(t, h.ferments(day10), "D-2"); low.Risk != standard.RiskLow || len(low.Lower) != 0 {
			t.Errorf("14 %% is of %s risk, and %d remedies", low.Risk, len(low.Lower))
		}
	}
}

// A pail of 25 kg has (25/290)^(2/3) = 0.1952 of a drum's surface and of its belt: 0.41 m2
// and 195 W.
func TestWhatWarmingCostsGoesByTheSurface(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	pail := h.at(29, h.FillBody(h.lot, h.Settling, "P-1", 25_000))
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: pail}, 19.6, 0)
	got := h.remedies("P-1")["warm"]
	stepped := steppedRise(25, 2.1*0.1952, 195.2, 62.8, 30)
	near(t, "the rise of HMF in a pail", got.HMFRise.Middle, stepped, 0.05*stepped)
	if !strings.Contains(got.Text.String(), " by 195 W") {
		t.Errorf("%q", got.Text)
	}
}

// Each caution comes back with the figures in it, so that it can be said in any language.
func TestACautionIsFoundByItsEnglish(t *testing.T) {
	t.Parallel()
	for _, c := range []message.Text{quality.CautionScald, quality.CautionInfants, quality.CautionLowest} {
		if got := quality.CautionSaid(c.String()); !reflect.DeepEqual(got, c) {
			t.Errorf("%q is found as %+v", c, got)
		}
	}
	if got := quality.CautionSaid("Mind the step."); got.String() != "Mind the step." {
		t.Errorf("what is no caution comes back as %q", got)
	}
}

func TestTheBooksExpectationSaysWhereTheHoneyStood(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.read(30, 0, 17.2, 0)
	got := quality.Estimates(h.book, h.gather(day10), day10)
	if len(got) != 3 || !strings.Contains(got[1].How.String(), "since then of the store") {
		t.Errorf("%+v", got)
	}
}

// Half a kilogram, half a point and 3 mm Pfund are what two sides may differ by.
func TestTwoSidesAgreeWithinTheirTolerances(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what             string
		netG             int64
		moisture, colour float64
		says             string
	}{
		{"the same", 290_000, 17.2, 40, ""},
		{"half a kilogram more", 290_500, 17.2, 40, ""},
		{"half a kilogram less", 289_500, 17.2, 40, ""},
		{"a gram more than that", 290_501, 17.2, 40, "net: "},
		{"a gram less than that", 289_499, 17.2, 40, "net: "},
		{"half a point wetter", 290_000, 17.7, 40, ""},
		{"six tenths wetter", 290_000, 17.8, 40, "moisture: the buyer has 17.8"},
		{"3 mm darker", 290_000, 17.2, 43, ""},
		{"4 mm lighter", 290_000, 17.2, 36, "the buyer has 36"},
	} {
		h := newHouse(t, nil)
		set := h.at(10, contract(h.Buyer, "18.0"))
		h.read(30, 0, 17.2, 0)
		h.at(31, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, Moisture: moisture(ledger.PlaceContainer, h.drums[0], 17.2, 0).Moisture,
			Measured: []ledger.Measured{{Quantity: "colour_mm_pfund", Value: 40}}})
		h.at(100, h.overridden())
		sent := h.at(101, h.anyway(h.truck(0)))
		id := h.at(500, &ledger.Settlement{DispatchID: sent, RuleSet: own(set), PaidMinor: 110_000, Drums: []ledger.BuyerFound{
			{FillID: h.drums[0], NetG: c.netG, MoisturePct: &c.moisture, ColourPfund: &c.colour}}})
		s, err := quality.SettlementOf(h.book, id)
		if err != nil {
			t.Fatal(err)
		}
		if d := s.Drums[0]; d.OwnColour == nil || *d.OwnColour != 40 {
			t.Errorf("its own colour is %v", d.OwnColour)
		} else if got := said(d.Differences); (got == "") != (c.says == "") || !strings.Contains(got, c.says) {
			t.Errorf("%s: %q", c.what, got)
		}
	}
}
