package api_test

import (
	"fmt"
	"html"
	"math"
	"math/rand/v2"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"pullbook/api/locale"
	"pullbook/api/plans"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/yards"
	"pullbook/openapi"
)

// yardsHouse is a house with three seasons of four yards, 20 hives each. Birch Hollow gives half of what the
// others do.
func yardsHouse(t *testing.T) *shed {
	t.Helper()
	return yardsHouseOf(t, map[int]float64{2023: 40, 2024: 60, 2025: 30})
}

// yardsHouseOf is yardsHouse with what an ordinary yard gives in each season.
func yardsHouseOf(t *testing.T, levels map[int]float64) *shed {
	t.Helper()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	yards := map[string]string{}
	for _, name := range []string{"Cedar Flat", "Dogwood", "Elm Bank", "Fir Slope"} {
		yards[name] = s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": name}).ID
	}
	for year, level := range levels {
		s.book(t, "seasons", M{"id": id(), "occurred_at": at(1, "8:00"), "name": fmt.Sprint(year), "first": fmt.Sprintf("%d-01-01", year), "last": fmt.Sprintf("%d-12-31", year)})
		for name, share := range map[string]float64{"Cedar Flat": 1.2, "Dogwood": 0.5, "Elm Bank": 1.15, "Fir Slope": 1.15} {
			s.gives(t, year, name, yards[name], level*share*(1+0.03*float64((year+len(name))%3-1)))
		}
	}
	return s
}

// gives has 20 hives of a yard counted, pulled and extracted in an August: so much honey a hive.
func (s *shed) gives(t *testing.T, year int, name, yard string, kg float64) {
	t.Helper()
	when := func(hour int) string { return fmt.Sprintf("%d-08-10T%02d:00:00-06:00", year, hour) }
	s.book(t, "hive-counts", M{"id": id(), "occurred_at": when(6), "yard_id": yard, "name": "main flow", "hives": 20})
	pull := s.book(t, "pulls", M{"id": id(), "occurred_at": when(8), "yard_id": yard, "supers": []M{{"super_kind_id": s.deep, "supers": 50}}}).ID
	run := s.book(t, "runs", M{"id": id(), "occurred_at": when(9), "name": name}).ID
	s.book(t, "run-supers", M{"id": id(), "occurred_at": when(10), "run_id": run, "pull_id": pull, "super_kind_id": s.deep, "supers": 50})
	s.book(t, "movements", M{"id": id(), "occurred_at": when(11), "from": M{"kind": "run", "id": run}, "to": M{"kind": "tank", "id": s.large}, "mass_kg": 20 * kg})
}

func (s *shed) yardsPlan(t *testing.T, query string) openapi.YardsPlan {
	t.Helper()
	return as[openapi.YardsPlan](t, s.get(t, "plans/yards?on=2026-01-15&"+query))
}

func TestAYardThatGivesHalfIsProposedToBeMoved(t *testing.T) {
	t.Parallel()
	s := yardsHouse(t)
	p := s.yardsPlan(t, "")
	if !p.Told || p.Per != "hive" || len(p.Yards) != 4 || len(p.Seasons) != 3 || p.HeldOut == nil || len(p.Cautions) < 3 {
		t.Fatalf("%+v", p)
	}
	if math.Abs(*p.OrdinaryKg-43.3) > 1.5 || math.Abs(*p.Seasons[1].Kg-60) > 2 {
		t.Errorf("the average yard gives %v, in 2024 %v, want about 43 and 60", *p.OrdinaryKg, *p.Seasons[1].Kg)
	}
	for _, y := range p.Yards {
		want := openapi.YardProposalVerdictKeep
		if y.Name == "Dogwood" {
			want = openapi.YardProposalVerdictMove
		}
		if y.Verdict != want || y.Effect == nil || y.Effect.LowKg >= y.Effect.Kg || y.Effect.HighKg <= y.Effect.Kg || y.Money != nil {
			t.Errorf("%s: %s, %+v, want %s with a band", y.Name, y.Verdict, y.Effect, want)
		}
	}
	p = s.yardsPlan(t, "price_per_kg=4&visit_cost=10&visit_costs=Fir%20Slope:150&more_visits=30")
	fir := p.Yards[3]
	if fir.Name != "Fir Slope" || fir.Verdict != openapi.YardProposalVerdictMove || fir.Money == nil || fir.Money.Visits != 31*150 || fir.Effect.NetKg >= fir.Effect.Kg-20 {
		t.Errorf("%s: %s %+v %+v, want it moved for 31 visits of 150", fir.Name, fir.Verdict, fir.Effect, fir.Money)
	}
}

// The shed's own season goes on in August: it counts where that is asked for, and what is missing is said.
func TestASeasonThatTellsNothingSaysWhatToEnter(t *testing.T) {
	t.Parallel()
	s := yardsHouse(t)
	goesOn := func(p openapi.YardsPlan) (says []string) {
		for _, l := range p.LeftOut {
			says = append(says, l.Season+": "+l.Why)
		}
		return says
	}
	if says := goesOn(as[openapi.YardsPlan](t, s.get(t, "plans/yards"))); len(says) != 1 || !strings.Contains(says[0], "goes on") {
		t.Errorf("%v, want that the season goes on", says)
	}
	if says := goesOn(as[openapi.YardsPlan](t, s.get(t, "plans/yards?unfinished=true"))); len(says) == 0 || !strings.Contains(says[0], "Enter a hive count") {
		t.Errorf("%v, want that hives were not counted", says)
	}
	empty := openHouse(t).newOutfit(t, "Birch Valley")
	p := as[openapi.YardsPlan](t, empty.get(t, "plans/yards"))
	if p.Told || len(p.Yards) != 0 || len(p.Says) != 1 || !strings.Contains(p.Says[0], "No season says") {
		t.Errorf("of an empty book: %+v", p)
	}
}

func TestYardsThatCannotBeComparedSoAreRefused(t *testing.T) {
	t.Parallel()
	s := yardsHouse(t)
	for query, where := range map[string]string{
		"per=acre": "per", "probability=0.5": "probability", "probability=1": "probability", "probability=most": "probability", "margin_kg=-1": "margin_kg",
		"visit_cost=3": "price_per_kg", "price_per_kg=0": "price_per_kg", "price_per_kg=4&visit_costs=Nowhere:3": "visit_costs",
		"price_per_kg=4&visit_costs=Dogwood": "visit_costs", "more_visits=400": "more_visits", "unfinished=perhaps": "unfinished",
	} {
		r := s.send(t, http.MethodGet, "/v1/plans/yards?"+query, s.reader, nil)
		if p := as[problem](t, r); r.status != http.StatusUnprocessableEntity && r.status != http.StatusBadRequest || len(p.Errors) == 0 || !strings.Contains(fmt.Sprint(p.Errors[0]), where) {
			t.Errorf("%s: %d %s, want a word about %s", query, r.status, r.raw, where)
		}
	}
	if r := s.send(t, http.MethodGet, "/v1/plans/yards?hive_count=at%20Christmas", s.reader, nil); r.status != http.StatusNotFound || !strings.Contains(string(r.raw), "main flow") {
		t.Errorf("a count that is not there: %d %s, want those that are", r.status, r.raw)
	}
}

func TestThePageOfYardsSaysWhatTheContractSays(t *testing.T) {
	t.Parallel()
	s := yardsHouse(t)
	// The shed's clock stands in August 2026: three seasons are over.
	text, page := s.shows(t, "/plans/yards")
	wants(t, "the page of yards", text, "Yards to keep: 3. Yards to move: 1.", "the average yard in the average of the seasons", "Dogwood", "→ move", "✓ keep", "Why, yard by yard", "Next season: ", "What was left out", "goes on", "Take care")
	if strings.Contains(page, "aria-invalid") {
		t.Error("something is wrong with a comparison that nobody changed")
	}
	drawing := regexp.MustCompile(`src="(/plans/yards/drawing\.svg[^"]*)"`).FindStringSubmatch(page)
	if drawing == nil {
		t.Fatal("no drawing")
	}
	for _, form := range []string{"", "&form=narrow"} {
		if _, svg := s.shows(t, html.UnescapeString(drawing[1])+form); !strings.Contains(svg, "Fir Slope") || !strings.HasPrefix(svg, "<?xml") {
			t.Errorf("the drawing begins %.200s", svg)
		}
	}
	plan := s.yardsPlan(t, "")
	text, _ = s.shows(t, "/plans/yards?ask=yards&probability=0.9&price_per_kg=4&visit_cost=10&more_visits=30&visit-"+plan.Yards[3].ID.String()+"=150")
	// 31 visits of 150.
	wants(t, "the page with visits", text, "Yards to move: 2.", "visits cost", "4,650", "What visits cost is counted as honey")
	// A count in spring of half as many hives makes twice the honey of each.
	for _, y := range plan.Yards {
		s.book(t, "hive-counts", M{"id": id(), "occurred_at": "2024-04-10T09:00:00-06:00", "yard_id": y.ID, "name": "spring", "hives": 10})
		s.book(t, "hive-counts", M{"id": id(), "occurred_at": "2025-04-10T09:00:00-06:00", "yard_id": y.ID, "name": "spring", "hives": 10})
	}
	text, page = s.shows(t, "/plans/yards?ask=yards&probability=0.9&hive_count=spring")
	wants(t, "the page by the count in spring", text, "90 kg per hive, the average yard", "2023", "No hives were counted")
	if !strings.Contains(page, `<option value="spring" selected>`) || !strings.Contains(page, `<option value="main flow">`) {
		t.Error("the page does not offer the counts that there are")
	}
	if text, _ := s.shows(t, "/plans/yards", "es"); !strings.Contains(text, "Colmenares que conservar: 3.") || !strings.Contains(text, "→ trasladar") {
		t.Error("a Spanish reader is not told in Spanish")
	}
	if text, _ := s.shows(t, "/plans"); !strings.Contains(text, "Which yard is worth its petrol") {
		t.Error("the plans do not lead to yards")
	}
	for query, says := range map[string]string{
		"visit_cost=10": "say what a kilogram of honey brings", "price_per_kg=many": "is not a number", "price_per_kg=-1": "above 0 and up to", "margin_kg=-2": "from 0 to 1,000", "more_visits=999": "from 0 to 366",
		"price_per_kg=4&visit-" + plan.Yards[3].ID.String() + "=some": "is not a number",
	} {
		text, page := s.shows(t, "/plans/yards?ask=yards&probability=0.9&"+query)
		if !strings.Contains(text, says) || strings.Contains(text, "Yards to keep") || !strings.Contains(page, "aria-invalid") && !strings.Contains(page, `role="alert"`) {
			t.Errorf("%s: not %q", query, says)
		}
	}
	if status, _ := fetch(t, s.browsing(t), s.url+"/plans/yards/drawing.svg?ask=yards&probability=1"); status != http.StatusNotFound {
		t.Errorf("a drawing of what cannot be asked answered %d", status)
	}
}

// A manager goes by the comparison: the hives of the poor yard are to be moved, and the others are expected to give what
// they do in a season that may be good or poor. A year later the book says which came true. Three seasons of 40, 60 and 30 kg
// are 41.6 in the geometric mean, of which Cedar Flat gives about 1.2.
func TestAPlanOfYardsIsHeldAgainstTheNextSeason(t *testing.T) {
	t.Parallel()
	s := yardsHouse(t)
	entry := s.adopt(t, "/plans/yards?ask=yards&probability=0.9", "")
	adopted := as[[]openapi.AdoptedPlan](t, s.get(t, "adopted-plans"))
	if len(adopted) != 1 || adopted[0].ID.String() != entry || adopted[0].Of != openapi.PlanOfYards || len(*adopted[0].Steps) != 1 || len(*adopted[0].Expects) != 3 {
		t.Fatalf("%+v, want one yard to move and three that are expected to give something", adopted)
	}
	proposed := s.yardsPlan(t, "")
	yard := map[string]openapi.YardProposal{}
	for _, y := range proposed.Yards {
		yard[y.Name] = y
	}
	if next := yard["Cedar Flat"].NextSeason; math.Abs(next.Kg-1.2*41.6) > 3 || next.LowKg > 25 || next.HighKg < 80 {
		t.Errorf("Cedar Flat is expected to give %+v", next)
	}
	for _, path := range []string{"/plans/adopted/" + entry + "/blank", "/plans/yards/blank"} {
		sheet, _ := s.shows(t, path)
		wants(t, "the sheet", sheet, "Move the hives of Dogwood", "honey per hive of Cedar Flat in the next season")
	}

	// The same plan, adopted in the winter before a season that is in the book.
	before := id()
	s.book(t, "adopted-plans", M{"id": before, "occurred_at": "2025-12-20T09:00:00-06:00", "title": "winter", "of": "yards", "steps": adopted[0].Steps, "expects": adopted[0].Expects})
	held := func() openapi.HeldPlan { return as[openapi.HeldPlan](t, s.get(t, "plans/adopted/"+before)) }
	if p := held(); p.Steps[0].State != openapi.StepLeft || p.Figures[0].Came != nil || !p.Figures[0].Open {
		t.Errorf("before anything came of it: %+v", p)
	}
	s.book(t, "hive-counts", M{"id": id(), "occurred_at": "2026-04-10T09:00:00-06:00", "yard_id": yard["Dogwood"].ID, "name": "moved", "hives": 0})
	s.gives(t, 2026, "Cedar Flat", yard["Cedar Flat"].ID.String(), 52)
	s.gives(t, 2026, "Elm Bank", yard["Elm Bank"].ID.String(), 5)
	s.book(t, "seasons", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "2026", "first": "2026-01-01", "last": "2026-08-15", "replaces": s.season, "reason": "it is over"})
	p := held()
	if p.Steps[0].State != openapi.StepDone || p.Steps[0].About != "Dogwood" {
		t.Errorf("%+v, want the hives of Dogwood moved", p.Steps)
	}
	for _, f := range p.Figures {
		out := f.Outside != nil && *f.Outside
		switch {
		case f.Open:
			t.Errorf("%s may still change after its season: %+v", *f.About, f)
		case *f.About == "Fir Slope" && f.Came != nil:
			t.Errorf("Fir Slope gave %v, of which the book knows nothing", *f.Came)
		case *f.About == "Cedar Flat" && (f.Came == nil || math.Abs(*f.Came-52) > 1e-6 || out):
			t.Errorf("%+v, want 52 kg a hive of Cedar Flat, as expected", f)
		case *f.About == "Elm Bank" && (f.Came == nil || math.Abs(*f.Came-5) > 1e-6 || !out || *f.Chance > 0.05):
			t.Errorf("%+v, want 5 kg a hive of Elm Bank, which is hardly chance", f)
		}
	}
}

// A workbook of yards reckons what the service says, by formulas alone, also of a yard that was not there in each season; and
// where somebody types twice the honey into a season, it reckons what the service says of a book with that honey.
func TestAWorkbookOfYardsReckonsAsTheServiceDoes(t *testing.T) {
	t.Parallel()
	house := func(of2024 float64) *shed {
		s := yardsHouseOf(t, map[int]float64{2023: 40, 2024: of2024, 2025: 30})
		gorse := s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Gorse"}).ID
		s.gives(t, 2024, "Gorse", gorse, of2024*0.8)
		s.gives(t, 2025, "Gorse", gorse, 20)
		return s
	}
	s := house(60)
	const asked = "probability=0.9&price_per_kg=4&visit_cost=10&more_visits=3"
	book := s.workbook(t, "/plans/yards/yards.xlsx?ask=yards&"+asked)
	agrees := func(rows [][]string, p openapi.YardsPlan) {
		t.Helper()
		if got := cellOf(t, rows, "The average yard gives", 1); math.Abs(got-*p.OrdinaryKg) > 0.1 {
			t.Errorf("the average yard gives %v by the workbook, %v by the service", got, *p.OrdinaryKg)
		}
		for _, y := range p.Yards {
			for column, want := range map[int]float64{4: y.PlainKg, 5: y.Effect.Kg, 8: y.Money.Honey, 9: y.Money.Visits, 10: y.Money.Left} {
				got, off := cellOf(t, rows, y.Name, column), 0.011
				if column == 5 {
					off = 0.1
				}
				if column == 4 {
					off = 0.051
				}
				if math.Abs(got-want) > off {
					t.Errorf("%s, column %d: %v by the workbook, %v by the service", y.Name, column, got, want)
				}
			}
		}
	}
	agrees(reckonedCells(t, book), s.yardsPlan(t, asked))
	plan := s.yardsPlan(t, asked)
	var twice []typed
	rows := reckonedCells(t, book)
	for _, y := range plan.Yards {
		twice = append(twice, typed{y.Name, 2, 2 * cellOf(t, rows, y.Name, 2)})
	}
	agrees(reckonedCells(t, book, twice...), house(120).yardsPlan(t, asked))
	changed := reckonedCells(t, book, typed{"Fir Slope", 7, 25}, typed{"A kg of honey brings", 1, 8})
	fir := plan.Yards[3]
	for column, want := range map[int]float64{8: 2 * fir.Money.Honey, 9: 4 * 25, 10: 2*fir.Money.Honey - 100} {
		if got := cellOf(t, changed, "Fir Slope", column); math.Abs(got-want) > 0.02 {
			t.Errorf("with another price, column %d: %v, want %v", column, got, want)
		}
	}
	if status, _ := fetch(t, s.browsing(t), s.url+"/plans/yards/yards.xlsx?ask=yards&probability=1"); status != http.StatusNotFound {
		t.Errorf("a workbook of what cannot be asked answered %d", status)
	}
}

// Also where hives and kinds of super are told apart from the yards, and in pounds, formulas alone come to what the service says: of 14
// yards in six seasons, a fifth of which are missing.
func TestAWorkbookOfYardsTellsHivesAndBoxesApart(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(21, 1))
	deep, shallow := ledger.ID{1}, ledger.ID{2}
	a := &yards.Asked{Per: yards.PerHive, Question: yards.Question{Probability: yards.DefaultProbability}}
	for s := range 6 {
		a.Seasons = append(a.Seasons, yards.Season{ID: ledger.ID{8, byte(s)}, Name: fmt.Sprint(2020 + s)})
	}
	for y := range 14 {
		a.Yards = append(a.Yards, yards.Yard{ID: ledger.ID{9, byte(y)}, Name: fmt.Sprintf("Yard %02d", y)})
		for s := range a.Seasons {
			hives, shallows := 10+r.IntN(40), r.IntN(11)
			kg := (30 + 10*float64(s)) * (1 + 0.02*float64(y-7) - 0.1*math.Log2(float64(hives)/26) + 0.2*r.NormFloat64())
			if r.Float64() < 0.8 {
				a.Observations = append(a.Observations, yards.Observation{Yard: y, Season: s, Kg: kg, Units: float64(hives), HoneyKg: kg * float64(hives), Visits: 2, Supers: map[ledger.ID]int{deep: 10 - shallows, shallow: shallows}})
			}
		}
	}
	p := a.Plan()
	if !p.Told || len(p.Adjusted) == 0 {
		t.Fatalf("told %v, told apart %+v", p.Told, p.Adjusted)
	}
	file, err := plans.YardsWorkbook(locale.NewVoice(locale.LanguageFor("en-US"), "us", time.UTC), p)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	body, err := file.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	rows := reckonedCells(t, body.Bytes())
	for _, y := range p.Proposals {
		if got, want := cellOf(t, rows, y.Name, 8), y.Effect.Kg/0.45359237; math.Abs(got-want) > 0.15 {
			t.Errorf("%s: %v lb by the workbook, %.3f lb by the service", y.Name, got, want)
		}
	}
}
