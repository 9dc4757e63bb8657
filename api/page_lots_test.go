package api_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/ledger"
)

func TestALotIsHeldCheckedAndReleasedOnItsPage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	manager := h.House
	manager.SignIn(t)
	if s := h.State(t, manager); s != "open" {
		t.Fatalf("at first it is %s", s)
	}
	// By hand: 3 drums of 308 - 18 = 290 kg, and (17.2 + 17.4 + 17.6) / 3 = 17.4 %.
	_, page := manager.Get(t, h.Path())
	wants(t, "the lot", page, "<b>870.0</b> kg", "17.4 %", "Alder Bend", "D-2", "drum store", "Nothing was decided about it yet", "No recorded check fits the lot as it is now")

	response, page := h.Decide(t, manager, "hold")
	if response.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a hold without a reason answered %s", response.Status)
	}
	wants(t, "a hold without a reason", page, `role="alert"`, "Why is the lot held?")
	h.Decide(t, manager, "hold", "why", "finding_unresolved", "note", "the top of D-3 smells")
	if s := h.State(t, manager); s != "held" {
		t.Errorf("after holding it is %s", s)
	}
	_, page = manager.Get(t, h.Path())
	wants(t, "held", page, "finding unresolved", "the top of D-3 smells", "Tamsin")

	h.Decide(t, manager, "check", "rule_set", "eu-honey", "note", "before the sale")
	_, page = manager.Get(t, h.Path())
	wants(t, "checked", page, "before the sale", "not measured")
	check := regexp.MustCompile(`<option value="([0-9a-f-]{36})">entry`).FindStringSubmatch(page)
	if check == nil {
		t.Fatal("the check is not offered to release by")
	}
	// Not measured never passes: sugars, acidity and conductivity are missing.
	response, page = h.Decide(t, manager, "release", "check_id", check[1], "note", "smelt again: clean")
	if response.StatusCode != http.StatusConflict || h.State(t, manager) != "held" {
		t.Errorf("a release by a check that does not meet answered %s, and the lot is %s", response.Status, h.State(t, manager))
	}
	wants(t, "a release that is refused", page, "does not meet", "smelt again: clean")

	h.Decide(t, manager, "override", "note", "sold to a baker who knows")
	if s := h.State(t, manager); s != "released" {
		t.Errorf("after the override it is %s", s)
	}
	_, page = manager.Get(t, h.Path())
	wants(t, "released", page, "by a manager&#39;s override", "sold to a baker who knows")
}

func TestAFormSentTwiceIsBookedOnce(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	_, page := h.Get(t, h.Path())
	_, after, _ := strings.Cut(page, `aria-labelledby="hold"`)
	form := url.Values{"do": {"hold"}, "why": {"recall"}, "id": {apitest.FormID.FindStringSubmatch(after)[1]}}
	for range 2 {
		if response, _ := h.Send(t, http.MethodPost, h.Path(), form, nil); response.StatusCode != http.StatusOK {
			t.Errorf("holding answered %s", response.Status)
		}
	}
	if _, page = h.Get(t, h.Path()); strings.Count(page, "held</span>: recall") != 1 {
		t.Errorf("sent twice, it is held %d times", strings.Count(page, "held</span>: recall"))
	}
}

func TestCrewHoldALotAndDoNotReleaseIt(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	crew := h.Somebody(t, "Wren", db.Crew)
	_, page := crew.Get(t, h.Path())
	wants(t, "crew", page, "Releasing is a manager&#39;s", `value="hold"`, `value="check"`)
	if strings.Contains(page, `value="release"`) || strings.Contains(page, `value="override"`) {
		t.Error("crew are offered to release")
	}
	h.Decide(t, crew, "hold", "why", "other", "note", "a drum leaks")
	if s := h.State(t, crew); s != "held" {
		t.Errorf("crew held it, and it is %s", s)
	}
	response, page := h.Decide(t, crew, "override", "note", "in a hurry", "id", "3c7c4e0a-0d9b-4f0e-9a53-5b2f0d1c7a11")
	if response.StatusCode != http.StatusForbidden || !strings.Contains(page, "You may not do this") {
		t.Errorf("crew releasing on the page are answered %s", response.Status)
	}
	// The interface for programs says the same to the same person.
	response, _ = crew.Send(t, http.MethodPost, "/v1/lot-statuses", nil, http.Header{"Content-Type": {"application/json"}})
	if response.StatusCode == http.StatusForbidden {
		t.Errorf("an empty body is not a question of who: %s", response.Status)
	}
	body := `{"id":"3c7c4e0a-0d9b-4f0e-9a53-5b2f0d1c7a11","occurred_at":"2026-08-01T10:00:00-05:00","lot_id":"` + h.Lot.String() + `","status":"released","override":true,"note":"in a hurry"}`
	if status := postJSON(t, crew, "/v1/lot-statuses", body); status != http.StatusForbidden {
		t.Errorf("crew releasing through the interface are answered %d", status)
	}
	if s := h.State(t, crew); s != "held" {
		t.Errorf("crew could not release it, and it is %s", s)
	}

	reader := h.Somebody(t, "Linnet", db.Reader)
	if response, page := h.Decide(t, reader, "hold", "why", "recall", "id", "4c7c4e0a-0d9b-4f0e-9a53-5b2f0d1c7a11"); response.StatusCode != http.StatusForbidden || strings.Contains(page, `value="hold"`) {
		t.Errorf("a reader holding a lot is answered %s", response.Status)
	}
}

func postJSON(t *testing.T, h *apitest.House, path, body string) int {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	response, err := h.Client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	return response.StatusCode
}

func TestALotsFormFromElsewhereIsRefused(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	form := url.Values{"do": {"hold"}, "why": {"recall"}, "id": {"3c7c4e0a-0d9b-4f0e-9a53-5b2f0d1c7a11"}}
	response, _ := h.Send(t, http.MethodPost, h.Path(), form, http.Header{"Sec-Fetch-Site": {"cross-site"}})
	if response.StatusCode != http.StatusForbidden || h.State(t, h.House) != "open" {
		t.Errorf("another site's form answered %s", response.Status)
	}
}

func TestACheckThatRestsOnWhatChangedIsMarkedOnTheLotsPage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	h.Decide(t, h.House, "check", "rule_set", "eu-honey")
	if _, page := h.Get(t, h.Path()); strings.Contains(page, "The check no longer fits the lot") {
		t.Error("a check made just now is marked")
	}
	h.RecordMore(t, apitest.EntryAt(5, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: h.Fills[0]}, InstrumentID: h.Instrument,
		Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 19.9}}))
	_, page := h.Get(t, h.Path())
	wants(t, "a reading came", page, "The check no longer fits the lot: readings were added or changed since.", "No recorded check fits the lot as it is now")
}

func TestTheLotsOfASeasonAreSiftedByState(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	h.Decide(t, h.House, "hold", "why", "recall")
	for state, want := range map[string][2]bool{"": {true, true}, "held": {true, false}, "open": {false, true}, "gone": {false, false}} {
		_, page := h.Get(t, "/lots?state="+state)
		for i, code := range []string{">L-1</a>", ">L-2</a>"} {
			if strings.Contains(page, code) != want[i] {
				t.Errorf("state %q: %s is shown: %t", state, code, !want[i])
			}
		}
	}
	_, page := h.Get(t, "/lots?state=gone")
	wants(t, "none is gone", page, "No lot of this season is in that state.")
	if response, _ := h.Get(t, "/lots?state=lost"); response.StatusCode != http.StatusNotFound {
		t.Errorf("a state that is none answered %s", response.Status)
	}
	// By eu-honey L-1 lacks results; by nothing else is asked for it.
	_, page = h.Get(t, "/lots?rule_set=eu-honey")
	wants(t, "by one rule set", page, "not measured", "870.0", "17.4", "Must go first")
}

func TestALotSpeaksSpanishAndPounds(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.USOutfit)
	h.SignIn(t)
	h.Decide(t, h.House, "hold", "why", "fermentation_risk")
	spanish := http.Header{"Accept-Language": {"es-MX"}}
	_, page := h.Send(t, http.MethodGet, h.Path(), nil, spanish)
	// 870 kg / 0.45359237 = 1918.0 lb; 20 C are 68 F.
	wants(t, "in Spanish", page, "retenido", "riesgo de fermentación", "1,918.0", "68 °F", "humedad", "cumple", "no medido", "como mucho", "Liberarlo")
	for _, english := range []string{">moisture", "at most", "at least", "not measured", "yeast", "nothing says", "Hold it"} {
		if strings.Contains(page, english) {
			t.Errorf("the page in Spanish has %q", english)
		}
	}
	_, page = h.Send(t, http.MethodGet, "/lots", nil, http.Header{"Accept-Language": {"es"}})
	wants(t, "the lots in Spanish", page, "Lotes", "retenido", "1.918,0", "17,4", "Dictamen")
}

// What a laboratory's certificate says stands beside each of its figures.
func TestALotsPageSaysWhatTheCertificateSaysOfEachFigure(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	_, page := h.Get(t, h.Path())
	wants(t, "the lot", page, "HPLC <span class=\"note\">measures from 0.8 up; uncertainty as the laboratory states it; certificate 26-1207; accreditation: ISO/IEC 17025, no. 4411</span>",
		"Fern Valley <span class=\"note\">uncertainty as the laboratory states it; certificate 26-1207;")
	_, page = h.Send(t, http.MethodGet, h.Path(), nil, http.Header{"Accept-Language": {"es"}})
	wants(t, "in Spanish", page, "mide desde 0,8; incertidumbre según el laboratorio; certificado 26-1207; acreditación: ISO/IEC 17025, no. 4411")
}

// The page draws a lot against each limit of the rule sets in use, with the answer in words.
func TestALotIsDrawnAgainstItsLimits(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	_, page := h.Get(t, h.Path())
	wants(t, "the lot", page, `src="`+h.Path()+`/limits.svg"`, `srcset="`+h.Path()+`/limits.svg?form=narrow"`)
	response, svg := h.Get(t, h.Path()+"/limits.svg")
	if of := response.Header.Get("Content-Type"); of != "image/svg+xml" {
		t.Errorf("the drawing came as %s", of)
	}
	wants(t, "the drawing", svg, "moisture: meets", "limit: at most", "not measured")
	_, svg = h.Send(t, http.MethodGet, h.Path()+"/limits.svg?form=narrow", nil, http.Header{"Accept-Language": {"es-MX"}})
	wants(t, "the drawing in Spanish", svg, "humedad: cumple", "límite: como mucho", "no medido")
	if response, _ := h.Get(t, "/lots/"+h.Instrument.String()+"/limits.svg"); response.StatusCode != http.StatusNotFound {
		t.Errorf("a drawing of no lot answered %s", response.Status)
	}
}
