package yards_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/plan/yards"
)

// house is an outfit with seasons of 2026 and after, and what its yards gave.
type house struct {
	*ledgertest.Outfit
	yards map[string]ledger.ID
}

func newHouse() *house {
	o := ledgertest.NewOutfit()
	for year := 2027; year <= 2030; year++ {
		o.SetUp(&ledger.Season{Name: fmt.Sprint(year), First: ledger.Date(fmt.Sprintf("%d-01-01", year)), Last: ledger.Date(fmt.Sprintf("%d-12-31", year))})
	}
	h := &house{o, map[string]ledger.ID{"Mill": o.Mill, "Ridge": o.Ridge}}
	for _, name := range []string{"Alder", "Birch"} {
		h.yards[name] = o.SetUp(&ledger.Yard{Name: name})
	}
	return h
}

const hoursOfYear = 365 * 24

// counts hives in July of a year.
func (h *house) counts(year int, yard string, hives int) {
	h.Write(float64(year-2026)*hoursOfYear, &ledger.HiveCount{YardID: h.yards[yard], Name: "main flow", Hives: hives})
}

// pulls deeps in August, of which so many are extracted, and give so much.
func (h *house) pulls(year int, yard string, deeps, extracted int, kg float64) {
	at := float64(year-2026)*hoursOfYear + 800
	pull := h.Pull(at, h.yards[yard], deeps, 0)
	run := h.Run(at+24, yard)
	h.Supers(at+25, run, pull, extracted)
	h.Out(at+30, run, h.Settling, int64(kg*1000))
	h.Pump(at+31, h.Settling, h.Sump, int64(kg*1000))
}

func (h *house) ask(t *testing.T, q yards.Question, year int) *yards.Plan {
	t.Helper()
	b, err := h.Open()
	if err != nil {
		t.Fatal(err)
	}
	if q.Probability == 0 {
		q.Probability = yards.DefaultProbability
	}
	asked, err := yards.Ask(b, q, time.Date(year, 1, 2, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	return asked.Plan()
}

func of(t *testing.T, p *yards.Plan, name string) *yards.Proposal {
	t.Helper()
	for i := range p.Proposals {
		if p.Proposals[i].Name == name {
			return &p.Proposals[i]
		}
	}
	t.Fatalf("%s is not in the plan", name)
	return nil
}

// fourYears gives four yards of 20 hives four seasons; Birch gives half of what the others do.
func fourYears() *house {
	h := newHouse()
	for i, level := range []float64{40, 60, 30, 50} {
		for y, name := range []string{"Alder", "Birch", "Mill", "Ridge"} {
			kg := level * []float64{1.2, 0.5, 1.15, 1.15}[y] * (1 + 0.03*float64((i+y)%3-1))
			h.counts(2026+i, name, 20)
			h.pulls(2026+i, name, 40, 40, 20*kg)
		}
	}
	return h
}

// A yard that gives half in every season is to be moved, whatever the season; the others are kept.
func TestAYardThatGivesHalfInEachSeasonIsToBeMoved(t *testing.T) {
	t.Parallel()
	p := fourYears().ask(t, yards.Question{}, 2030)
	if !p.Told || p.Per != yards.PerHive || len(p.Seasons) != 4 || len(p.Proposals) != 4 || len(p.Adjusted) != 0 {
		t.Fatalf("%+v", p)
	}
	if math.Abs(p.OrdinaryKg-45) > 1 || math.Abs(p.SeasonKg[1]-60) > 2 || math.Abs(p.MarginKg-4.5) > 0.1 {
		t.Errorf("an ordinary season gives %.1f kg a hive, 2027 %.1f; the margin is %.1f; want 45, 60 and 4.5", p.OrdinaryKg, p.SeasonKg[1], p.MarginKg)
	}
	birch := of(t, p, "Birch")
	if e := birch.Effect; birch.Verdict != yards.Move || e.Kg > -15 || e.HighKg > -p.MarginKg || e.LowKg > e.Kg || e.Below < e.Worse || math.Abs(e.GainsKg+20*e.Kg) > 1e-9 || e.SeasonsNeeded != 0 {
		t.Errorf("Birch: %s, %+v", birch.Verdict, e)
	}
	if math.Abs(birch.PlainKg-22.5) > 0.5 || birch.Units != 20 || birch.Visits != 2 || birch.Seasons != 4 || birch.Last != "2029" {
		t.Errorf("Birch: %+v, want 22.5 kg a hive of 20 hives, two visits a season", birch)
	}
	for _, name := range []string{"Alder", "Mill", "Ridge"} {
		y := of(t, p, name)
		if e := y.Effect; y.Verdict != yards.Keep || e.Kg < 0 || e.Worse > 0.1 || e.KeepFromKg != nil && *e.KeepFromKg > e.Kg {
			t.Errorf("%s: %s, %+v", name, y.Verdict, e)
		}
	}
	if h := p.Held; h == nil || h.Seasons != 2 || h.Yields != 8 || h.ModelKg > h.PlainKg || h.PlainKg > h.SameKg {
		t.Errorf("held out: %+v", h)
	}
}

// What a visit costs may make a good yard a poor one: 40 kg of honey for each of 22 visits is 44 kg a hive.
func TestAYardFarAwayIsMovedForItsPetrol(t *testing.T) {
	t.Parallel()
	h := fourYears()
	price := 4.0
	p := h.ask(t, yards.Question{PricePerKg: &price, VisitCosts: "Alder:160", MoreVisits: 20}, 2030)
	if y := of(t, p, "Alder"); y.Money.Visits != 22*160 || y.Effect.NetKg != y.Effect.Kg {
		t.Errorf("%+v %+v: with the cost of one yard known, no other is cheaper", y.Money, y.Effect)
	}
	cost := 0.0
	p = h.ask(t, yards.Question{PricePerKg: &price, VisitCost: &cost, VisitCosts: "Alder:160", MoreVisits: 20}, 2030)
	alder := of(t, p, "Alder")
	// 22 x 160 / 4 / 20 = 44 kg a hive; beside a mean of 11 it is 33.
	if e := alder.Effect; alder.Verdict != yards.Move || math.Abs(e.Kg-e.NetKg-33) > 1e-9 {
		t.Errorf("Alder: %s, %+v", alder.Verdict, e)
	}
	if m := alder.Money; math.Abs(m.Honey-4*20*45*1.2) > 50 || m.Left != m.Honey-3520 {
		t.Errorf("Alder brings %+v", m)
	}
}

func TestWhatTellsNothingIsLeftOutWithWhatToEnter(t *testing.T) {
	t.Parallel()
	h := fourYears()
	h.counts(2030, "Alder", 20)
	h.counts(2030, "Birch", 0)
	h.pulls(2030, "Birch", 10, 10, 250)
	h.counts(2030, "Mill", 20)
	h.pulls(2030, "Mill", 40, 20, 500)
	h.pulls(2030, "Ridge", 40, 40, 900)
	says := func(p *yards.Plan, yard string) string {
		for _, l := range p.LeftOut {
			if l.Season == "2030" && l.Yard == yard {
				return l.Why.String()
			}
		}
		return ""
	}
	p := h.ask(t, yards.Question{}, 2031)
	for yard, want := range map[string]string{"Alder": "Enter the pull", "Birch": "says 0 hives", "Mill": "Only 20 of its 40 supers", "Ridge": "Enter a hive count"} {
		if got := says(p, yard); !strings.Contains(got, want) {
			t.Errorf("%s: %q, want a word like %q", yard, got, want)
		}
	}
	if len(p.Seasons) != 4 || p.LeftOutInAll != 4 {
		t.Errorf("%d seasons, %d left out", len(p.Seasons), p.LeftOutInAll)
	}
	h.counts(2030, "Ridge", 20)
	p = h.ask(t, yards.Question{UnpulledIsNothing: true}, 2031)
	// Alder gave 48 kg a hive in the mean of four seasons, and nothing in the fifth.
	if y := of(t, p, "Alder"); len(p.Seasons) != 5 || says(p, "Alder") != "" || y.Seasons != 5 || y.PlainKg > 44 {
		t.Errorf("%d seasons; Alder: %+v", len(p.Seasons), y)
	}
	p = h.ask(t, yards.Question{}, 2030)
	if p.LeftOutInAll != 1 || !strings.Contains(p.LeftOut[0].Why.String(), "goes on") {
		t.Errorf("of a season that goes on: %+v", p.LeftOut)
	}
}

// One season has a lucky yard and an unlucky one, and nobody knows which are good: no ranking without a band.
func TestOneSeasonTellsNoYardFromAnother(t *testing.T) {
	t.Parallel()
	h := newHouse()
	for y, name := range []string{"Alder", "Birch", "Mill", "Ridge"} {
		h.counts(2026, name, 20)
		h.pulls(2026, name, 40, 40, 800+100*float64(y))
	}
	p := h.ask(t, yards.Question{}, 2027)
	if p.Told || len(p.Says) != 1 || !strings.Contains(p.Says[0].String(), "One season cannot tell") {
		t.Fatalf("%v", p.Says)
	}
	for _, y := range p.Proposals {
		if y.Effect != nil || y.Verdict != yards.Unsure || y.PlainKg < 40 {
			t.Errorf("%+v", y)
		}
	}
	if p := newHouse().ask(t, yards.Question{}, 2027); p.Told || len(p.Proposals) != 0 || !strings.Contains(p.Says[0].String(), "No season says") {
		t.Errorf("an empty book: %+v", p.Says)
	}
}

// Where yards gave alike, or one of them a little and the others nothing, that is said, and nobody is told to move.
func TestFiguresThatTellNothingAreSaidToTellNothing(t *testing.T) {
	t.Parallel()
	alike := newHouse()
	for year := 2026; year < 2029; year++ {
		for _, name := range []string{"Alder", "Birch", "Mill", "Ridge"} {
			alike.counts(year, name, 20)
			alike.pulls(year, name, 40, 40, 800)
		}
	}
	barren := newHouse()
	for i, year := range [][]string{{"Ridge", "Alder", "Birch", "Mill"}, {"Mill", "Alder", "Birch"}} {
		for _, name := range year {
			barren.counts(2026+i, name, 1)
		}
		barren.pulls(2026+i, year[0], 1, 1, 0.001)
	}
	for says, h := range map[string]*house{"all yards gave alike": alike, "gather about no level": barren} {
		if p := h.ask(t, yards.Question{UnpulledIsNothing: true}, 2030); p.Told || len(p.Says) != 1 || !strings.Contains(p.Says[0].String(), says) {
			t.Errorf("%s: %v", says, p.Says)
		}
	}
}

// A season counts once it is over, or has been quiet; else only where that is asked for, and with a caution.
func TestASeasonThatGoesOnIsLeftOut(t *testing.T) {
	t.Parallel()
	h := fourYears()
	b, err := h.Open()
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		on         string
		unfinished bool
		seasons    int
	}{{"2029-08-20", false, 3}, {"2029-08-20", true, 4}, {"2029-11-01", false, 4}} {
		at, _ := time.Parse(time.DateOnly, test.on)
		asked, err := yards.Ask(b, yards.Question{Probability: 0.9, Unfinished: test.unfinished}, at)
		if err != nil {
			t.Fatal(err)
		}
		if len(asked.Seasons) != test.seasons || len(asked.Unfinished) > 0 != test.unfinished {
			t.Errorf("on %s, unfinished %v: %d seasons, %v go on; want %d", test.on, test.unfinished, len(asked.Seasons), asked.Unfinished, test.seasons)
		}
		if last := asked.Cautions()[len(asked.Cautions())-1].String(); test.unfinished != strings.Contains(last, "2029") {
			t.Errorf("cautions end with %q", last)
		}
	}
}

func TestYardsWithoutHiveCountsAreComparedBySupers(t *testing.T) {
	t.Parallel()
	h := newHouse()
	for year := 2026; year < 2029; year++ {
		for y, name := range []string{"Alder", "Birch", "Mill", "Ridge"} {
			h.pulls(year, name, 40, 40, float64(900-200*min(y, 1)+30*((year+y)%3)))
		}
	}
	p := h.ask(t, yards.Question{}, 2029)
	if p.Per != yards.PerSuper || !p.Told || math.Abs(of(t, p, "Alder").PlainKg-23.25) > 0.1 {
		t.Errorf("per %s: %+v", p.Per, p.Proposals)
	}
	p = h.ask(t, yards.Question{Per: yards.PerHive}, 2029)
	if p.Told || len(p.LeftOut) != 3 || !strings.Contains(p.LeftOut[0].Why.String(), "Enter a hive count of each yard") {
		t.Errorf("%v %+v", p.Says, p.LeftOut)
	}
}

func TestWhatCannotBeAskedNamesItsField(t *testing.T) {
	t.Parallel()
	b, err := fourYears().Open()
	if err != nil {
		t.Fatal(err)
	}
	price, minus := 4.0, -1.0
	for name, test := range map[string]struct {
		q     yards.Question
		field string
	}{
		"a chance of a half":       {yards.Question{Probability: 0.5}, "query:probability"},
		"a chance of one":          {yards.Question{Probability: 1}, "query:probability"},
		"a margin below nothing":   {yards.Question{Probability: 0.9, MarginKg: &minus}, "query:margin_kg"},
		"a cost and no price":      {yards.Question{Probability: 0.9, VisitCost: &price}, "query:price_per_kg"},
		"a price below nothing":    {yards.Question{Probability: 0.9, PricePerKg: &minus}, "query:price_per_kg"},
		"more visits than days":    {yards.Question{Probability: 0.9, MoreVisits: 400}, "query:more_visits"},
		"a yard that nobody knows": {yards.Question{Probability: 0.9, PricePerKg: &price, VisitCosts: "Nowhere:3"}, "query:visit_costs"},
		"a cost that is no number": {yards.Question{Probability: 0.9, PricePerKg: &price, VisitCosts: "Alder"}, "query:visit_costs"},
		"a cost that is below 0":   {yards.Question{Probability: 0.9, PricePerKg: &price, VisitCosts: "Alder:-2"}, "query:visit_costs"},
		"what nobody divides by":   {yards.Question{Probability: 0.9, Per: "acre"}, "query:per"},
	} {
		_, err := yards.Ask(b, test.q, time.Date(2030, 1, 2, 0, 0, 0, 0, time.UTC))
		f, is := err.(*fault.Error)
		if !is || len(f.Fields) != 1 || f.Fields[0].Pointer != test.field {
			t.Errorf("%s: %v, want a word about %s", name, err, test.field)
		}
	}
	if _, err := yards.Ask(b, yards.Question{Probability: 0.9, HiveCount: "at Christmas"}, time.Date(2030, 1, 2, 0, 0, 0, 0, time.UTC)); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("a count that is not there: %v", err)
	}
}

// A yard that gave next to nothing in its only season is likely poor, and still is not proposed to be moved.
func TestNoYardIsMovedForOneSeason(t *testing.T) {
	t.Parallel()
	h := fourYears()
	h.yards["Cedar"] = h.SetUp(&ledger.Yard{Name: "Cedar"})
	h.counts(2029, "Cedar", 20)
	h.pulls(2029, "Cedar", 5, 5, 100)
	p := h.ask(t, yards.Question{}, 2030)
	cedar := of(t, p, "Cedar")
	if cedar.Verdict != yards.Unsure || cedar.Seasons != 1 || cedar.Effect.Below < 0.9 || !strings.Contains(cedar.Why.String(), "one season only") {
		t.Errorf("Cedar: %s, %s, %+v", cedar.Verdict, cedar.Why, cedar.Effect)
	}
	if len(p.Next) == 0 || p.Next[0].Name != "Cedar" || !strings.Contains(p.Next[0].Said.String(), "Moving the hives of Cedar") {
		t.Errorf("next: %+v, want Cedar", p.Next)
	}
}

// Who goes by the comparison moves the hives of Birch, and has a figure of each yard that keeps its hives. Honey per super is
// no figure that a plan is held against.
func TestAComparisonCanBeGoneBy(t *testing.T) {
	t.Parallel()
	h := fourYears()
	plan := h.ask(t, yards.Question{}, 2030).Adopted("winter")
	if plan == nil || plan.Of != ledger.PlanOfYards || plan.Title != "winter" || len(plan.Steps) != 1 || plan.Steps[0].Does != ledger.PlanMoves || plan.Steps[0].AboutID != h.yards["Birch"] || len(plan.Expects) != 3 {
		t.Fatalf("%+v", plan)
	}
	// Seasons of 40, 60, 30 and 50 kg are 43.6 in the geometric mean, of which Alder gives about 1.2.
	for _, x := range plan.Expects {
		if x.Figure != ledger.PlanPerHive || x.AboutID == h.yards["Birch"] || x.At != nil || *x.Low >= x.Value || *x.High <= x.Value {
			t.Errorf("%+v", x)
		}
		if x.AboutID == h.yards["Alder"] && math.Abs(x.Value-1.2*43.6) > 2 {
			t.Errorf("Alder is expected to give %.1f kg a hive, want about 52", x.Value)
		}
	}
	bySuper := h.ask(t, yards.Question{Per: yards.PerSuper}, 2030)
	if plan := bySuper.Adopted("winter"); plan == nil || len(plan.Steps) != 1 || len(plan.Expects) != 0 {
		t.Errorf("by super: %+v, want the step alone", plan)
	}
	if plan := h.ask(t, yards.Question{}, 2027).Adopted("winter"); plan != nil {
		t.Errorf("of one season: %+v, want nothing to go by", plan)
	}
}
