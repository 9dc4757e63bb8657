package api_test

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// formOf reads the inputs of the first entry form on a page, as a browser would
// send them.
func formOf(body string) url.Values {
	_, form, _ := strings.Cut(body, `class="entry"`)
	form, _, _ = strings.Cut(form, "</form>")
	out := url.Values{"do": {"save"}}
	for _, m := range regexp.MustCompile(`<input [^>]*name="([^"]+)"[^>]*>`).FindAllStringSubmatch(form, -1) {
		value := regexp.MustCompile(` value="([^"]*)"`).FindStringSubmatch(m[0])
		if value != nil {
			out.Set(m[1], html.UnescapeString(value[1]))
		}
	}
	for _, m := range regexp.MustCompile(`(?s)<textarea [^>]*name="([^"]+)"[^>]*>([^<]*)`).FindAllStringSubmatch(form, -1) {
		out.Set(m[1], html.UnescapeString(m[2]))
	}
	for _, m := range regexp.MustCompile(`(?s)<select [^>]*name="([^"]+)"[^>]*>(.*?)</select>`).FindAllStringSubmatch(form, -1) {
		out.Set(m[1], "")
		if chosen := regexp.MustCompile(`value="([^"]*)" selected`).FindStringSubmatch(m[2]); chosen != nil {
			out.Set(m[1], html.UnescapeString(chosen[1]))
		}
	}
	return out
}

// optionOf is the value of a choice that reads so.
func optionOf(t *testing.T, body, label string) string {
	t.Helper()
	m := regexp.MustCompile(`<option value="([^"]*)"[^>]*>` + regexp.QuoteMeta(label) + `</option>`).FindStringSubmatch(body)
	if m == nil {
		t.Fatalf("nothing is called %s", label)
	}
	return m[1]
}

func TestAManagerCorrectsAReadingInPlaceAndTheOldOneStaysVisible(t *testing.T) {
	t.Parallel()
	tank := apitest.EntryAt(1, &ledger.Tank{Name: "large tank", Use: "settling", CapacityG: 4_500_000})
	reading := apitest.EntryAt(2, ledgertest.Moisture(ledger.PlaceTank, tank.ID, 16.7))
	season := apitest.EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{season, tank, reading})
	h.SignIn(t)
	path := "/journal/" + reading.ID.String()
	_, body := h.Get(t, path+"/correct")
	form := formOf(body)
	if form.Get("/moisture_pct") != "16.7" {
		t.Fatalf("the form shows %v", form)
	}
	form.Set("/moisture_pct", "17.6")
	response, body := h.Send(t, http.MethodPost, path+"/correct", form, nil)
	if response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "17.6") {
		t.Errorf("a correction without a reason answered %s", response.Status)
	}
	form.Set("reason", "the digits were swapped")
	response, body = h.Send(t, http.MethodPost, path+"/correct", form, nil)
	if response.StatusCode != http.StatusOK || !strings.Contains(body, "<del>16.7 %</del> → <ins>17.6 %</ins>") || !strings.Contains(body, "the digits were swapped") {
		t.Errorf("the corrected entry answered %s: %s", response.Status, body)
	}
	if _, body = h.Get(t, "/journal?kind=reading"); !strings.Contains(body, "corrected since") || !strings.Contains(body, "a correction") {
		t.Error("the journal does not say what was corrected")
	}

	withdrawal := url.Values{"id": {uuid.NewString()}, "reason": {"it was another tank"}}
	if _, body = h.Send(t, http.MethodPost, path+"/withdraw", withdrawal, nil); !strings.Contains(body, "it was another tank") || strings.Contains(body, "/correct") {
		t.Error("a withdrawn entry may still be corrected")
	}
}

func TestCrewLookAtEntriesAndCorrectNone(t *testing.T) {
	t.Parallel()
	tank := apitest.EntryAt(1, &ledger.Tank{Name: "large tank", Use: "settling", CapacityG: 4_500_000})
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{tank})
	odell := h.Somebody(t, "Odell", db.Crew)
	path := "/journal/" + tank.ID.String()
	if response, body := odell.Get(t, path); response.StatusCode != http.StatusOK || strings.Contains(body, "/correct") {
		t.Errorf("crew looking at an entry: %s", response.Status)
	}
	for _, address := range []string{path + "/correct", "/entries/new/tank"} {
		if response, _ := odell.Get(t, address); response.StatusCode != http.StatusForbidden {
			t.Errorf("%s answered %s to crew", address, response.Status)
		}
	}
	for _, address := range []string{path + "/correct", path + "/withdraw", "/entries/new/tank"} {
		form := url.Values{"do": {"save"}, "id": {uuid.NewString()}, "reason": {"x"}, "/name": {"x"}}
		if response, _ := odell.Send(t, http.MethodPost, address, form, nil); response.StatusCode != http.StatusForbidden {
			t.Errorf("posting to %s answered %s to crew", address, response.Status)
		}
	}
	if response, _ := odell.Get(t, "/entries/new/wash"); response.StatusCode != http.StatusOK {
		t.Errorf("crew recording a wash: %s", response.Status)
	}
}

func TestABuyersLimitsAreSetUpOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{apitest.EntryAt(1, &ledger.Buyer{Name: "Harrow Foods"})})
	h.SignIn(t)
	_, body := h.Get(t, "/entries/new/rule_set")
	form := formOf(body)
	form.Set("/name", "Harrow Foods, table honey")
	form.Set("/citation", "contract of 3 May 2026")
	form.Set("/buyer_id", optionOf(t, body, "Harrow Foods"))
	form.Set("/form", "limits")
	form.Set("/limits/0/parameter", optionOf(t, body, "moisture"))
	form.Set("/limits/0/unit", "g/100 g")
	form.Set("/limits/0/comparator", "<=")
	form.Set("/limits/0/limit", "17.8")
	form.Set("/limits/0/clause", "4.1")
	form.Set("do", "add /limits")
	_, body = h.Send(t, http.MethodPost, "/entries/new/rule_set", form, nil)
	if !strings.Contains(body, `name="/limits/1/parameter"`) || !strings.Contains(body, `value="17.8"`) {
		t.Fatal("one more line lost what was typed, or gave none")
	}
	form = formOf(body)
	form.Set("/limits/1/parameter", "hmf")
	form.Set("/limits/1/unit", "kilograms")
	form.Set("/limits/1/comparator", "<=")
	form.Set("/limits/1/limit", "20")
	response, body := h.Send(t, http.MethodPost, "/entries/new/rule_set", form, nil)
	if response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "HMF is stated in mg/kg") {
		t.Fatalf("a unit that does not fit answered %s", response.Status)
	}
	form.Set("/limits/1/unit", "mg/kg")
	form.Set("/limits/1/clause", "4.2")
	if response, body = h.Send(t, http.MethodPost, "/entries/new/rule_set", form, nil); response.StatusCode != http.StatusOK || !strings.Contains(body, "17.8") {
		t.Fatalf("the limits answered %s: %s", response.Status, regexp.MustCompile(`class="odd"[^>]*>[^<]*`).FindAllString(body, -1))
	}
	if _, body = h.Get(t, "/settings"); !strings.Contains(body, "Harrow Foods, table honey") {
		t.Error("the limits are not among the settings")
	}
}

func TestAUSOutfitCorrectsInPoundsAndFahrenheit(t *testing.T) {
	t.Parallel()
	room := apitest.EntryAt(1, &ledger.Room{Name: "hot room", Use: "hot_room", UsualTemperatureC: new(35.)})
	h := apitest.Open(t, apitest.USOutfit, []*ledger.Entry{room})
	h.SignIn(t)
	_, body := h.Get(t, "/journal/"+room.ID.String()+"/correct")
	form := formOf(body)
	if form.Get("/usual_temperature_c") != "95" {
		t.Fatalf("35 °C are shown as %s", form.Get("/usual_temperature_c"))
	}
	form.Set("/usual_temperature_c", "104")
	form.Set("reason", "the new heater")
	if _, body = h.Send(t, http.MethodPost, "/journal/"+room.ID.String()+"/correct", form, nil); !strings.Contains(body, "<del>95 °F</del> → <ins>104 °F</ins>") {
		t.Error("95 to 104 °F is not shown")
	}
	if got := h.SQL(t, "SELECT content -> 'body' ->> 'usual_temperature_c' FROM entry ORDER BY number DESC LIMIT 1"); got[0] != "40" {
		t.Errorf("the book has %s °C", got[0])
	}
}

// How a store goes through the year is asked where the store is set up, and stands on its page.
func TestAStoresYearIsSetUpAndSaidOnItsPage(t *testing.T) {
	t.Parallel()
	room := apitest.EntryAt(1, &ledger.Room{Name: "drum store", Use: ledger.Store})
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{room})
	h.SignIn(t)
	_, body := h.Get(t, "/journal/"+room.ID.String()+"/correct")
	form := formOf(body)
	for name, value := range map[string]string{"/warmest_month_mean_c": "19.5", "/coldest_month_mean_c": "4.5", "/warmest_month": "8"} {
		if _, asked := form[name]; !asked {
			t.Errorf("the form does not ask for %s", name)
		}
		form.Set(name, value)
	}
	form.Set("reason", "read off the wall")
	_, body = h.Send(t, http.MethodPost, "/journal/"+room.ID.String()+"/correct", form, nil)
	for _, want := range []string{"19.5 °C", "4.5 °C"} {
		if !strings.Contains(body, want) {
			t.Errorf("the store's page does not say %s", want)
		}
	}
	_, body = h.Send(t, http.MethodGet, "/entries/new/room", nil, http.Header{"Accept-Language": {"es"}})
	if !strings.Contains(body, "edia del mes más cálido") {
		t.Error("a new room's form does not ask for it in Spanish")
	}
}

func TestWhatALotDeclaresAndForWhichLotsALimitHoldsAreChosen(t *testing.T) {
	t.Parallel()
	lot := apitest.EntryAt(1, &ledger.Lot{Code: "26-001", Product: "heather honey", Declares: map[string][]string{"kind": {"calluna_vulgaris"}, "region": {"temperate"}}})
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{apitest.EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}), lot})
	h.SignIn(t)
	path := "/journal/" + lot.ID.String()
	_, body := h.Get(t, path+"/correct")
	if !regexp.MustCompile(`value="calluna_vulgaris" checked`).MatchString(body) || !regexp.MustCompile(`value="temperate" (checked|selected)`).MatchString(body) {
		t.Fatal("the form does not show what is declared")
	}
	form := formOf(body)
	form["/declares/region"] = []string{"temperate"}
	form.Del("/declares/kind")
	for _, box := range []string{"calluna_vulgaris", "erica"} {
		form.Add("/declares/kind", box)
	}
	form.Set("reason", "bell heather too")
	if response, body := h.Send(t, http.MethodPost, path+"/correct", form, nil); response.StatusCode != http.StatusOK {
		t.Fatalf("the correction answered %s: %s", response.Status, regexp.MustCompile(`class="odd"[^>]*>[^<]*`).FindAllString(body, -1))
	}
	if got := h.SQL(t, "SELECT content -> 'body' ->> 'declares' FROM entry ORDER BY number DESC LIMIT 1"); !strings.Contains(got[0], "erica") || !strings.Contains(got[0], "temperate") {
		t.Errorf("the book has %s", got[0])
	}

	// A limit for heather only, typed by somebody who writes a decimal comma.
	h.Send(t, http.MethodPost, "/language", url.Values{"language": {"es"}}, nil)
	_, body = h.Get(t, "/entries/new/rule_set")
	form = formOf(body)
	form.Set("/name", "Cosecha")
	form.Set("/citation", "contrato 7")
	form.Set("/form", "limits")
	form.Set("/limits/0/parameter", "moisture")
	form.Set("/limits/0/unit", optionOf(t, body, "g/100 g"))
	form.Set("/limits/0/comparator", html.UnescapeString(optionOf(t, body, "como máximo")))
	form.Set("/limits/0/limit", "18,60")
	form.Set("/limits/0/when", html.UnescapeString(optionOf(t, body, "clase de miel incluye brezos")))
	form.Set("/limits/0/clause", "4.1")
	if response, body := h.Send(t, http.MethodPost, "/entries/new/rule_set", form, nil); response.StatusCode != http.StatusOK || !strings.Contains(body, "18,60") {
		t.Fatalf("the limits answered %s: %s", response.Status, regexp.MustCompile(`class="odd"[^>]*>[^<]*`).FindAllString(body, -1))
	}
	if got := h.SQL(t, "SELECT content -> 'body' -> 'limits' -> 0 ->> 'limit' FROM entry ORDER BY number DESC LIMIT 1"); got[0] != "18.60" {
		t.Errorf("the book has a limit of %q, want 18.60 with every digit typed", got[0])
	}
}
