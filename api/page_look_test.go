package api_test

import (
	"encoding/xml"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/ledger"
)

// wants fails for each text that a page lacks.
func wants(t *testing.T, what, body string, texts ...string) {
	t.Helper()
	for _, text := range texts {
		if !strings.Contains(body, text) {
			t.Errorf("%s: no %q", what, text)
		}
	}
}

func TestTodaySaysWhatRunsWhatWaitsAndWhatNeedsAttention(t *testing.T) {
	t.Parallel()
	entries, _, _, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/")
	wants(t, "today", body, "Run first", "25 supers", "nothing since", "was it ended?", // 20 and 5 went in
		">Alder Bend</a>", "10 supers", ">270.0<", // 10 deeps of 27 kg wait
		"26-001", "<b>held</b>", "had 210 kg by the book, but 290 kg were drawn from it", "Needs attention", `href="/record"`)
}

// 500 kg came in and two drums of 290 went out: 80 kg that the tank had not got.
func TestATanksStoryHasWhatCameAndWent(t *testing.T) {
	t.Parallel()
	entries, tank, _, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/tanks/"+tank.ID.String())
	wants(t, "the tank", body, "red ring", "in from run first", ">500.0<", "filled into D-2, lot 26-001", ">290.0<", "17.4 %", "500.0 in, 580.0 out over this time",
		"Last 14 days", "Since it last held honey")
	for _, form := range []string{"", "?form=narrow", "?range=days", "?range=holding"} {
		response, svg := h.Get(t, "/tanks/"+tank.ID.String()+"/course.svg"+form)
		if response.Header.Get("Content-Type") != "image/svg+xml" || xml.Unmarshal([]byte(svg), new(struct{})) != nil {
			t.Errorf("its plot%s came as %s", form, response.Header.Get("Content-Type"))
		}
		wants(t, "its plot"+form, svg, "moisture, %", "HMF, mg/kg", "°C")
	}
	for _, path := range []string{"/tanks/x", "/tanks/" + uuid.NewString(), "/tanks/" + entries[0].ID.String() + "/course.svg"} {
		if response, _ := h.Get(t, path); response.StatusCode != http.StatusNotFound {
			t.Errorf("%s answered %s", path, response.Status)
		}
	}
}

// The season began in January; the tank's first honey came on 3 July in the afternoon.
func TestATanksPictureBeginsWhenSomethingHappened(t *testing.T) {
	t.Parallel()
	entries, tank, _, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	for _, form := range []string{"", "?form=narrow"} {
		_, svg := h.Get(t, "/tanks/"+tank.ID.String()+"/course.svg"+form)
		wants(t, "its picture"+form, svg, ">4 Jul</text>")
		lacks(t, "its picture"+form, svg, "Jan", "Feb", "Mar", "Apr", "May", "Jun")
	}
}

// Of 25 supers 20 came from Alder Bend: 400 of 500 kg; of each drum of 290 kg
// it has 232 as far as the book knows where it came from.
func TestAYardsStoryHasItsHoneyAndWhereItIs(t *testing.T) {
	t.Parallel()
	entries, _, yard, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/yards/"+yard.ID.String())
	wants(t, "the yard", body, "60.0000° N, 100.0000° W", ">400.0<", "1 of 2", ">20.0<", "26-001", "first")
	for _, path := range []string{"/yards/x", "/yards/" + uuid.NewString()} {
		if response, _ := h.Get(t, path); response.StatusCode != http.StatusNotFound {
			t.Errorf("%s answered %s", path, response.Status)
		}
	}
}

var circle = regexp.MustCompile(`A([\d.]+),`)

// Areas are as the honey: 400 to 100 kg is a radius of two to one. The bar is as
// long as the map says.
func TestTheMapIsToScale(t *testing.T) {
	t.Parallel()
	entries, _, _, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, svg := h.Get(t, "/charts/yards.svg")
	var radii []float64
	for _, m := range circle.FindAllStringSubmatch(svg, -1) {
		if r, err := strconv.ParseFloat(m[1], 64); err == nil && (len(radii) == 0 || radii[len(radii)-1] != r) {
			radii = append(radii, r)
		}
	}
	if len(radii) != 2 || math.Abs(radii[0]/radii[1]-2) > 1e-3 {
		t.Errorf("circles of %v", radii)
	}
	wants(t, "the map", svg, "Alder Bend", "Mill Race", "2 km", ">N<")
	_, body := h.Get(t, "/season")
	wants(t, "the season", body, "Where the yards stand", "60.0000° N, 99.9000° W")
}

func TestAFindingIsAcceptedWithAReasonByAManagerOnly(t *testing.T) {
	t.Parallel()
	entries, _, _, overdrawn := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	odell, reader := h.Somebody(t, "Odell", db.Crew), h.Somebody(t, "Rowan", db.Reader)
	form := url.Values{"entry": {overdrawn.ID.String()}, "flag": {"drawn_more_than_held"}, "reason": {"the drum was topped up from a bucket"}}
	for name, who := range map[string]*apitest.House{"crew": odell, "a reader": reader} {
		for _, path := range []string{"/", "/season", "/tanks", "/findings"} {
			if response, body := who.Get(t, path); response.StatusCode != http.StatusOK || strings.Contains(body, "/findings/accept") {
				t.Errorf("%s looking at %s: %s", name, path, response.Status)
			}
		}
		response, body := who.Send(t, http.MethodPost, "/findings/accept", form, nil)
		if response.StatusCode != http.StatusForbidden || !strings.Contains(body, "You may not do this") {
			t.Errorf("%s accepting: %s", name, response.Status)
		}
		asProgram := postToAPI(t, who, "/v1/acceptances", `{"id":"`+uuid.NewString()+`","occurred_at":"2026-08-01T08:00:00Z","entry_id":"`+overdrawn.ID.String()+`","flag":"drawn_more_than_held","reason":"x"}`)
		if asProgram.StatusCode != http.StatusForbidden {
			t.Errorf("the API answers %s to %s accepting", asProgram.Status, name)
		}
	}
	_, body := h.Get(t, "/findings")
	wants(t, "findings", body, "expected", ">210.0 kg<", ">290.0 kg<", ">80.0 kg<", `action="/findings/accept"`, "/journal/"+overdrawn.ID.String())

	if response, _ := h.Send(t, http.MethodPost, "/findings/accept", form, http.Header{"Sec-Fetch-Site": {"cross-site"}}); response.StatusCode != http.StatusForbidden {
		t.Errorf("a form of another site: %s", response.Status)
	}
	none := url.Values{"entry": form["entry"], "flag": form["flag"], "reason": {"  "}}
	if response, body := h.Send(t, http.MethodPost, "/findings/accept", none, nil); response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, `role="alert"`) {
		t.Errorf("without a reason: %s", response.Status)
	}
	response, body := h.Send(t, http.MethodPost, "/findings/accept", form, nil)
	if response.StatusCode != http.StatusOK || !strings.Contains(body, "the drum was topped up from a bucket") {
		t.Errorf("accepting answered %s", response.Status)
	}
	if strings.Contains(body, `value="`+overdrawn.ID.String()+`"><input type="hidden" name="flag" value="drawn_more_than_held"`) {
		t.Error("what was accepted is still open")
	}
	response, _ = h.Send(t, http.MethodPost, "/findings/accept", url.Values{"entry": {uuid.NewString()}, "flag": {"over_capacity"}, "reason": {"x"}}, nil)
	if response.StatusCode != http.StatusUnprocessableEntity && response.StatusCode != http.StatusBadRequest {
		t.Errorf("what there is not was accepted: %s", response.Status)
	}
}

// postToAPI posts to the interface for programs, as a script of the pages would.
func postToAPI(t *testing.T, h *apitest.House, path, body string) *http.Response {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	response, err := h.Client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	return response
}

// The tank came to hold 500 kg at eight in the evening by UTC, which is three in the afternoon in Winnipeg.
func TestTheTanksOfADayAreDrawnByTheHour(t *testing.T) {
	t.Parallel()
	entries, _, _, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	out := entries[slices.IndexFunc(entries, func(e *ledger.Entry) bool { return e.Kind == ledger.KindMovement })]
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	at := out.OccurredAt.In(loc)
	before, after, day := at.Add(-time.Hour).Format("15:04"), at.Format("15:04"), at.Format(time.DateOnly)
	_, body := h.Get(t, "/tanks?day="+day)
	wants(t, "the day of the run", body, `value="`+day+`"`, "large tank, kg", ">"+before+"</th><td>0.0</td>", ">"+after+"</th><td>500.0</td>")
	if strings.Contains(body, ">"+at.Add(-2*time.Hour).Format("15:04")+"</th>") {
		t.Error("the hours begin before anything happened")
	}
	_, body = h.Get(t, "/tanks")
	wants(t, "the last day", body, "/tanks/day.svg?day=2026-07-04", `id="over"`) // D-2 was filled
	response, svg := h.Get(t, "/tanks/day.svg?form=narrow&day="+day)
	if of := response.Header.Get("Content-Type"); of != "image/svg+xml" {
		t.Errorf("the drawing came as %s", of)
	}
	wants(t, "the drawing", svg, "large tank", before, ">500<")
	_, body = h.Get(t, "/tanks?day=2026-02-02")
	wants(t, "a day on which nothing happened", body, "Nothing happened to a tank on that day.")
	for path, says := range map[string]string{"/tanks?day=2/2/2026": "2/2/2026 is no day of the calendar", "/tanks/day.svg?day=2026-02-02": "Nothing happened to a tank on that day."} {
		response, body := h.Send(t, http.MethodGet, path, nil, http.Header{"Accept": {"text/html"}})
		if response.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s answered %s", path, response.Status)
		}
		wants(t, path, body, says)
	}
}
