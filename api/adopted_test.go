package api_test

import (
	"fmt"
	"html"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pullbook/api/request"
	"pullbook/openapi"
)

// adopt has a manager go by the plan of a page, and returns the entry's id.
func (s *shed) adopt(t *testing.T, page, title string) string {
	t.Helper()
	_, body := s.shows(t, page)
	shown := regexp.MustCompile(`name="plan" value="([^"]+)"`).FindStringSubmatch(body)
	if shown == nil {
		t.Fatalf("a manager cannot go by the plan of %s", page)
	}
	plan := html.UnescapeString(shown[1])
	// Somebody records while the page is looked at, and goes by what it showed.
	s.post(t, "buyers", M{"id": id(), "occurred_at": clock, "name": "A buyer " + id()})
	entry, client := id(), s.browsing(t)
	var both sync.WaitGroup
	for range 2 { // a button is touched twice
		both.Go(func() {
			response, err := client.PostForm(s.url+"/plans/adopt", url.Values{"id": {entry}, "title": {title}, "plan": {plan}})
			if err != nil {
				t.Error(err)
				return
			}
			response.Body.Close()
			if response.StatusCode != http.StatusOK || !strings.HasSuffix(response.Request.URL.Path, "/plans/adopted/"+entry) {
				t.Errorf("sent to %s with %s", response.Request.URL, response.Status)
			}
		})
	}
	both.Wait()
	for _, other := range []string{"", "null", "{", `{"title":"x","of":"warming","steps":"many"}`} {
		response, err := s.browsing(t).PostForm(s.url+"/plans/adopt", url.Values{"id": {id()}, "plan": {other}})
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		if response.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("somebody goes by %q: %s", other, response.Status)
		}
	}
	return entry
}

// A manager goes by the best warming: its set points wait on Record and on a sheet. Nothing is warmed by it.
func TestAManagerGoesByAWarming(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	best := s.warming(t, "tank=warmer&to=liquid&"+byHour(48)).Choices[0]
	blank := regexp.MustCompile(`href="(/plans/warming/blank\?[^"]+)"`)
	_, page := s.shows(t, askWarmingPlan+warmer)
	link := blank.FindStringSubmatch(page)
	if link == nil {
		t.Fatal("no sheet to work from")
	}
	sheet, _ := s.shows(t, html.UnescapeString(link[1]))
	wants(t, "the sheet", sheet, "Warm warmer until", fmt.Sprintf("Set the heater of warmer to %d", *best.HottestC), "HMF of warmer", "mg/kg", "What is expected")
	entry := s.adopt(t, askWarmingPlan+warmer, "")
	shed := as[openapi.ShedReport](t, s.get(t, "reports/shed"))
	if len(shed.Plans) != 1 || len(shed.Plans[0].Steps) != len(best.Steps) || shed.Plans[0].Steps[0].About != "warmer" || shed.Plans[0].Steps[0].Does != openapi.ShedHeats {
		t.Fatalf("on Record: %+v", shed.Plans)
	}
	if at := shed.Plans[0].Steps[0].At; at == nil || at.After(clock) {
		t.Errorf("whoever goes by it has to wait until %v", at)
	}
	text, _ := s.shows(t, "/plans/adopted/"+entry)
	wants(t, "the plan gone by", text, fmt.Sprintf("%d steps left", len(best.Steps)), "left to do", "not known yet", "Record a step")
	again, _ := s.shows(t, "/plans/adopted/"+entry+"/blank")
	wants(t, "the sheet once more", again, fmt.Sprintf("Set the heater of warmer to %d", *best.HottestC))
	all, _ := s.shows(t, "/plans")
	wants(t, "the plans", all, "Plans gone by", "Warm warmer until")
	if week := as[openapi.WeekPlan](t, s.get(t, "plans/week")); !slices.ContainsFunc(week.Items, func(i openapi.WeekItem) bool {
		return i.Sort == openapi.WeekItemSortDo && i.ID.String() == entry && strings.Contains(i.Do, "the heater of warmer") && i.By != nil
	}) {
		t.Errorf("the week does not ask for its first step: %+v", week.Items)
	}
	spanish, _ := s.shows(t, "/plans/adopted/"+entry, "es")
	wants(t, "in Spanish", spanish, fmt.Sprintf("Poner el calentador de warmer a %d", *best.HottestC), "por hacer")
}

// A plan that was gone by since the 18th is held against the log: how warm it was at the time that was planned, which
// steps were done, and what is still to come.
func TestAPlanIsHeldAgainstTheLog(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	plan := s.book(t, "adopted-plans", M{"id": id(), "occurred_at": at(18, "8:30"), "title": "warm for pails", "of": "warming",
		"steps": []M{{"does": "heat", "about_id": warmer, "at": at(18, "9:00"), "set_c": 42}, {"does": "heat", "about_id": warmer, "at": at(20, "1:00")}, {"does": "heat", "about_id": warmer, "at": at(28, "1:00"), "set_c": 40}},
		"expects": []M{
			{"figure": "temperature_c", "about_id": warmer, "at": at(19, "9:00"), "value": 41, "low": 40, "high": 43}, // logged 42
			{"figure": "temperature_c", "about_id": warmer, "at": at(20, "1:00"), "value": 45, "low": 44.5, "high": 45.5},
			{"figure": "hmf_mg_per_kg", "about_id": warmer, "at": at(28, "1:00"), "value": 4}}}).ID
	held := as[openapi.HeldPlan](t, s.get(t, "plans/adopted/"+plan))
	if len(held.Steps) != 3 || held.Steps[0].State != openapi.StepDone || *held.Steps[0].LoggedC != 42 || held.Steps[1].State != openapi.StepDone || held.Steps[2].State != openapi.StepLeft {
		t.Errorf("steps: %+v", held.Steps)
	}
	if f := held.Figures; *f[0].Came != 42 || f[0].Outside != nil || *f[1].Came != 42 || f[1].Outside == nil || *f[1].Chance >= 0.001 || f[2].Came != nil || !f[2].Open {
		t.Errorf("figures: %+v", f)
	}
	text, _ := s.shows(t, "/plans/adopted/"+plan)
	wants(t, "held against the log", text, "1 step left", "logged", "as expected", "outside what was expected; the difference: hardly chance", "not known yet")
	if shed := as[openapi.ShedReport](t, s.get(t, "reports/shed")); len(shed.Plans) != 1 || len(shed.Plans[0].Steps) != 1 || shed.Plans[0].Steps[0].Step != 3 {
		t.Errorf("on Record: %+v", shed.Plans)
	}
	for path, status := range map[string]int{"plans/adopted/" + id(): http.StatusNotFound, "plans/adopted/" + warmer: http.StatusNotFound} {
		if r := s.send(t, http.MethodGet, "/v1/"+path, s.manager, nil); r.status != status {
			t.Errorf("%s: %d", path, r.status)
		}
	}
	crewSends := fmt.Sprintf(`{"id": %q, "occurred_at": %q, "title": "x", "of": "warming", "steps": [{"does": "heat", "about_id": %q, "at": %q}]}`, id(), at(21, "18:00"), warmer, at(21, "19:00"))
	if r := s.send(t, http.MethodPost, "/v1/adopted-plans", s.crew, []byte(crewSends)); r.status != http.StatusForbidden {
		t.Errorf("crew goes by a plan of its own: %d", r.status)
	}
	s.send(t, http.MethodPost, "/v1/withdrawals", s.manager, []byte(fmt.Sprintf(`{"id": %q, "occurred_at": %q, "replaces": %q, "reason": "called off"}`, id(), at(22, "12:00"), plan)))
	if shed := as[openapi.ShedReport](t, s.get(t, "reports/shed")); len(shed.Plans) != 0 {
		t.Error("a plan that was called off still waits on Record")
	}
}

// Whoever comes to a plan that was not asked for, or was asked for wrongly, is told so; a reader cannot go by one.
func TestAPlanThatIsNotThereCannotBeGoneBy(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	for _, path := range []string{"/plans/warming/blank", strings.Replace(askWarmingPlan, "warming?", "warming/blank?", 1) + "nobody", "/plans/adopted/" + warmer, "/plans/adopted/x/blank"} {
		if status, _ := fetch(t, s.browsing(t), s.url+path); status != http.StatusNotFound {
			t.Errorf("%s answered %d", path, status)
		}
	}
	for _, form := range []url.Values{{"id": {"x"}, "plan": {"{}"}}, {"id": {id()}, "plan": {`{"title": "x", "of": "warming", "steps": [{"does": "heat", "about_id": "` + warmer + `"}]}`}}} {
		response, err := s.browsing(t).PostForm(s.url+"/plans/adopt", form)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		if response.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("a page that is not complete answered %s", response.Status)
		}
	}
}

// The whole way of a warming: somebody goes by the best way, two days pass, the log shows a tank that went as planned but for an hour in which
// it was colder, and the laboratory finds HMF. Each is held against what was expected.
func TestAWarmingThatWasGoneByIsHeldAgainstItsLog(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	best := s.warming(t, "tank=warmer&to=liquid&kwh_price=0.4&"+byHour(48)).Choices[0]
	entry := s.adopt(t, askWarmingPlan+warmer, "Warm for pails")
	later := clock.Add(50 * time.Hour)
	s.honeyHouse.service.Now = func() time.Time { return later }
	s.serve(t, func(c *request.Config) { c.Now = func() time.Time { return later } })
	var points []M
	for _, m := range best.Curve[1:] {
		points = append(points, M{"at": m.At.Format(time.RFC3339), "temperature_c": math.Round(10*m.MeanC) / 10})
	}
	points[len(points)-1]["temperature_c"] = math.Round(best.Curve[len(best.Curve)-1].MeanC) - 8
	s.book(t, "temperature-logs", M{"id": id(), "occurred_at": later.Format(time.RFC3339), "on": M{"kind": "tank", "id": warmer}, "points": points})
	s.book(t, "readings", M{"id": id(), "occurred_at": later.Format(time.RFC3339), "on": M{"kind": "tank", "id": warmer}, "laboratory": "Fern Valley", "measured": []M{{"quantity": "hmf_mg_per_kg", "method": "HPLC", "value": math.Round(best.HmfMgPerKg.Middle + 1)}}})
	held := as[openapi.HeldPlan](t, s.get(t, "plans/adopted/"+entry))
	if len(held.Steps) != len(best.Steps) {
		t.Fatalf("steps: %+v", held.Steps)
	}
	for i, step := range held.Steps {
		if step.State != openapi.StepDone {
			t.Errorf("step %d is %s", i+1, step.State)
		}
	}
	for i, f := range held.Figures {
		last := i == len(best.Steps)-1 // of the temperatures
		if f.Came == nil || f.Outside != nil && *f.Outside != last || last && f.Outside == nil {
			t.Errorf("figure %d, %s of %v: came %v, outside %v", i+1, f.Expected.Figure, f.Expected.Value, f.Came, f.Outside)
		}
	}
	text, _ := s.shows(t, "/plans/adopted/"+entry)
	wants(t, "held against what came", text, "Warm for pails", "as expected", "outside what was expected")
}
