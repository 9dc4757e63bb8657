package quality_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

func (h *house) ferments(on standard.Date) *quality.Fermentation {
	h.t.Helper()
	g := h.gather(on)
	f, err := quality.FermentationOf(h.book, g, quality.ClimateOf(h.book), on)
	if err != nil {
		h.t.Fatal(err)
	}
	f.Advise(h.book, g, on)
	return f
}

// TestLochheadsTableHoldsInTheBook reads each line of the published table, at
// its driest, middle and wettest, with a count under and over its limit.
func TestLochheadsTableHoldsInTheBook(t *testing.T) {
	t.Parallel()
	file, err := os.Open("../../testdata/fermentation-lochhead.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 5 {
		t.Fatalf("%d lines, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		from, errF := strconv.ParseFloat(row[0], 64)
		to, errT := strconv.ParseFloat(row[1], 64)
		if errF != nil {
			t.Fatal(errF)
		}
		if errT != nil {
			to = 24 // the last line has no end
		}
		limit, limited := 0.0, row[3] != ""
		if limited {
			limit, _ = strconv.ParseFloat(row[3], 64)
		}
		driest := max(from, 13.5)
		if from == 20 || from > 20 {
			driest = max(driest, 20.1)
		}
		for _, pct := range []float64{driest, (driest + to) / 2, to} {
			if from < 17 && pct >= 17.1 {
				pct = 17.0 // "under 17.1"
			}
			for _, count := range []float64{limit * 0.9, limit * 1.1, 100_000} {
				if !limited && count != 100_000 {
					continue
				}
				h := newHouse(t, nil)
				h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, float64(int(pct*10+0.5))/10, 0)
				h.at(31, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, Laboratory: "Fern Valley",
					Measured: []ledger.Measured{{Quantity: "yeast_per_g", Value: count}}})
				risk := riskOf(t, h.ferments(day10), "D-1").Risk
				safe := strings.HasPrefix(row[2], "safe") && (!limited || count < limit)
				// Agriculture Handbook 335 does not trust honey over 19 % with the
				// count under one, so that one is watched.
				if lowest := safe && (risk == standard.RiskHigh || risk == standard.RiskWatch && limit != 1); lowest || !safe && risk != standard.RiskHigh {
					t.Errorf("%.1f %% with %g yeasts a gram is of %s risk; the table says %q below %q", pct, count, risk, row[2], row[3])
				}
			}
		}
	}
}

// said are reasons in one line.
func said(texts []message.Text) string {
	parts := make([]string, len(texts))
	for i, t := range texts {
		parts[i] = t.String()
	}
	return strings.Join(parts, "; ")
}

func riskOf(t *testing.T, f *quality.Fermentation, number string) quality.Risk {
	t.Helper()
	for _, r := range f.Risks {
		if r.Container.ContainerID == number {
			return r
		}
	}
	t.Fatalf("no risk is told of %s", number)
	return quality.Risk{}
}

func TestTheWettestDrumGoesFirst(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	for i, pct := range []float64{16.8, 19.6, 17.4, 20.6} {
		h.readExactly(30+float64(i), ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[i]}, pct, 0.1)
	}
	f := h.ferments(day10)
	var order []string
	for _, r := range f.Risks {
		order = append(order, r.Container.ContainerID)
	}
	if got := strings.Join(order, " "); got != "D-4 D-2 D-3 D-1" {
		t.Errorf("in the order %s; by moisture it is D-4 D-2 D-3 D-1", got)
	}
	if f.Worst != standard.RiskHigh || riskOf(t, f, "D-1").Risk != standard.RiskLow {
		t.Errorf("worst is %s, the driest %s", f.Worst, riskOf(t, f, "D-1").Risk)
	}
	// The mean of the four, 18.6, would have hidden a drum that always ferments.
	if why := said(f.Risks[0].Why); !strings.Contains(why, "20.60 %") {
		t.Errorf("why: %s", why)
	}
}

// By hand, for 290 kg of 19.6 %: to 17.0 % with honey of 16.0 % takes
// 290 * 2.6 / 1.0 = 754 kg of it; drying takes 290 * 2.6 / 83 = 9.08 kg of
// water. Packers hold honey at 62.8 C for 30 min (common practice); at the
// middle rate of the heat tables that adds 5.1468 exp(-134635/8.31446 *
// (1/335.95 - 1/323.15)) / 48 = 0.72 mg/kg.
func TestEachRiskSaysWhatWouldLowerItWithFigures(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 19.6, 0.1)
	other := h.at(24, &ledger.Lot{Code: "26-015", StoreID: h.store})
	drum := h.at(29, h.FillBody(other, h.Settling, "D-9", 200_000))
	h.readExactly(31, ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, 16.0, 0.1)
	// A sample of a third lot says 15, its drum 18: the wetter counts, and it is no help.
	third := h.at(24, &ledger.Lot{Code: "26-016", StoreID: h.store})
	wet := h.at(29, h.FillBody(third, h.Settling, "D-10", 100_000))
	h.readExactly(32, ledger.Place{Kind: ledger.PlaceContainer, ID: wet}, 18.0, 0.1)
	h.readExactly(33, ledger.Place{Kind: ledger.PlaceLot, ID: third}, 15.0, 0.1)
	h.certify(34, hmf(6.2))
	got := map[string]quality.Remedy{}
	for _, r := range riskOf(t, h.ferments(day10), "D-1").Lower {
		got[r.Kind] = r // of two ways to warm, the hotter comes last
	}
	// What was measured a week ago is not what it has now.
	if text := got["warm"].Text.String(); !strings.Contains(text, "and it had 6.2 when it was measured on 2026-07-02") {
		t.Errorf("of the HMF that it has is said %q", text)
	}
	near(t, "the drier honey needed", got["blend"].Kg, 754, 0.5)
	if got["blend"].WithLot != "26-015" || !strings.Contains(got["blend"].Text.String(), "only 200 kg are here") {
		t.Errorf("blending: %+v", got["blend"])
	}
	near(t, "the water to take out", got["dry"].Kg, 9.08, 0.01)
	if text := got["warm"].Text; !strings.Contains(text.String(), ": 0.72 while it is held") {
		t.Errorf("30 min at 62.8 C form 0.72 mg/kg: %s", text)
	}
	// Twelve times that with the way there and back. The course takes one specific
	// heat for each stage, so that it is 3 % less than by small steps.
	stepped := steppedRise(290, 2.1, 1000, 62.8, 30)
	near(t, "the rise of HMF, the way there and back too", got["warm"].HMFRise.Middle, stepped, 0.05*stepped)
	if r := got["warm"].HMFRise; !(r.Low < r.Middle && r.Middle < r.High) || got["warm"].TemperatureC != 62.8 {
		t.Errorf("warming: %+v", got["warm"])
	}
	for _, kind := range []string{"store_cold", "count_yeast", "sell_first"} {
		if got[kind].Text.IsEmpty() {
			t.Errorf("%s is not named", kind)
		}
	}
}

// Granulating honey of 17.5 % with 15 % of crystals as monohydrate holds
// (17.5 - 9.0908*0.15)/0.85 = 18.98 % in its liquid part, where Lochhead wants
// fewer than 10 yeasts a gram rather than 1000.
func TestGranulatingInTheWindowRaisesTheRisk(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what       string
		granulated bool
		storeC     float64
		risk       standard.FermentationRisk
	}{
		{"liquid at 14 C, where it is to be expected", false, 14, standard.RiskWatch},
		{"liquid at 25 C", false, 25, standard.RiskLow},
		{"granulating at 14 C", true, 14, standard.RiskHigh},
		{"granulating at 25 C", true, 25, standard.RiskHigh},
	} {
		h := newHouse(t, nil)
		h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &c.storeC})
		for i := range h.drums {
			reading := moisture(ledger.PlaceContainer, h.drums[i], 17.5, 0)
			reading.Granulated = c.granulated
			h.at(30+float64(i), reading)
		}
		h.certify(40, ledger.Measured{Quantity: "yeast_per_g", Value: 50})
		r := riskOf(t, h.ferments(day10), "D-1")
		if r.Risk != c.risk {
			t.Errorf("%s: %s, not %s (%s)", c.what, r.Risk, c.risk, said(r.Why))
		}
		if c.granulated {
			near(t, "moisture of the liquid part", r.Container.LiquidMoisturePct.Float64(), 18.98, 0.01)
		}
		window := strings.Contains(said(r.Why), "within 10 °C to 18 °C")
		if window != (c.granulated && c.storeC == 14) {
			t.Errorf("%s: it is said why: %s", c.what, said(r.Why))
		}
	}
}

// A book may hold what is refused today: it must not take the lot's verdict with it.
func TestAFigureThatIsNoWaterActivityIsLeftAside(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, 18.6, 0.1)
	before := h.ferments(day10)
	for i, m := range []ledger.Measured{{Value: 1.4}, {Value: 0}, {Value: 0.5, LessThan: true}, {Value: 1}} {
		m.Quantity = "water_activity"
		value := m.Value
		body := &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Measured: []ledger.Measured{m}}
		e := &ledger.Entry{OccurredAt: ledgertest.At(31 + float64(i)), RecordedAt: ledgertest.At(31 + float64(i)), ID: ledgertest.ID(int(h.book.Len()) + 1), Number: h.book.Len() + 1, Kind: ledger.KindReading, Body: body}
		if _, err := h.book.Append(e); err != nil {
			t.Fatal(err)
		}
		after := h.ferments(day10)
		if value == 1 { // of pure water, which some instruments are checked with
			if a := riskOf(t, after, "D-1").Container.WaterActivity; a == nil || !a.Measured || a.Value != 1 {
				t.Errorf("a water activity of 1 is taken as %+v", a)
			}
			continue
		}
		if a := riskOf(t, after, "D-1").Container.WaterActivity; a == nil || a.Measured {
			t.Errorf("%+v is taken as %+v", m, a)
		}
		if after.Worst != before.Worst || len(after.Risks) != len(before.Risks) {
			t.Errorf("with a water activity of %g the risk is %s, without it %s", value, after.Worst, before.Worst)
		}
	}
}

// Without a count the water activity may raise the risk: by Norrish's isotherm of mean
// honey, worked apart from the program, 0.5425 at 16.5 % and 0.5760 at 17.9 %; yeast
// stops below 0.60. A measured activity takes its place.
func TestWithoutACountTheWaterActivityRaisesTheRisk(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 16.5, 0)
	h.readExactly(31, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[1]}, 17.9, 0)
	h.readExactly(32, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[2]}, 17.9, 0)
	h.at(33, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[2]}, Laboratory: "Fern Valley",
		Measured: []ledger.Measured{{Quantity: "water_activity", Value: 0.63, StdUncertainty: new(0.003)}}})
	f := h.ferments(day10)
	for number, want := range map[string]float64{"D-1": 0.5425, "D-2": 0.5760, "D-3": 0.63} {
		near(t, "water activity of "+number, riskOf(t, f, number).Container.WaterActivity.Value, want, 0.0001)
	}
	if riskOf(t, f, "D-1").Risk != standard.RiskLow || riskOf(t, f, "D-2").Risk != standard.RiskWatch || riskOf(t, f, "D-3").Risk != standard.RiskHigh {
		t.Errorf("risks: %s, %s, %s", riskOf(t, f, "D-1").Risk, riskOf(t, f, "D-2").Risk, riskOf(t, f, "D-3").Risk)
	}
}

// A drum that nobody read is judged by what its neighbours differ by, by a
// sample of the lot, or by its tank, and says which.
func TestADrumThatNobodyReadIsNotLeftOut(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	f := h.ferments(day10)
	if len(f.Unknown) != 4 || len(f.Risks) != 4 || f.Worst != standard.RiskNotKnown {
		t.Errorf("nothing was read, and the worst of %d is %s, %d unknown", len(f.Risks), f.Worst, len(f.Unknown))
	}
	for _, r := range f.Risks {
		if r.Risk != standard.RiskNotKnown || r.Basis != quality.NotRead || r.Lower[0].Kind != "read_moisture" {
			t.Errorf("%s was never read: %s, %s, %+v", r.Container.ContainerID, r.Risk, r.Basis, r.Lower)
		}
	}
	h.at(24.5, moisture(ledger.PlaceTank, h.Settling, 17.3, 0))
	if r := riskOf(t, h.ferments(day10), "D-3"); r.Basis != quality.TankEstimate || r.Container.MoisturePct.String() != "17.30" {
		t.Errorf("by its tank: %s, %s", r.Basis, r.Container.MoisturePct)
	}
	h.at(30, moisture(ledger.PlaceLot, h.lot, 17.5, 0))
	if r := riskOf(t, h.ferments(day10), "D-3"); r.Basis != quality.SampleOfLot {
		t.Errorf("by a sample of the lot: %s", r.Basis)
	}
	h.read(31, 0, 17.0, 0)
	h.read(32, 1, 18.0, 0)
	r := riskOf(t, h.ferments(day10), "D-3")
	if r.Basis != quality.WettestExpected || r.Container.MoisturePct.Float64() <= 17.5 {
		t.Errorf("by its neighbours of 17 and 18: %s, %s", r.Basis, r.Container.MoisturePct)
	}
	if got := riskOf(t, h.ferments(day10), "D-1"); got.Basis != quality.MeasuredHere {
		t.Errorf("the drum that was read: %s", got.Basis)
	}
}

// steppedRise is the HMF that a bare container of so many square metres forms when a heater
// takes it from 20 C to a temperature, holds it there for some minutes, and it
// cools for two days: by steps of a minute, with the specific heat of honey of
// 19.6 % at each, and still air of 0.13 m2 K/W (ISO 6946).
func steppedRise(kg, m2, heaterW, celsius, minutes float64) (mgPerKg float64) {
	lossW := m2 / 0.13
	c, held := 20.0, 0.0
	for t := 0; held < minutes+48*60; t++ {
		watts := heaterW
		switch {
		case held >= minutes:
			watts, held = 0, held+1
		case c >= celsius:
			c, watts, held = celsius, lossW*(celsius-20), held+1
		}
		kJPerKgK, _ := honey.SpecificHeatKJPerKgK(19.6, c)
		c += 60 * (watts - lossW*(c-20)) / (kg * kJPerKgK * 1000)
		mgPerKg += heat.Default().HMFRate(c) / (24 * 60)
	}
	return mgPerKg
}

// saw is an observation on a container, or on the lot where number is below nothing.
func (h *house) saw(hours float64, drum int, what, word string) {
	h.t.Helper()
	on := ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}
	if drum >= 0 {
		on = ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[drum]}
	}
	h.at(hours, &ledger.Reading{On: on, Observed: []ledger.Observed{{What: what, Word: word}}})
}

// A drum of 16 % keeps whatever its yeast by the table, and foams all the same.
func TestWhatSomebodySawOutranksWhatIsEstimated(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	for i := range h.drums {
		h.readExactly(30+float64(i), ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[i]}, 16.0, 0.1)
	}
	if f := h.ferments(day10); f.Worst != standard.RiskLow || f.SeenFermenting() {
		t.Fatalf("before anybody looked: %s", f.Worst)
	}
	h.saw(40, 1, "fermentation", "present")
	f := h.ferments(day10)
	r := f.Risks[0]
	if f.Worst != standard.RiskHigh || !f.SeenFermenting() || r.Container.ContainerID != "D-2" || r.Risk != standard.RiskHigh {
		t.Errorf("D-2 was seen fermenting: the lot is %s, first comes %s with %s", f.Worst, r.Container.ContainerID, r.Risk)
	}
	if r.Lower[0].Kind != "set_apart" {
		t.Errorf("what to do first with it: %+v", r.Lower[0])
	}
	for _, l := range r.Lower {
		if l.Kind == "blend" || l.Kind == "sell_first" {
			t.Errorf("of honey that ferments it is said %q", l.Text)
		}
	}
	if riskOf(t, f, "D-1").Risk != standard.RiskLow {
		t.Errorf("D-1, which nobody saw: %s", riskOf(t, f, "D-1").Risk)
	}
	// Looking again and finding nothing takes it back, and never lowers an estimate.
	h.saw(50, 1, "fermentation", "absent")
	if f := h.ferments(day10); f.Worst != standard.RiskLow || f.SeenFermenting() {
		t.Errorf("after it was looked at again: %s", f.Worst)
	}
	h.saw(60, -1, "fermentation", "present")
	if f := h.ferments(day10); riskOf(t, f, "D-1").Risk != standard.RiskHigh || riskOf(t, f, "D-2").Risk != standard.RiskHigh {
		t.Errorf("the lot as a whole was seen fermenting: %s", f.Worst)
	}
	h.saw(70, 1, "fermentation", "absent")
	if f := h.ferments(day10); riskOf(t, f, "D-1").Risk != standard.RiskHigh || riskOf(t, f, "D-2").Risk != standard.RiskLow {
		t.Errorf("D-2 alone was found quiet again: D-1 %s, D-2 %s", riskOf(t, f, "D-1").Risk, riskOf(t, f, "D-2").Risk)
	}
	h.saw(80, 3, "objectionable_flavour_aroma_taint", "present")
	if got := riskOf(t, h.ferments(day10), "D-4"); got.Risk != standard.RiskHigh || !strings.Contains(said(got.Why), "look and smell again") {
		t.Errorf("D-4 smells as well: %s, %s", got.Risk, said(got.Why))
	}
}

// Rape honey of 17.8 % in a warm store: fructose to glucose 0.95, both together 78 g,
// so that glucose to water is 2.25. Its few yeasts keep it while it is liquid; its
// liquid part would have 19.3 %, where they do not.
func TestHoneyThatIsLikelyToSetIsWatchedBeforeItDoes(t *testing.T) {
	t.Parallel()
	of := func(measured ...ledger.Measured) quality.Risk {
		h := newHouse(t, nil)
		h.readExactly(30, ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, 17.8, 0)
		h.certify(31, append(measured, ledger.Measured{Quantity: "yeast_per_g", Value: 50})...)
		return riskOf(t, h.ferments(day10), "D-1")
	}
	if r := of(); r.Risk != standard.RiskLow {
		t.Errorf("in a store of 20 C, sugars not known: %s (%s)", r.Risk, said(r.Why))
	}
	sets := of(ledger.Measured{Quantity: "fructose_to_glucose", Value: 0.95}, ledger.Measured{Quantity: "fructose_plus_glucose_g_per_100g", Value: 78})
	if sets.Risk != standard.RiskWatch || !strings.Contains(said(sets.Why), "by its sugars it is likely to granulate, which leaves 19.34 %") {
		t.Errorf("rape: %s (%s)", sets.Risk, said(sets.Why))
	}
	if r := of(ledger.Measured{Quantity: "fructose_to_glucose", Value: 1.6}); r.Risk != standard.RiskLow {
		t.Errorf("acacia: %s (%s)", r.Risk, said(r.Why))
	}
}

// A lot of 16.0 % with little HMF meets 40 mg/kg. The wet drum of 19.6 % has 150: 290
// of 1,044 kg are a share of 0.278, so that the mix would have 5 + 0.278 * 145 = 45.3.
func TestBlendingSpoilsNoGoodLot(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 19.6, 0)
	h.certify(31, hmf(150), ledger.Measured{Quantity: "yeast_per_g", Value: 800})
	good := h.at(24, &ledger.Lot{Code: "26-015", StoreID: h.store})
	h.at(29, h.FillBody(good, h.Settling, "D-9", 200_000))
	h.readExactly(32, ledger.Place{Kind: ledger.PlaceLot, ID: good}, 16.0, 0)
	h.at(33, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: good}, Laboratory: "Fern Valley", ContainersSampled: 1,
		Measured: []ledger.Measured{hmf(5), {Quantity: "yeast_per_g", Value: 20}}})
	buyer := &ledger.RuleSet{Name: "terms of a packer", Form: "limits", Citation: "contract 7", Limits: []standard.Limit{
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "2"},
		{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "18", Clause: "1"}}}
	set := h.at(40, buyer)
	terms, err := h.book.RuleSet(ledger.RuleSetRef{RuleSetID: set}, day10)
	if err != nil {
		t.Fatal(err)
	}
	advice := func(sets ...ledger.Resolved) map[string]quality.Remedy {
		g := h.gather(day10)
		f, err := quality.FermentationOf(h.book, g, quality.ClimateOf(h.book), day10)
		if err != nil {
			t.Fatal(err)
		}
		f.Advise(h.book, g, day10, sets...)
		out := map[string]quality.Remedy{}
		for _, l := range riskOf(t, f, "D-1").Lower {
			out[l.Kind] = l
		}
		return out
	}
	without := advice()
	if text := without["blend"].Text.String(); without["blend"].WithLot != "26-015" || !strings.Contains(text, "the mix then has about 240 yeasts/g") || !strings.Contains(text, "enough for 77 kg of it") {
		t.Errorf("with no rule set in use: %q", text)
	}
	held := advice(terms)
	if _, there := held["blend"]; there || held["do_not_blend"].WithLot != "26-015" || !strings.Contains(held["do_not_blend"].Text.String(), "about 45.27") {
		t.Errorf("against terms that the good lot meets now: %+v", held["do_not_blend"])
	}
	// A third lot is wetter and would not be spoiled: the terms are failed by it already.
	third := h.at(24, &ledger.Lot{Code: "26-016", StoreID: h.store})
	h.at(29, h.FillBody(third, h.Settling, "D-10", 200_000))
	h.at(34, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: third}, Laboratory: "Fern Valley", Measured: []ledger.Measured{hmf(60)}})
	h.readExactly(35, ledger.Place{Kind: ledger.PlaceLot, ID: third}, 16.5, 0)
	if got := advice(terms)["blend"]; got.WithLot != "26-016" || !strings.Contains(got.Text.String(), "those of lot 26-016 were not counted") {
		t.Errorf("with a lot that fails the terms as it is: %+v", got)
	}
	// Honey that somebody saw ferment is nothing to blend with.
	h.at(41, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: third}, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
	if _, there := advice(terms)["blend"]; there {
		t.Error("honey that ferments is advised for blending")
	}
}

// A tank was read and seen fermenting before the lot was filled from it; a reading of
// the year before is not of the same honey.
func TestWhatWasSeenOnTheTankGoesAlongIntoItsDrums(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	on := ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}
	h.at(24.5, &ledger.Reading{On: on, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
	if f := h.ferments(day10); f.Worst != standard.RiskHigh || !f.SeenFermenting() || len(f.Unknown) != 4 {
		t.Errorf("foam on the tank: %s, %d unknown", f.Worst, len(f.Unknown))
	}
	h.saw(30, 2, "fermentation", "absent")
	if got := riskOf(t, h.ferments(day10), "D-3").Risk; got != standard.RiskNotKnown {
		t.Errorf("D-3 was looked at and is quiet, and nobody read it: %s", got)
	}
	h.saw(31, -1, "fermentation", "absent")
	if f := h.ferments(day10); f.SeenFermenting() {
		t.Errorf("the lot was looked at and is quiet: %s", f.Worst)
	}
}

func TestATankReadLongAgoSaysNothingOfWhatIsFilledNow(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(24.5, moisture(ledger.PlaceTank, h.Settling, 16.0, 0))
	near := h.at(24.5+29*24, h.FillBody(h.lot, h.Settling, "D-5", 10_000))
	far := h.at(24.5+31*24, h.FillBody(h.lot, h.Settling, "D-6", 10_000))
	f := h.ferments("2026-08-20")
	if got := riskOf(t, f, "D-5"); got.Basis != quality.TankEstimate || got.FillID != near {
		t.Errorf("29 days on: %s", got.Basis)
	}
	thirty := h.at(24.5+30*24, h.FillBody(h.lot, h.Settling, "D-7", 10_000))
	if got := riskOf(t, h.ferments("2026-08-20"), "D-7"); got.Basis != quality.TankEstimate || got.FillID != thirty {
		t.Errorf("30 days on: %s", got.Basis)
	}
	if got := riskOf(t, f, "D-6"); got.Basis != quality.NotRead || got.Risk != standard.RiskNotKnown || got.FillID != far {
		t.Errorf("31 days on: %s, %s", got.Basis, got.Risk)
	}
}

// 290 kg of 19.6 % to 17.0 % with honey of 15.5 %: 290 * 2.6 / 1.5 = 502.7 kg. The wet
// honey is then 0.3659 of the mix, so that a diastase of 3 and one of 10 make 7.44.
// A lot that is held, one that is empty and one that nobody read are no help, and what
// is no worse by the mix is no reason against it.
func TestWhatMayBeBlendedWithIsHereFreeReadAndNotSpoiled(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.readExactly(30, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 19.6, 0)
	diastase := func(value float64) ledger.Measured { return ledger.Measured{Quantity: "diastase_gothe", Value: value} }
	h.certify(31, diastase(3))
	lot := func(code, drum string, pct float64) ledger.ID {
		id := h.at(24, &ledger.Lot{Code: code, StoreID: h.store})
		if drum != "" {
			for _, more := range []string{"", "b", "c"} {
				h.at(29, h.FillBody(id, h.Settling, drum+more, 200_000))
			}
		}
		if pct > 0 {
			h.readExactly(32, ledger.Place{Kind: ledger.PlaceLot, ID: id}, pct, 0)
		}
		return id
	}
	held := lot("26-020", "D-20", 14.0)
	h.at(33, &ledger.LotStatus{LotID: held, Status: ledger.StatusHeld, Why: ledger.HeldForOther, Note: "asked back"})
	lot("26-021", "", 14.5)
	lot("26-022", "D-22", 0)
	lot("26-023", "D-23", 17.0)
	good := lot("26-024", "D-24", 15.5)
	h.at(34, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: good}, Laboratory: "Fern Valley", ContainersSampled: 1, Measured: []ledger.Measured{diastase(10)}})
	resolved := func(limits ...standard.Limit) ledger.Resolved {
		id := h.at(40, &ledger.RuleSet{Name: fmt.Sprintf("terms %d", h.book.Len()), Form: "limits", Citation: "contract 7", Limits: limits})
		set, err := h.book.RuleSet(ledger.RuleSetRef{RuleSetID: id}, day10)
		if err != nil {
			t.Fatal(err)
		}
		return set
	}
	first := func(sets ...ledger.Resolved) quality.Remedy {
		g := h.gather(day10)
		f, err := quality.FermentationOf(h.book, g, quality.ClimateOf(h.book), day10)
		if err != nil {
			t.Fatal(err)
		}
		f.Advise(h.book, g, day10, sets...)
		return riskOf(t, f, "D-1").Lower[0]
	}
	got := first()
	if got.Kind != "blend" || got.WithLot != "26-024" {
		t.Fatalf("with no terms: %+v", got)
	}
	near(t, "the drier honey needed", got.Kg, 502.7, 0.1)
	if strings.Contains(got.Text.String(), "only") {
		t.Errorf("600 kg are enough: %q", got.Text)
	}
	eight := standard.Limit{Parameter: "diastase", Unit: "Gothe scale", Comparator: standard.AtLeast, Limit: "8", Clause: "2"}
	seven := eight
	seven.Limit = "7"
	if got := first(resolved(seven)); got.Kind != "blend" {
		t.Errorf("7.44 is at least 7: %+v", got)
	}
	if got := first(resolved(eight)); got.Kind != "do_not_blend" || !strings.Contains(got.Text.String(), "about 7.43") && !strings.Contains(got.Text.String(), "about 7.44") {
		t.Errorf("7.44 is not at least 8: %+v", got)
	}
	// The good lot fails a limit as it is, so that the mix spoils nothing.
	driest := standard.Limit{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "15", Clause: "1"}
	if got := first(resolved(driest, eight)); got.Kind != "blend" {
		t.Errorf("a lot that fails already: %+v", got)
	}
	// Terms that it fails already, or that do not hold yet, say nothing about the next ones.
	if got := first(resolved(driest), resolved(eight)); got.Kind != "do_not_blend" {
		t.Errorf("terms that it fails, then terms that the mix would lose: %+v", got)
	}
	later := h.at(40, &ledger.RuleSet{Name: "next year's", Form: "limits", Citation: "contract 8", InForceFrom: "2027-01-01", Limits: []standard.Limit{eight}})
	next, err := h.book.RuleSet(ledger.RuleSetRef{RuleSetID: later}, "2027-02-01")
	if err != nil {
		t.Fatal(err)
	}
	if got := first(next); got.Kind != "blend" {
		t.Errorf("terms of next year: %+v", got)
	}
	if got := first(next, resolved(eight)); got.Kind != "do_not_blend" {
		t.Errorf("terms of next year, then terms that the mix would lose: %+v", got)
	}
}
