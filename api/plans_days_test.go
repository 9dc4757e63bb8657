package api_test

import (
	"fmt"
	"html"
	"math"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"pullbook/openapi"
)

// daysHouse is a house that extracted its first 40 supers in four hours and ten minutes, with 25
// kg each. Its other yard has as many hives, and 30 supers stand in the hot room.
func daysHouse(t *testing.T) *shed {
	t.Helper()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for _, yard := range []string{s.alder, s.birch} {
		s.book(t, "hive-counts", M{"id": id(), "occurred_at": at(2, "9:00"), "yard_id": yard, "name": "main flow", "hives": 20})
	}
	s.book(t, "run-ends", M{"id": id(), "occurred_at": at(21, "12:10"), "run_id": s.run})
	s.book(t, "pulls", s.aPull("occurred_at", at(21, "15:00"), "supers", []M{{"super_kind_id": s.deep, "supers": 30}}, "room_id", s.room))
	return s
}

func (s *shed) days(t *testing.T, query string) openapi.DaysPlan {
	t.Helper()
	return as[openapi.DaysPlan](t, s.get(t, "plans/days?"+query))
}

// basisOf is a figure that an answer rests on.
func basisOf(t *testing.T, p openapi.DaysPlan, what string) openapi.DaysBasis {
	t.Helper()
	for _, b := range p.Basis {
		if b.What == what {
			return b
		}
	}
	t.Fatalf("nothing is said of %s: %+v", what, p.Basis)
	return openapi.DaysBasis{}
}

func TestTheDaysLeftRestOnTheBook(t *testing.T) {
	t.Parallel()
	s := daysHouse(t)
	p := s.days(t, "")
	// 70 supers were pulled of 20 hives: the other 20 have as many out.
	if b := basisOf(t, p, "supers still on the yards"); b.Value != 70 || !strings.Contains(b.From, "not pulled yet") {
		t.Errorf("%+v, want 70 supers of the yard that was not pulled yet", b)
	}
	if p.WaitingSupers != 30 || len(p.Yards) != 1 || p.Yards[0].Yard != "Birch Hollow" || p.Yards[0].LastPulledAt != nil {
		t.Errorf("%d wait, next %+v; want 30, and Birch Hollow", p.WaitingSupers, p.Yards)
	}
	if b := basisOf(t, p, "supers extracted in an hour"); math.Abs(b.Value-9.6) > 1e-9 {
		t.Errorf("%+v, want 40 supers in 4 h 10 min", b)
	}
	if p.Ends.Low.After(p.Ends.Middle) || p.Ends.Middle.After(p.Ends.High) || !p.Ends.Middle.After(p.Extracted.Middle) || !p.Extracted.Middle.After(p.From) {
		t.Errorf("extracted %+v, in drums %+v, from %s", p.Extracted, p.Ends, p.From)
	}
	if p.DrumsToOrder != nil || len(p.Cautions) == 0 || len(p.More) != 5 || len(p.Turns) != 3 {
		t.Errorf("to order %+v; %d cautions, %d savings, %d turns", p.DrumsToOrder, len(p.Cautions), len(p.More), len(p.Turns))
	}
	again := s.get(t, "plans/days?evening_hours=0")
	if q := as[openapi.DaysPlan](t, again); q.Says != p.Says || q.Drums != p.Drums {
		t.Errorf("asked again: %s; %s", q.Says, p.Says)
	}
}

// What somebody knows better than the book stands in for it, and is said to.
func TestWhatSomebodyKnowsBetterIsPlayedWith(t *testing.T) {
	t.Parallel()
	s := daysHouse(t)
	none := s.days(t, "supers_out=0&drums_on_hand=0")
	if none.SupersOut.High != 0 || len(none.Yards) != 0 || none.DrumsToOrder == nil || none.DrumsToOrder.Middle != none.Drums.Middle {
		t.Errorf("%+v: want nothing out, and all drums to be ordered", none)
	}
	if last := none.Binds[0]; last.What != "drums" || len(none.More) != 6 || none.More[0].What != "ten_drums" {
		t.Errorf("held up by %+v, first %+v: want no drum for the first honey, and ten to help the most", last, none.More[0])
	}
	coming := s.days(t, "supers_out=0&drums_on_hand=0&drums_arriving=100&drums_in_days=1")
	if !coming.Ends.Middle.Before(none.Ends.Middle) || coming.DrumsToOrder.High != 0 {
		t.Errorf("with 100 that come tomorrow it ends at %s and takes %+v to order, without at %s", coming.Ends.Middle, coming.DrumsToOrder, none.Ends.Middle)
	}
	many := s.days(t, "supers_out=600&drums_on_hand=10000")
	if many.SupersOut.Middle < 500 || many.SupersOut.Middle > 700 || !many.Ends.Middle.After(none.Ends.Middle) || many.DrumsToOrder.High != 0 {
		t.Errorf("%+v: want some 600 supers out, a later end, and no drum to order", many)
	}
	if b := basisOf(t, many, "supers still on the yards"); b.Value != 600 || b.From != "as it was asked" {
		t.Errorf("%+v", b)
	}
	fast := s.days(t, "supers_out=600&supers_an_hour=100&evening_hours=4&hot_room_supers=900")
	if fast.Ends.Middle.After(many.Ends.Middle) || fast.WorkedHours.Middle > many.WorkedHours.Middle/5 {
		t.Errorf("ten times as fast %+v, else %+v", fast.Ends, many.Ends)
	}
	earlier := s.send(t, http.MethodGet, "/v1/plans/days?on=2026-08-20", s.reader, nil)
	if p := as[problem](t, earlier); earlier.status != http.StatusUnprocessableEntity || !strings.Contains(fmt.Sprint(p), "supers go through the line") {
		t.Errorf("before the first run: %d %s", earlier.status, earlier.raw)
	}
}

func TestDaysThatCannotBeToldAreOneSentence(t *testing.T) {
	t.Parallel()
	s := daysHouse(t)
	for query, where := range map[string]string{
		"supers_out=-1": "supers_out", "supers_out=50001": "supers_out", "supers_out=some": "supers_out", "hot_room_supers=0": "hot_room_supers",
		"supers_an_hour=0": "supers_an_hour", "drums_on_hand=1.5": "drums_on_hand", "drums_on_hand=1&drums_arriving=5": "drums_in_days", "evening_hours=9": "evening_hours", "on=yesterday": "on", "as_of=9999": "as_of",
	} {
		r := s.send(t, http.MethodGet, "/v1/plans/days?"+query, s.reader, nil)
		if p := as[problem](t, r); r.status != http.StatusUnprocessableEntity && r.status != http.StatusBadRequest || len(p.Errors) == 0 || !strings.Contains(fmt.Sprint(p.Errors[0]), where) {
			t.Errorf("%s: %d %s, want a word about %s", query, r.status, r.raw, where)
		}
	}
	empty := s.honeyHouse.newOutfit(t, "Two Rivers Honey")
	for _, step := range []struct{ says, then string }{{"set up the season", "seasons"}, {"record the first pull", ""}} {
		if r := empty.send(t, http.MethodGet, "/v1/plans/days", empty.reader, nil); r.status != http.StatusNotFound || !strings.Contains(string(r.raw), step.says) {
			t.Errorf("%d %s, want a word of %q", r.status, r.raw, step.says)
		}
		if step.then != "" {
			empty.book(t, step.then, M{"id": id(), "occurred_at": at(1, "8:00"), "name": "2026", "first": "2026-01-01", "last": "2026-12-31"})
		}
	}
}

// A manager goes by what is left of the season. The supers of a yard that are pulled then, and those that are extracted,
// stand beside what was expected; drums to order are on the sheet.
func TestAManagerGoesByTheDaysLeft(t *testing.T) {
	t.Parallel()
	s := daysHouse(t)
	const asked = "/plans/days?ask=days&drums_on_hand=0"
	_, page := s.shows(t, asked)
	link := regexp.MustCompile(`href="(/plans/days/blank\?[^"]+)"`).FindStringSubmatch(page)
	if link == nil {
		t.Fatal("no sheet to work from")
	}
	sheet, _ := s.shows(t, html.UnescapeString(link[1]))
	wants(t, "the sheet", sheet, "The rest of season 2026", "Birch Hollow", "70", "Order ", "What is expected")
	entry := s.adopt(t, asked, "")
	shed := as[openapi.ShedReport](t, s.get(t, "reports/shed"))
	if len(shed.Plans) != 1 || len(shed.Plans[0].Steps) != 1 || shed.Plans[0].Steps[0].About != "Birch Hollow" {
		t.Fatalf("on Record: %+v", shed.Plans)
	}
	plan := as[openapi.HeldPlan](t, s.get(t, "plans/adopted/"+entry))
	if first := plan.Steps[0]; *first.Planned.Count != 70 || first.State != openapi.StepLeft || plan.Note == nil || !strings.HasPrefix(*plan.Note, "Order ") {
		t.Errorf("%+v, %v", first, plan.Note)
	}
	s.book(t, "pulls", s.aPull("occurred_at", at(22, "13:00"), "yard_id", s.birch, "supers", []M{{"super_kind_id": s.deep, "supers": 30}}, "room_id", s.room))
	plan = as[openapi.HeldPlan](t, s.get(t, "plans/adopted/"+entry))
	if first := plan.Steps[0]; first.State != openapi.StepBegun || *first.Count != 30 {
		t.Errorf("30 of 70 pulled: %+v", first)
	}
	s.book(t, "pulls", s.aPull("occurred_at", at(22, "13:00"), "yard_id", s.birch, "supers", []M{{"super_kind_id": s.deep, "supers": 40}}, "room_id", s.room))
	plan = as[openapi.HeldPlan](t, s.get(t, "plans/adopted/"+entry))
	if first := plan.Steps[0]; first.State != openapi.StepDone || len(*first.By) != 2 {
		t.Errorf("all 70 pulled: %+v", first)
	}
	text, _ := s.shows(t, "/plans/adopted/"+entry)
	wants(t, "the plan gone by", text, "0 steps left", "supers extracted since then", "not known yet")
	if p := s.days(t, "drums_on_hand=0"); len(p.Calendar) == 0 || p.Calendar[0].On.Time.After(p.Ends.Middle) {
		t.Errorf("day by day: %+v", p.Calendar)
	}
}

// The workbook reckons plainly what the service's rule of thumb says, and what somebody types moves it, as it moves the
// service: half as many supers out, a line twice as fast, more drums on hand.
func TestTheWorkbookOfDaysLeftReckons(t *testing.T) {
	t.Parallel()
	s := daysHouse(t)
	const asked = "ask=days&supers_out=600&drums_on_hand=10"
	_, page := s.shows(t, "/plans/days?"+asked)
	if !strings.Contains(page, "/plans/days/days.xlsx?") {
		t.Error("the page has no link to the workbook")
	}
	book := s.workbook(t, "/plans/days/days.xlsx?"+asked)
	rows := reckonedCells(t, book)
	near := func(what string, rows [][]string, name string, column int, want float64) {
		t.Helper()
		if got := cellOf(t, rows, name, column); math.Abs(got-want) > 0.01 {
			t.Errorf("%s: %s is %g, want %g", what, name, got, want)
		}
	}
	p := s.days(t, "supers_out=600&drums_on_hand=10")
	// 600 supers are out and 30 in the hot room; 9.6 of them take an hour.
	near("as it was", rows, "Days left at the pace so far", 1, p.ByThumbDays)
	near("as it was", rows, "Hours that the line runs", 1, 630/9.6)
	near("as it was", rows, "Drums, or what is filled most", 3, p.Drums.Middle)
	drums := func(left float64) float64 {
		drum, share := 295.0, 1.0
		for _, b := range p.Basis {
			if strings.HasPrefix(b.What, "honey in a container") {
				drum = b.Value
			}
			if strings.HasPrefix(b.What, "part of the honey") {
				share = b.Value / 100
			}
		}
		return math.Ceil((p.InTanksKg + left*basisOf(t, p, "honey from a super").Value) * share / drum)
	}
	near("as it was", rows, "Drums, or what is filled most", 1, drums(630))
	near("as it was", rows, "To order", 1, drums(630)-10)
	extracted := 0.0
	for _, d := range p.Calendar {
		extracted += d.Extracted
	}
	if last := rows[len(rows)-1]; len(p.Calendar) == 0 || !strings.HasPrefix(last[0], p.Calendar[len(p.Calendar)-1].On.String()) {
		t.Errorf("the last day is %q, want %v", last, p.Calendar)
	} else {
		near("day by day", rows, last[0], 3, extracted)
	}
	half := s.days(t, "supers_out=300&drums_on_hand=25&supers_an_hour=19.2")
	rows = reckonedCells(t, book, typed{"Supers still on the yards", 1, 300}, typed{"Supers extracted in an hour", 1, 19.2}, typed{"Empty ones on hand", 1, 25})
	near("half as many", rows, "Days left at the pace so far", 1, half.ByThumbDays)
	near("half as many", rows, "Hours that the line runs", 1, 330/19.2)
	near("half as many", rows, "To order", 1, max(0, drums(330)-25))
	near("half as many", rows, "Drums, or what is filled most", 3, p.Drums.Middle)
	spanish, _ := s.shows(t, "/plans/days?"+asked, "es")
	wants(t, "in Spanish", spanish, "Libro de cálculo", "Para trabajar con él")
	if status, _ := fetch(t, s.browsing(t), s.url+"/plans/days/days.xlsx?ask=days&supers_out=many"); status != http.StatusNotFound {
		t.Errorf("a workbook of what cannot be told: %d", status)
	}
}

func TestThePageTellsTheDaysThatTheContractTells(t *testing.T) {
	t.Parallel()
	s := daysHouse(t)
	const asked = "/plans/days?ask=days&supers_out=600&drums_on_hand=10"
	text, page := s.shows(t, asked)
	p := s.days(t, "supers_out=600&drums_on_hand=10")
	beforeDay := func(says string) string { return strings.Split(says, " about ")[0] } // a page writes days otherwise
	wants(t, "the page of days left", text, beforeDay(p.Says), p.DrumsSay, beforeDay(p.Binds[0].Says), p.More[0].Says, p.Turns[0].Says, p.Yards[0].Says, "Supers still on the yards", "as it was asked", "Take care", "not known")
	drawing := regexp.MustCompile(`src="(/plans/days/drawing\.svg\?[^"]+)"`).FindStringSubmatch(page)
	if drawing == nil {
		t.Fatal("no drawing")
	}
	if _, svg := s.shows(t, html.UnescapeString(drawing[1])); !strings.Contains(svg, "of a hundred") || !strings.HasPrefix(svg, "<?xml") {
		t.Errorf("the drawing begins %.200s", svg)
	}
	if text, _ := s.shows(t, asked, "es"); !strings.Contains(text, "La última miel de la temporada 2026") {
		t.Error("a Spanish reader is not told in Spanish")
	}
	if text, _ := s.shows(t, "/plans"); !strings.Contains(text, "Days left") {
		t.Error("the plans do not lead to the days left")
	}
	for query, says := range map[string]string{"supers_out=many": "is not a number", "supers_out=1.5": "This is a whole number", "supers_an_hour=0": "above 0", "evening_hours=9": "from 0 to 8 hours"} {
		if text, page := s.shows(t, "/plans/days?ask=days&"+query); !strings.Contains(text, says) || strings.Contains(text, "When it ends") || !strings.Contains(page, "aria-invalid") {
			t.Errorf("%s: not %q", query, says)
		}
	}
}
