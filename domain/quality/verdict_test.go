package quality_test

import (
	"strings"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// The limits are those of the texts named: EU 2001/110 Annex II (moisture 20 %,
// HMF 40 mg/kg, diastase 8), all from the rule set as published.
func TestAVerdictSaysForEachLimitWhatTheLotsReadingsSay(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what      string
		declares  standard.Declaration
		readings  func(*house)
		ruleSet   string
		parameter string
		outcome   string
		value     string
		margin    string
	}{
		{"four drums, mean 18.0", nil, func(h *house) {
			for i, pct := range []float64{17.8, 18.0, 18.0, 18.2} {
				h.read(30+float64(i), i, pct, 0)
			}
		}, "eu-honey", "moisture", "meets", "18.0", "2.0"},
		{"four drums, mean 20.1", nil, func(h *house) {
			for i, pct := range []float64{20.1, 20.0, 20.2, 20.1} {
				h.read(30+float64(i), i, pct, 0)
			}
		}, "eu-honey", "moisture", "fails", "20.1", "-0.1"},
		{"moisture read on the tank alone", nil, func(h *house) {
			h.at(24.5, moisture(ledger.PlaceTank, h.Settling, 17, 0))
		}, "eu-honey", "moisture", "not measured", "", ""},
		{"ling heather may hold 23 %", standard.Declaration{"kind": {"calluna_vulgaris"}}, func(h *house) {
			h.read(30, 0, 22.4, 0)
		}, "eu-honey", "moisture", "meets", "22.4", "0.6"},
		{"the same without the declaration", nil, func(h *house) { h.read(30, 0, 22.4, 0) }, "eu-honey", "moisture", "fails", "22.4", "-2.4"},
		{"baker's honey has no HMF limit", standard.Declaration{"use": {"bakers"}}, func(h *house) { h.certify(30, hmf(70)) }, "eu-honey", "hmf", "does not apply", "", ""},
		{"tropical honey may hold 80 mg/kg", standard.Declaration{"region": {"tropical"}}, func(h *house) { h.certify(30, hmf(70)) }, "eu-honey", "hmf", "meets", "70", "10"},
		{"the same from elsewhere", nil, func(h *house) { h.certify(30, hmf(70)) }, "eu-honey", "hmf", "fails", "70", "-30"},
		{"HMF reported as less than 1.0", nil, func(h *house) {
			h.certify(30, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 1.0, LessThan: true, Method: "HPLC"})
		}, "eu-honey", "hmf", "meets", "1", "39"},
		{"HMF reported as less than 60", nil, func(h *house) {
			h.certify(30, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 60, LessThan: true, Method: "HPLC"})
		}, "eu-honey", "hmf", "not measured", "60", "-20"},
		{"low natural enzymes: diastase 4 with HMF 12", standard.Declaration{"enzyme": {"low"}}, func(h *house) { h.certify(30, hmf(12), diastase(4)) },
			"eu-honey", "diastase", "meets", "4", "1"},
		{"low natural enzymes: diastase 4 with HMF 20", standard.Declaration{"enzyme": {"low"}}, func(h *house) { h.certify(30, hmf(20), diastase(4)) },
			"eu-honey", "diastase", "fails", "4", "-4"},
		{"signs of fermentation seen", nil, func(h *house) {
			h.at(30, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
		}, "codex-honey", "fermentation", "fails", "", ""},
		{"the same by the Directive", nil, func(h *house) {
			h.at(30, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
		}, "eu-honey", "fermentation", "fails", "", ""},
		{"nobody looked, and the Directive asks for no look", nil, func(h *house) { h.read(30, 0, 17.4, 0) }, "eu-honey", "fermentation", "does not apply", "", ""},
		{"nobody looked, and the Codex asks for one", nil, func(h *house) { h.read(30, 0, 17.4, 0) }, "codex-honey", "fermentation", "not measured", "", ""},
		{"maltose over what the Turkish text allows", nil, func(h *house) {
			h.certify(30, ledger.Measured{Quantity: "maltose_g_per_100g", Value: 4.2})
		}, "tr-honey", "maltose", "fails", "4.2", "-0.2"},
	} {
		t.Run(c.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse(t, c.declares)
			c.readings(h)
			check := h.at(200, &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{{Standard: c.ruleSet}}, On: "2026-07-09"})
			got := line(t, h.found(check).Results[0], c.parameter, "")
			if got.Outcome != c.outcome || got.Value != c.value || got.Margin != c.margin {
				t.Errorf("%s: %s, value %q, margin %q; by the text %s, %q, %q", got.Sentence, got.Outcome, got.Value, got.Margin, c.outcome, c.value, c.margin)
			}
			if got.Clause == "" || got.Sentence == "" {
				t.Errorf("the line says %+v, without clause or sentence", got)
			}
			if worst := h.found(check).Results[0].Outcome; worst == "meets" {
				t.Error("a lot of which most was not measured meets the rule set")
			}
		})
	}
}

// By hand: drums 17.0, 17.4, 17.8, 18.2 have mean 17.6 and a spread between
// drums of sqrt((0.36+0.04+0.04+0.36)/3) = 0.5164. All four of four are
// measured, so the spread no longer makes the mean uncertain and the
// instrument's 0.2 is left. P(true <= 17.8) = Phi(0.2/0.2) = 0.8413.
func TestInstrumentAndSpreadBetweenDrumsAreKeptApart(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	for i, pct := range []float64{17.0, 17.4, 17.8, 18.2} {
		h.readExactly(30+float64(i), ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[i]}, pct, 0.2)
	}
	e := h.gather(day10).Evidence.Estimates("moisture")[0]
	near(t, "the mean", e.High.Float64(), 17.6, 1e-9)
	near(t, "the spread between drums", e.BetweenSD, 0.5164, 1e-4)
	near(t, "the uncertainty of the mean", e.StdUncertainty, 0.2, 1e-9)
	set := h.at(20, &ledger.RuleSet{Name: "mean", Citation: "own", Form: standard.FormLimits,
		Limits: []standard.Limit{{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "17.8", Clause: "1", ByMean: true}}})
	for _, c := range []struct {
		rule    *standard.DecisionRule
		outcome string
	}{{nil, "meets"}, {&standard.DecisionRule{AcceptR: 1}, "too close to call"}} {
		check := h.at(201, &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{own(set)}, On: "2026-07-09", Decision: c.rule})
		got := line(t, h.found(check).Results[0], "moisture", "")
		if got.Outcome != c.outcome {
			t.Errorf("with %v: %s, by hand %s", c.rule, got.Sentence, c.outcome)
		}
		near(t, "the probability", *got.Probability, 0.8413, 1e-4)
		if got.Sampled != 4 {
			t.Errorf("%d drums were sampled, 4 were read", got.Sampled)
		}
	}
}

// The US standards for grades of extracted honey: A needs 18.6 % moisture or
// less, C 20 % (1985, table III); the scores are given.
func TestAGradeSaysWhatStandsBetweenTheLotAndTheNext(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	for i := range h.drums {
		h.read(30+float64(i), i, 19.2, 0)
	}
	h.certify(40, ledger.Measured{Quantity: "flavour_points", Value: 48}, ledger.Measured{Quantity: "defects_points", Value: 38},
		ledger.Measured{Quantity: "clarity_points", Value: 9}, ledger.Measured{Quantity: "total_points", Value: 95})
	results, err := quality.Judge(h.book, h.gather(day10), h.published(day10, "us-usda-extracted-1985"), day10, standard.SimpleAcceptance())
	if err != nil {
		t.Fatal(err)
	}
	r := results[0]
	if !strings.Contains(r.Grade, "C") || !strings.Contains(r.NextGrade, "B") {
		t.Fatalf("honey of 19.2 %% has grade %q and next %q", r.Grade, r.NextGrade)
	}
	between := strings.Join(r.StandBetween, " ")
	if !strings.Contains(between, "oisture") && !strings.Contains(between, "olids") || !strings.Contains(between, "18.6") && !strings.Contains(between, "81.4") {
		t.Errorf("between the lot and %s stands %q, not its moisture against 18.6", r.NextGrade, between)
	}
}

func TestACheckNamesTheEditionInForceOnItsDate(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	for _, c := range []struct {
		on standard.Date
		id string
	}{{"2001-06-30", "codex-1987"}, {"2001-07-01", "codex-cxs-12-1981"}} {
		set, err := h.book.RuleSet(ledger.RuleSetRef{Standard: "codex-honey"}, c.on)
		if err != nil || set.ID != c.id {
			t.Errorf("on %s the family's edition is %s (%v), not %s", c.on, set.ID, err, c.id)
		}
	}
	id := h.at(10, contract(h.Buyer, "18.0"))
	second := h.instead(id, 11, contract(h.Buyer, "17.8"))
	h.read(30, 0, 17.9, 0)
	for _, c := range []struct {
		version, named int
		entry          ledger.ID
		outcome        string
	}{{1, 1, id, "meets"}, {2, 2, second, "fails"}, {0, 2, second, "fails"}} {
		ref := ledger.RuleSetRef{RuleSetID: id, Version: c.version}
		check := h.at(200, &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{ref}, On: "2026-07-09"})
		r := h.found(check).Results[0]
		if got := line(t, r, "moisture", ""); r.Version != c.named || r.Entry != c.entry || got.Outcome != c.outcome {
			t.Errorf("version %d: the check names version %d, entry %s, and %s", c.version, r.Version, r.Entry, got.Sentence)
		}
	}
}

func TestWhatIsKnownFromMemoryIsLabelled(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(30, hmf(10))
	results, err := quality.Judge(h.book, h.gather(day10), h.published(day10, "in-is-4941-1994", "eu-honey"), day10, standard.SimpleAcceptance())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range results[0].Lines {
		if l.Parameter == "moisture" && (!l.FromMemory || !strings.Contains(l.Sentence, "from memory")) && l.Outcome != "does not apply" {
			t.Errorf("IS 4941's moisture is known from memory, and the verdict says %q", l.Sentence)
		}
	}
	if results[1].FromMemory {
		t.Error("the EU's limits were read in the text, and the check says that it rests on memory")
	}
}

// What a check rests on can be found again in the book, entry by entry, and the
// same check on the book of that moment comes to the same.
func TestACheckIsKeptWithAllThatItRestedOn(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	on := h.read(30, 0, 17.2, 0)
	lab := h.certify(31, hmf(8))
	check := h.at(200, &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{{Standard: "eu-honey"}}, On: "2026-07-09"})
	f := h.found(check)
	through := f.Through
	if f.Lot != h.lot || len(f.Fills) != 4 || len(f.Readings) != 2 || f.Readings[0] != on || f.Readings[1] != lab {
		t.Errorf("the check rests on %+v", f.Basis)
	}
	h.read(202, 1, 19.9, 0)
	then, err := h.book.AsKnown(through)
	if err != nil {
		t.Fatal(err)
	}
	again := &ledger.Entry{Kind: ledger.KindCheck, Body: &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{{Standard: "eu-honey"}}, On: "2026-07-09"}}
	if err := quality.Complete(then, again); err != nil {
		t.Fatal(err)
	}
	got := again.Body.(*ledger.Check).Found
	if got.Through != through || got.Results[0].Outcome != f.Results[0].Outcome || line(t, got.Results[0], "moisture", "").Sentence != line(t, f.Results[0], "moisture", "").Sentence {
		t.Errorf("checked again as the book was, it comes to %+v", got)
	}
}

func TestWhatTimeChangesCountsAsLastMeasured(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(30, hmf(5), ledger.Measured{Quantity: "sucrose_g_per_100g", Value: 1})
	h.certify(24*60, hmf(25), ledger.Measured{Quantity: "sucrose_g_per_100g", Value: 3})
	g := h.gather("2026-09-15")
	if got := g.Evidence.Estimates("hmf")[0].High.String(); got != "25" {
		t.Errorf("HMF of 5 in July and 25 in August counts as %s", got)
	}
	if got := g.Evidence.Estimates("sucrose")[0].High.String(); got != "2" {
		t.Errorf("sucrose of 1 and of 3 counts as %s: time does not change it", got)
	}
	if len(g.LeftOut) != 1 || !strings.Contains(g.LeftOut[0].String(), "HMF") {
		t.Errorf("left out is said to be %q", g.LeftOut)
	}
	if got := h.gather(day10).Evidence.Estimates("hmf")[0].High.String(); got != "5" {
		t.Errorf("on 10 July the result of August counted: %s", got)
	}
}

// A tank's reading and an aged result are shown and labelled, and meet nothing:
// the lot still fails for want of a measurement.
func TestAnEstimateIsShownAndMeetsNothing(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(24.5, moisture(ledger.PlaceTank, h.Settling, 17.2, 0))
	g := h.gather(day10)
	for on, at := range map[standard.Date]time.Time{
		day10:        time.Date(2026, 7, 11, 0, 0, 0, 0, time.UTC),
		"2027-07-10": time.Date(2027, 7, 11, 0, 0, 0, 0, time.UTC), // a year in the store at 20 C
	} {
		estimates := quality.Estimates(h.book, g, on)
		if len(estimates) != 3 {
			t.Fatalf("estimates: %+v", estimates)
		}
		var moisture, hmf, diastase float64
		for _, drum := range h.drums { // of equal weight
			expected, ok := h.book.State().BeliefAt(drum, at.Add(-time.Microsecond))
			if !ok {
				t.Fatal("of a drum nothing is expected")
			}
			moisture, hmf, diastase = moisture+expected.Moisture.Mean/4, hmf+expected.HMF().Mean/4, diastase+expected.Diastase().Mean/4
		}
		near(t, "the moisture expected", estimates[0].Middle, moisture, 1e-9)
		near(t, "the HMF expected", estimates[1].Middle, hmf, 1e-9)
		near(t, "the diastase expected", estimates[2].Middle, diastase, 1e-9)
	}
	results, err := quality.Judge(h.book, g, h.published(day10, "eu-honey", "anz-2.8.2"), day10, standard.SimpleAcceptance())
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range results {
		if got := line(t, r, "moisture", ""); got.Outcome != "not measured" || r.Outcome != "not measured" {
			t.Errorf("%s: %s, and the lot %s", r.ID, got.Sentence, r.Outcome)
		}
	}
}

func TestABindingPlanAsksForEnoughDrums(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	rule := contract(h.Buyer, "18.0")
	rule.Limits = rule.Limits[:1]
	rule.Sampling = &standard.Sampling{Steps: []standard.SamplingStep{{From: 1, Fixed: 3}}, Binding: true}
	id := h.at(10, rule)
	for i, want := range []string{"not measured", "not measured", "meets"} {
		h.read(30+float64(i), i, 17.2, 0)
		check := h.at(200, &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{own(id)}, On: "2026-07-09"})
		if r := h.found(check).Results[0]; r.Outcome != want || r.Required != 3 || r.Lines[0].Sampled != i+1 {
			t.Errorf("%d of 3 drums sampled: %s (asks for %d, counts %d)", i+1, r.Outcome, r.Required, r.Lines[0].Sampled)
		}
	}
}

func TestADrawCanBeDrawnAgain(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	rule := contract(h.Buyer, "18.0")
	rule.Sampling = &standard.Sampling{Steps: []standard.SamplingStep{{From: 1, RootPlus: 1}}}
	id := h.at(10, rule)
	sample := h.at(40, &ledger.Sample{LotID: h.lot, RuleSet: own(id)})
	drawn := h.book.InForce(sample).Body.(*ledger.Sample).Drawn
	// The square root of four, plus one.
	if drawn.LotSize != 4 || len(drawn.Containers) != 3 {
		t.Fatalf("drawn: %+v", drawn)
	}
	set, err := h.book.RuleSet(own(id), day10)
	if err != nil {
		t.Fatal(err)
	}
	again, err := set.DrawSample([]string{"D-3", "D-1", "D-4", "D-2"}, sample.String())
	if err != nil || strings.Join(again.Containers, " ") != strings.Join(drawn.Numbers, " ") {
		t.Errorf("drawn again by the entry's id: %v (%v), recorded %v", again.Containers, err, drawn.Numbers)
	}
	for i, number := range drawn.Numbers {
		if h.book.Name(drawn.Containers[i]) != number {
			t.Errorf("%s is said to be %s", drawn.Containers[i], number)
		}
	}
}

// A reading that should be corrected costs the lot that reading, not its
// verdict. It can be in the book from before such figures were refused.
func TestAReadingThatCannotBeIsLeftOut(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.read(30, 0, 17.2, 0)
	bad := &ledger.Entry{ID: ledgertest.ID(int(h.book.Len()) + 1), Number: h.book.Len() + 1, Kind: ledger.KindReading, OccurredAt: h.book.Numbered(h.book.Len()).OccurredAt,
		RecordedAt: h.book.Numbered(h.book.Len()).OccurredAt,
		Body:       &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Measured: []ledger.Measured{{Quantity: "sucrose_g_per_100g", Value: 178}}}}
	if _, err := h.book.Append(bad); err != nil {
		t.Fatal(err)
	}
	g := h.gather(day10)
	if len(g.Evidence.Estimates("moisture")) != 1 || len(g.Evidence.Estimates("sucrose")) != 0 {
		t.Error("moisture was lost, or a sucrose of 178 counts")
	}
	if len(g.LeftOut) != 1 || !strings.Contains(g.LeftOut[0].String(), "178") {
		t.Errorf("left out is said to be %q", g.LeftOut)
	}
}
