package api_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/openapi"
)

func (s *shed) week(t *testing.T) (out openapi.WeekPlan) {
	t.Helper()
	return as[openapi.WeekPlan](t, s.get(t, "plans/week"))
}

// place is where an item stands that says something; -1 where none does.
func place(p openapi.WeekPlan, sort, says string) int {
	return slices.IndexFunc(p.Items, func(x openapi.WeekItem) bool { return string(x.Sort) == sort && strings.Contains(x.Do, says) })
}

// What is prepared and overdue stands before what is due later, what ferments is due today, and what nobody said a day of comes last.
// The clock stands on 22 August 2026.
func TestTheWeekPutsFirstWhatWaitsLeast(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	lots := map[any]any{}
	for _, l := range as[[]M](t, s.get(t, "lots")) {
		lots[l["code"]] = l["id"]
	}
	drum := as[[]M](t, s.get(t, "fills?limit=100"))[0]["id"]
	buyer := as[[]M](t, s.get(t, "buyers"))[0]["id"]
	s.book(t, "prepared-dispatches", M{"id": id(), "occurred_at": at(21, "16:00"), "buyer_id": buyer, "leaves_on": "2026-08-21", "containers": []any{drum}})
	s.book(t, "prepared-blends", M{"id": id(), "occurred_at": at(21, "17:00"), "title": "for the bakery", "tank_id": s.large, "takes": []M{{"from": M{"kind": "container", "id": drum}}}})
	p := s.week(t)
	load, ferment, pour := place(p, "load", "Northgate Packing"), place(p, "send", "lot WET"), place(p, "pour", "for the bakery")
	if load != 0 || ferment < load || pour < ferment {
		t.Fatalf("loading stands at %d, wet honey at %d and the blend at %d of %+v", load, ferment, pour, p.Items)
	}
	if x := p.Items[load]; x.By == nil || x.By.String() != "2026-08-21" || !strings.Contains(x.Waits, "should have left already") || x.Kg == nil || *x.Kg <= 0 {
		t.Errorf("%+v, want what should have left on the 21st, with its honey", x)
	}
	if x := p.Items[ferment]; !strings.Contains(x.Why, "wet enough to ferment") || x.By.String() != "2026-08-22" || x.ID.String() != lots["WET"] {
		t.Errorf("%+v, want the lot of 19.4 %% today", x)
	}
	for _, x := range p.Items {
		if x.Do == "" || x.Why == "" || x.Waits == "" {
			t.Errorf("%+v says too little", x)
		}
	}
	if place(p, "send", "lot DRY") >= 0 {
		t.Error("a dry lot that keeps for years has to go")
	}
	text, page := s.shows(t, "/plans")
	wants(t, "the page of plans", text, "What to do next", "Load the dispatch to Northgate Packing", "Waiting: It should have left already")
	for _, link := range []string{"/dispatches/prepared/", "/plans/blend/prepared/", "/lots/"} {
		if !strings.Contains(page, `<a href="`+link) {
			t.Errorf("nothing leads to %s", link)
		}
	}
	if text, _ := s.shows(t, "/plans", "es"); !strings.Contains(text, "Cargue el despacho a Northgate Packing") {
		t.Error("a Spanish reader is not told in Spanish")
	}
}

// An empty book has nothing to do, and says what it would need to plan.
func TestTheWeekOfANewBookSaysWhatToEnter(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	p := s.week(t)
	if len(p.Notes) == 0 {
		t.Errorf("%+v: nothing is missing", p)
	}
}
