package api_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// lotHouse has two lots: L-1 of three drums read at 17.2, 17.4 and 17.6 %, which
// a laboratory has analysed, and L-2 of one drum that nobody read.
type lotHouse struct {
	*pageHouse
	lot, other ledger.ID
	fills      []ledger.ID
	instrument ledger.ID
}

func lotHouseOf(t *testing.T, outfit db.Outfit) *lotHouse {
	t.Helper()
	twenty := 20.0
	season := entryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	drum := entryAt(0, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	deep := entryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	tank := entryAt(0, &ledger.Tank{Name: "settling tank", Use: ledger.Settling, CapacityG: 4_500_000, HoseMark: "red"})
	store := entryAt(0, &ledger.Room{Name: "drum store", Use: ledger.Store, UsualTemperatureC: &twenty})
	buyer := entryAt(0, &ledger.Buyer{Name: "Northgate Packing"})
	yard := entryAt(0, &ledger.Yard{Name: "Alder Bend"})
	blue := entryAt(0, &ledger.Instrument{Name: "blue refractometer", Scale: ledger.ScaleMoisture, Compensates: true, StdUncertainty: 0.2})
	pull := entryAt(1, &ledger.Pull{YardID: yard.ID, Supers: []ledger.SuperCount{{SuperKindID: deep.ID, Supers: 60}}, HivesWorked: 20})
	run := entryAt(1.2, &ledger.Run{Name: "1", FramesPerSide: 30})
	entries := []*ledger.Entry{season, drum, deep, tank, store, buyer, yard, blue, pull, run,
		entryAt(1.3, &ledger.RunSupers{RunID: run.ID, PullID: pull.ID, SuperCount: ledger.SuperCount{SuperKindID: deep.ID, Supers: 60}}),
		entryAt(1.5, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run.ID}, To: ledger.Place{Kind: ledger.PlaceTank, ID: tank.ID}, MassG: 1_400_000})}
	lot := entryAt(2, &ledger.Lot{Code: "L-1", Product: "clover honey", StoreID: store.ID})
	other := entryAt(2, &ledger.Lot{Code: "L-2"})
	entries = append(entries, lot, other)
	h := &lotHouse{lot: lot.ID, other: other.ID, instrument: blue.ID}
	for i, number := range []string{"D-1", "D-2", "D-3"} {
		fill := entryAt(2.1+float64(i)/100, &ledger.Fill{LotID: lot.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: number, TareG: 18_000, GrossG: 308_000})
		h.fills = append(h.fills, fill.ID)
		entries = append(entries, fill, entryAt(3+float64(i)/100, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: fill.ID}, InstrumentID: blue.ID,
			Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.2 + 0.2*float64(i)}}))
	}
	entries = append(entries,
		entryAt(2.2, &ledger.Fill{LotID: other.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: "D-9", TareG: 18_000, GrossG: 298_000}),
		entryAt(4, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot.ID}, Laboratory: "Fern Valley", ContainersSampled: 3, Measured: []ledger.Measured{
			{Quantity: "hmf_mg_per_kg", Value: 8, StdUncertainty: 0.5, Method: "HPLC"}, {Quantity: "diastase_gothe", Value: 15, StdUncertainty: 1},
		}}))
	h.pageHouse = pagesOf(t, outfit, entries)
	return h
}

func (h *lotHouse) path() string { return "/lots/" + h.lot.String() }

var formID = regexp.MustCompile(`name="id" value="([0-9a-f-]{36})">`)

// decide sends a lot's form as a person does: after looking at the page.
func (h *lotHouse) decide(t *testing.T, by *pageHouse, do string, pairs ...string) (*http.Response, string) {
	t.Helper()
	_, page := by.get(t, h.path())
	form := url.Values{"do": {do}}
	if _, after, ok := strings.Cut(page, `aria-labelledby="`+do+`"`); ok {
		if m := formID.FindStringSubmatch(after); m != nil {
			form.Set("id", m[1])
		}
	}
	for i := 0; i < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	return by.send(t, http.MethodPost, h.path(), form, nil)
}

// state is what the page of the lot says of it.
func (h *lotHouse) state(t *testing.T, by *pageHouse) string {
	t.Helper()
	_, page := by.get(t, h.path())
	m := regexp.MustCompile(`<p class="figure word"><span class="told[^"]*"><span aria-hidden="true">.</span> ([^<]+)</span></p>`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("no state on the page:\n%s", page)
	}
	return m[1]
}

func TestALotIsHeldCheckedAndReleasedOnItsPage(t *testing.T) {
	t.Parallel()
	h := lotHouseOf(t, metricOutfit)
	manager := h.pageHouse
	manager.signIn(t)
	if s := h.state(t, manager); s != "open" {
		t.Fatalf("at first it is %s", s)
	}
	// By hand: 3 drums of 308 - 18 = 290 kg, and (17.2 + 17.4 + 17.6) / 3 = 17.4 %.
	_, page := manager.get(t, h.path())
	wants(t, "the lot", page, "<b>870.0</b> kg", "17.4 %", "Alder Bend", "D-2", "drum store", "Nothing was decided about it yet", "No recorded check speaks of the lot as it is now")

	response, page := h.decide(t, manager, "hold")
	if response.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a hold without a reason answered %s", response.Status)
	}
	wants(t, "a hold without a reason", page, `role="alert"`, "Why is it held?")
	h.decide(t, manager, "hold", "why", "fermentation_risk", "note", "the top of D-3 smells")
	if s := h.state(t, manager); s != "held" {
		t.Errorf("after holding it is %s", s)
	}
	_, page = manager.get(t, h.path())
	wants(t, "held", page, "fermentation risk", "the top of D-3 smells", "Tamsin")

	h.decide(t, manager, "check", "rule_set", "eu-honey", "note", "before the sale")
	_, page = manager.get(t, h.path())
	wants(t, "checked", page, "before the sale", "not measured")
	check := regexp.MustCompile(`<option value="([0-9a-f-]{36})">entry`).FindStringSubmatch(page)
	if check == nil {
		t.Fatal("the check is not offered to release by")
	}
	// Not measured never passes: sugars, acidity and conductivity are missing.
	response, page = h.decide(t, manager, "release", "check_id", check[1], "note", "smelt again: clean")
	if response.StatusCode != http.StatusConflict || h.state(t, manager) != "held" {
		t.Errorf("a release by a check that does not meet answered %s, and the lot is %s", response.Status, h.state(t, manager))
	}
	wants(t, "a release that is refused", page, "does not meet", "smelt again: clean")

	h.decide(t, manager, "override", "note", "sold to a baker who knows")
	if s := h.state(t, manager); s != "released" {
		t.Errorf("after the override it is %s", s)
	}
	_, page = manager.get(t, h.path())
	wants(t, "released", page, "by a manager&#39;s override", "sold to a baker who knows")
}

func TestAFormSentTwiceIsBookedOnce(t *testing.T) {
	t.Parallel()
	h := lotHouseOf(t, metricOutfit)
	h.signIn(t)
	_, page := h.get(t, h.path())
	_, after, _ := strings.Cut(page, `aria-labelledby="hold"`)
	form := url.Values{"do": {"hold"}, "why": {"recall"}, "id": {formID.FindStringSubmatch(after)[1]}}
	for range 2 {
		if response, _ := h.send(t, http.MethodPost, h.path(), form, nil); response.StatusCode != http.StatusOK {
			t.Errorf("holding answered %s", response.Status)
		}
	}
	if _, page = h.get(t, h.path()); strings.Count(page, "held</span>: recall") != 1 {
		t.Errorf("sent twice, it is held %d times", strings.Count(page, "held</span>: recall"))
	}
}

func TestCrewHoldALotAndDoNotReleaseIt(t *testing.T) {
	t.Parallel()
	h := lotHouseOf(t, metricOutfit)
	crew := h.somebody(t, "Wren", db.Crew)
	_, page := crew.get(t, h.path())
	wants(t, "crew", page, "Releasing is a manager&#39;s", `value="hold"`, `value="check"`)
	if strings.Contains(page, `value="release"`) || strings.Contains(page, `value="override"`) {
		t.Error("crew are offered to release")
	}
	h.decide(t, crew, "hold", "why", "other", "note", "a drum leaks")
	if s := h.state(t, crew); s != "held" {
		t.Errorf("crew held it, and it is %s", s)
	}
	response, page := h.decide(t, crew, "override", "note", "in a hurry", "id", "3c7c4e0a-0d9b-4f0e-9a53-5b2f0d1c7a11")
	if response.StatusCode != http.StatusForbidden || !strings.Contains(page, "Not yours to do") {
		t.Errorf("crew releasing on the page are answered %s", response.Status)
	}
	// The interface for programs says the same to the same person.
	response, _ = crew.send(t, http.MethodPost, "/v1/lot-statuses", nil, http.Header{"Content-Type": {"application/json"}})
	if response.StatusCode == http.StatusForbidden {
		t.Errorf("an empty body is not a question of who: %s", response.Status)
	}
	body := `{"id":"3c7c4e0a-0d9b-4f0e-9a53-5b2f0d1c7a11","occurred_at":"2026-08-01T10:00:00-05:00","lot_id":"` + h.lot.String() + `","status":"released","override":true,"note":"in a hurry"}`
	if status := postJSON(t, crew, "/v1/lot-statuses", body); status != http.StatusForbidden {
		t.Errorf("crew releasing through the interface are answered %d", status)
	}
	if s := h.state(t, crew); s != "held" {
		t.Errorf("crew could not release it, and it is %s", s)
	}

	reader := h.somebody(t, "Linnet", db.Reader)
	if response, page := h.decide(t, reader, "hold", "why", "recall", "id", "4c7c4e0a-0d9b-4f0e-9a53-5b2f0d1c7a11"); response.StatusCode != http.StatusForbidden || strings.Contains(page, `value="hold"`) {
		t.Errorf("a reader holding a lot is answered %s", response.Status)
	}
}

func postJSON(t *testing.T, h *pageHouse, path, body string) int {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.url+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	response, err := h.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	return response.StatusCode
}

func TestALotsFormFromElsewhereIsRefused(t *testing.T) {
	t.Parallel()
	h := lotHouseOf(t, metricOutfit)
	h.signIn(t)
	form := url.Values{"do": {"hold"}, "why": {"recall"}, "id": {"3c7c4e0a-0d9b-4f0e-9a53-5b2f0d1c7a11"}}
	response, _ := h.send(t, http.MethodPost, h.path(), form, http.Header{"Sec-Fetch-Site": {"cross-site"}})
	if response.StatusCode != http.StatusForbidden || h.state(t, h.pageHouse) != "open" {
		t.Errorf("another site's form answered %s", response.Status)
	}
}

func TestACheckThatRestsOnWhatChangedIsMarkedOnTheLotsPage(t *testing.T) {
	t.Parallel()
	h := lotHouseOf(t, metricOutfit)
	h.signIn(t)
	h.decide(t, h.pageHouse, "check", "rule_set", "eu-honey")
	if _, page := h.get(t, h.path()); strings.Contains(page, "No longer speaks of the lot") {
		t.Error("a check made just now is marked")
	}
	h.recordMore(t, entryAt(5, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: h.fills[0]}, InstrumentID: h.instrument,
		Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 19.9}}))
	_, page := h.get(t, h.path())
	wants(t, "a reading came", page, "No longer speaks of the lot as it is: readings were added or changed since.", "No recorded check speaks of the lot as it is now")
}

func TestTheLotsOfASeasonAreSiftedByState(t *testing.T) {
	t.Parallel()
	h := lotHouseOf(t, metricOutfit)
	h.signIn(t)
	h.decide(t, h.pageHouse, "hold", "why", "recall")
	for state, want := range map[string][2]bool{"": {true, true}, "held": {true, false}, "open": {false, true}, "gone": {false, false}} {
		_, page := h.get(t, "/lots?state="+state)
		for i, code := range []string{">L-1</a>", ">L-2</a>"} {
			if strings.Contains(page, code) != want[i] {
				t.Errorf("state %q: %s is shown: %t", state, code, !want[i])
			}
		}
	}
	_, page := h.get(t, "/lots?state=gone")
	wants(t, "none is gone", page, "No lot of this season is in that state.")
	if response, _ := h.get(t, "/lots?state=lost"); response.StatusCode != http.StatusNotFound {
		t.Errorf("a state that is none answered %s", response.Status)
	}
	// By eu-honey L-1 lacks results; by nothing else is asked for it.
	_, page = h.get(t, "/lots?rule_set=eu-honey")
	wants(t, "by one rule set", page, "not measured", "870.0", "17.4", "Must go first")
}

func TestALotSpeaksSpanishAndPounds(t *testing.T) {
	t.Parallel()
	h := lotHouseOf(t, usOutfit)
	h.signIn(t)
	h.decide(t, h.pageHouse, "hold", "why", "fermentation_risk")
	spanish := http.Header{"Accept-Language": {"es-MX"}}
	_, page := h.send(t, http.MethodGet, h.path(), nil, spanish)
	// 870 kg / 0.45359237 = 1918.0 lb; 20 C are 68 F.
	wants(t, "in Spanish", page, "retenido", "riesgo de fermentación", "1,918.0", "68 °F", "humedad", "cumple", "no medido", "como mucho", "Liberarlo")
	for _, english := range []string{">moisture", "at most", "at least", "not measured", "yeast", "nothing tells", "Hold it"} {
		if strings.Contains(page, english) {
			t.Errorf("the page in Spanish has %q", english)
		}
	}
	_, page = h.send(t, http.MethodGet, "/lots", nil, http.Header{"Accept-Language": {"es"}})
	wants(t, "the lots in Spanish", page, "Lotes", "retenido", "1.918,0", "17,4", "Dictamen")
}
