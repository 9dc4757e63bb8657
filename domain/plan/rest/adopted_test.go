package rest_test

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/plan/held"
	"pullbook/domain/plan/rest"
)

// A manager goes by what is left of a season on the morning of the 12th: 60 supers of Birch Hollow, and 20 in the hot room.
// Then 30 are pulled there on the 12th and 30 on the 14th, and 10 and 30 go through the line. The plan is held against that.
func TestARestThatIsGoneByIsHeldAgainstWhatCame(t *testing.T) {
	h := newHouse()
	h.counts(h.alder, 20)
	h.counts(h.birch, 30)
	h.extracts(10, h.alder, 40)
	a, err := h.ask(t, rest.Question{Now: at(12, 7), DrumsOnHand: new(0)})
	if err != nil {
		t.Fatal(err)
	}
	p := a.House.Plan(1)
	plan := a.Adopted(&p, "the rest", a.SaidOrder(&p).String())
	if len(plan.Steps) != 1 || plan.Steps[0].AboutID != h.birch || plan.Steps[0].Count != 60 || plan.Steps[0].Does != ledger.PlanPulls {
		t.Errorf("%+v; want 60 supers pulled at Birch Hollow", plan.Steps)
	}
	if !strings.HasPrefix(plan.Note, "Order ") || !strings.Contains(plan.Note, "by 12 August 2026") || !strings.Contains(plan.Note, "about 7 days") {
		t.Errorf("%q; want drums to be ordered today, since none are here", plan.Note)
	}
	figures := map[ledger.PlanFigure]int{}
	last := map[ledger.PlanFigure]float64{}
	for _, x := range plan.Expects {
		if x.Low != nil {
			t.Errorf("%+v; no earlier season tells between which ends it comes", x)
		}
		if x.Value < last[x.Figure] {
			t.Errorf("%s falls from %g to %g", x.Figure, last[x.Figure], x.Value)
		}
		figures[x.Figure]++
		last[x.Figure] = x.Value
	}
	// 500 kg in the tank and 25 kg from each of some 80 supers, in drums of 295 kg.
	if last[ledger.PlanExtracted] < 60 || math.Abs(last[ledger.PlanFilled]-(500+25*last[ledger.PlanExtracted])/295) > 2 || figures[ledger.PlanDaysLeft] != 1 {
		t.Errorf("%v, %v", figures, last)
	}
	adopted := h.add(at(12, 7), plan)
	h.extracts(12, h.birch, 30)
	h.extracts(14, h.birch, 30)
	b, err := ledger.Open(at(1, 0).Location(), h.entries)
	if err != nil {
		t.Fatal(err)
	}
	steps := held.Steps(b, b.InForce(adopted), at(16, 7))
	if len(steps) != 1 || !steps[0].Done || steps[0].Count != 60 || len(steps[0].By) != 2 {
		t.Errorf("%+v; want 60 of 60 pulled, in two pulls", steps)
	}
	came, err := held.Figures(b, b.InForce(adopted), at(16, 7))
	if err != nil {
		t.Fatal(err)
	}
	by := map[int]float64{} // day of August
	for _, f := range came {
		if f.Figure == ledger.PlanExtracted && f.Came != nil {
			by[f.At.Day()] = *f.Came
		}
	}
	if most := slices.Max(slices.Collect(maps.Values(by))); by[12] != 0 || by[13] != 15 || most != 30 {
		t.Errorf("by the ends of days %v; want none extracted by that of the 12th, 15 by that of the 13th, and 30 in the end", by)
	}
}

// With earlier seasons each figure has the ends between which it comes nine times of ten, and those of a later day are no lower.
func TestARestThatIsGoneByHasEnds(t *testing.T) {
	m, year := seasons(100, 4, true)
	now := at(10, 7).AddDate(year-2026, 0, 0)
	a, err := rest.Ask(upTo(t, m, now), rest.Question{Now: now})
	if err != nil {
		t.Fatal(err)
	}
	p := a.House.Plan(1)
	plan := a.Adopted(&p, "the rest", "")
	extracted := 0
	for _, x := range plan.Expects {
		if x.Low == nil || x.High == nil || *x.Low > x.Value || *x.High < x.Value {
			t.Errorf("%+v", x)
		}
		if x.Figure == ledger.PlanExtracted {
			extracted++
		}
	}
	if extracted < 20 || len(plan.Steps) != 3 || len(plan.Expects) > 400 {
		t.Errorf("%d days with supers, %d steps, %d figures", extracted, len(plan.Steps), len(plan.Expects))
	}
	var sum rest.Worked
	for _, d := range p.Days {
		sum.Extracted, sum.Drums = sum.Extracted+d.Extracted, sum.Drums+d.Drums
	}
	if all := p.Days[len(p.Days)-1]; math.Abs(sum.Extracted-all.ExtractedBy.Middle) > 0.15*sum.Extracted || math.Abs(sum.Drums-p.Drums.Middle) > 0.15*sum.Drums {
		t.Errorf("day by day %+v, in all %+v and %+v drums", sum, all.ExtractedBy, p.Drums)
	}
}
