package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"html"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// sendSheet sends the page's form with a file, as a browser does.
func sendSheet(t *testing.T, h *apitest.House, form url.Values, name, content string) (*http.Response, string) {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for key := range form {
		if err := w.WriteField(key, form.Get(key)); err != nil {
			t.Fatal(err)
		}
	}
	part, err := w.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	part.Write([]byte(content))
	w.Close()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.URL+"/import", &body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", w.FormDataContentType())
	r.Header.Set("Accept", "text/html")
	response, err := h.Client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	text := new(bytes.Buffer)
	if _, err := text.ReadFrom(response.Body); err != nil {
		t.Fatal(err)
	}
	return response, text.String()
}

func TestBringingSheetsInIsAManagers(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	odell := h.Somebody(t, "Odell", db.Crew)
	if response, body := odell.Get(t, "/import"); response.StatusCode != http.StatusForbidden || !strings.Contains(body, "Only a manager may see this page.") {
		t.Errorf("the page answered %s to crew", response.Status)
	}
	form := url.Values{"id": {uuid.NewString()}, "kind": {"pulls"}, "do": {"store"}}
	if response, _ := sendSheet(t, odell, form, "old.csv", apitest.OldPulls); response.StatusCode != http.StatusForbidden {
		t.Errorf("a sheet of crew's answered %s", response.Status)
	}
	h.SignIn(t)
	for _, wrong := range []struct{ key, value string }{{"id", "x"}, {"kind", "cows"}} {
		bad := url.Values{"id": {uuid.NewString()}, "kind": {"pulls"}, "do": {"look"}}
		bad.Set(wrong.key, wrong.value)
		if response, _ := sendSheet(t, h, bad, "old.csv", apitest.OldPulls); response.StatusCode < 400 || response.StatusCode >= 500 {
			t.Errorf("the %s %s answered %s", wrong.key, wrong.value, response.Status)
		}
	}
}

// A table of yards is asked about on the page too: a name spelt nearly like another,
// and one that could be the word above a sum.
func TestYardsOfATableAreAskedAboutOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	const yards = "Yard\nAlder Bnd\nTotal Acres\n"
	form := url.Values{"id": {uuid.NewString()}, "kind": {"yards"}, "do": {"look"}}
	_, body := sendSheet(t, h, form, "yards.csv", yards)
	for _, key := range []string{"mapping", "mapping_of"} {
		value := regexp.MustCompile(`name="` + key + `" value="([^"]*)"`).FindStringSubmatch(body)
		if value == nil {
			t.Fatalf("the page has no %s", key)
		}
		form.Set(key, html.UnescapeString(value[1]))
	}
	form.Set("field A", "name")
	for _, name := range []string{"Alder Bnd", "Total Acres"} {
		key := "name yard " + name
		if !strings.Contains(body, `name="`+key+`"`) {
			t.Errorf("the page does not ask what %s is", name)
		}
		form.Set(key, "new")
	}
	form.Set("do", "store")
	_, body = sendSheet(t, h, form, "yards.csv", yards)
	if got := h.SQL(t, "SELECT count(*)::text FROM entry WHERE kind = 'yard'"); got[0] != "3" {
		t.Errorf("%s yards, not 3: %s", got[0], body)
	}
}

// TestAPersonSaysWhichColumnABuyersParameterIs: the page offers what rule sets of the outfit
// name, asks for its unit, and the lot's page then shows the result.
func TestAPersonSaysWhichColumnABuyersParameterIs(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	h.RecordMore(t, apitest.EntryAt(2, &ledger.RuleSet{Name: "Northgate residues", Citation: "contract 7", Form: standard.FormLimits,
		Parameters: []standard.OwnParameter{{Name: "glyphosate", Label: "Glyphosate in honey", Unit: "µg/kg", Maximum: "100000"}, {Name: "tylosin", Label: "Tylosin A", Words: []string{"not detected", "detected"}}},
		Limits:     []standard.Limit{{Parameter: "glyphosate", Unit: "µg/kg", Comparator: standard.AtMost, Limit: "50", Clause: "2"}, {Parameter: "tylosin", Comparator: standard.Is, Limit: "not detected", Clause: "3"}}}))
	const sheet = "Date,Lot,Lab,GLY,Tylosin A\n2026-07-08,L-1,Fern Valley,0.062,not detected\n"
	form := url.Values{"id": {uuid.NewString()}, "kind": {"readings"}, "do": {"look"}}
	look := func() string {
		t.Helper()
		response, body := sendSheet(t, h.House, form, "results.csv", sheet)
		if response.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", response.Status, body)
		}
		for _, key := range []string{"mapping", "mapping_of"} {
			value := regexp.MustCompile(`name="` + key + `" value="([^"]*)"`).FindStringSubmatch(body)
			if value == nil {
				t.Fatalf("the page has no %s", key)
			}
			form.Set(key, html.UnescapeString(value[1]))
		}
		for _, column := range []string{"A", "B", "C", "D", "E"} {
			for _, what := range []string{"field ", "unit "} {
				_, after, _ := strings.Cut(body, `<select name="`+what+column+`"`)
				asked, _, _ := strings.Cut(after, "</select>")
				if chosen := regexp.MustCompile(`<option value="([^"]*)" selected>`).FindStringSubmatch(asked); chosen != nil {
					form.Set(what+column, html.UnescapeString(chosen[1]))
				}
			}
		}
		return body
	}
	wants(t, "the page", look(), `<option value="own_parameter glyphosate">own parameter: Glyphosate in honey</option>`, `<option value="own_parameter tylosin" selected>own parameter: Tylosin A</option>`)
	form.Set("field D", "own_parameter glyphosate")
	wants(t, "the page once it is said", look(), `<option value="own_parameter glyphosate" selected>`, "In which unit is this? Say it for column D (GLY).", `<option value="mg/kg">mg/kg</option>`)
	form.Set("unit D", "mg/kg")
	wants(t, "the page once its unit is said", look(), `value="store"`)
	form.Set("do", "store")
	wants(t, "the page once it is stored", look(), "It is in the book")
	results, err := json.Marshal(h.Ask(t, "readings"))
	if err != nil {
		t.Fatal(err)
	}
	wants(t, "the list of results", string(results), `"parameter":"glyphosate"`, `"unit":"mg/kg"`, `"value":0.062`, `"word":"not detected"`)
	_, spanish := h.Send(t, http.MethodGet, h.Path(), nil, http.Header{"Accept-Language": {"es"}})
	wants(t, "the lot's page in Spanish", spanish, "Glyphosate in honey", "62", "Tylosin A")
}

// Two loggers write the same headings, and the second stands in another tank: what was said
// of the first one's file is shown, and holds for the second only if somebody says so.
func TestASecondLoggersFileIsAskedAboutOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	hidden := func(body, name string) string {
		t.Helper()
		value := regexp.MustCompile(`name="` + name + `" value="([^"]*)"`).FindStringSubmatch(body)
		if value == nil {
			t.Fatalf("the page has no %s:\n%s", name, body)
		}
		return html.UnescapeString(value[1])
	}
	const first, second = "Date,Lot,Lab,HMF\n2026-07-08,L-1,Fern Valley,12\n", "Date,Lot,Lab,HMF\n2026-07-09,L-1,Fern Valley,13\n"
	form := url.Values{"id": {uuid.NewString()}, "kind": {"readings"}, "do": {"look"}}
	send := func(content string, change ...string) string {
		t.Helper()
		for i := 0; i < len(change); i += 2 {
			form.Set(change[i], change[i+1])
		}
		_, body := sendSheet(t, h.House, form, "results.csv", content)
		for _, key := range []string{"id", "mapping", "mapping_of", "mapping_file"} {
			form.Set(key, hidden(body, key))
		}
		return body
	}
	send(first)
	for column, field := range map[string]string{"A": "date", "B": "lot", "C": "laboratory", "D": "hmf_mg_per_kg"} {
		form.Set("field "+column, field)
	}
	m := strings.Replace(form.Get("mapping"), `"columns"`, `"fixed":{"hmf_method":"HPLC"},"columns"`, 1)
	if body := send(first, "mapping", m, "do", "store"); !strings.Contains(body, "It is in the book") {
		t.Fatalf("the first sheet: %s", body)
	}

	body := send(second, "do", "store")
	if !strings.Contains(body, "The file before has the same headings") || !strings.Contains(body, "is HPLC in all rows.") || strings.Contains(body, "It is in the book") {
		t.Fatalf("the second sheet after the first: %s", body)
	}
	form.Set("offered", hidden(body, "offered"))
	if body = send(second, "do", "again"); strings.Contains(form.Get("mapping"), "as_last_time") || !strings.Contains(form.Get("mapping"), "HPLC") || strings.Contains(body, `id="last-time"`) {
		t.Errorf("said again: %s", form.Get("mapping"))
	}
	if body = send(second, "do", "store"); !strings.Contains(body, "It is in the book") {
		t.Errorf("said again, and stored: %s", body)
	}

	// Another day, by a page that was opened anew.
	form = url.Values{"id": {uuid.NewString()}, "kind": {"readings"}, "do": {"store"}}
	if body = send("Date,Lot,Lab,HMF\n2026-07-10,L-1,Fern Valley,14\n"); !strings.Contains(body, "results.csv, brought in at") || strings.Contains(body, "It is in the book") {
		t.Errorf("another day: %s", body)
	}
}

// Somebody else holds the book, so that a sheet that was read waits to be stored. Whoever comes
// to the page meanwhile sees how far it is, and afterwards that it is in the book.
func TestWhoeverComesMeanwhileSeesHowFarASheetIs(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	h.SignIn(t)
	conn, err := pgx.Connect(t.Context(), h.Address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	tx, err := conn.Begin(t.Context())
	if err == nil {
		_, err = tx.Exec(t.Context(), "SELECT 1 FROM book WHERE outfit_id = $1 FOR UPDATE", h.Outfit)
	}
	if err != nil {
		t.Fatal(err)
	}
	stored := make(chan string, 1)
	go func() {
		_, body := sendSheet(t, h, url.Values{"id": {uuid.NewString()}, "kind": {"yards"}, "do": {"store"}}, "yards.csv", "Yard\nMill Race\nSedge Hollow\n")
		stored <- body
	}()
	for end := time.Now().Add(time.Minute); ; time.Sleep(10 * time.Millisecond) {
		_, body := h.Get(t, "/import")
		if strings.Contains(body, "A file is being read: 2 rows so far.") {
			wants(t, "the page meanwhile", body, "On its way just now", `<a class="act" href="/import">Look how far it is</a>`)
			break
		}
		if time.Now().After(end) {
			t.Fatalf("the page never says how far the sheet is:\n%s", body)
		}
	}
	if err := tx.Rollback(t.Context()); err != nil {
		t.Fatal(err)
	}
	wants(t, "the sheet's own page", <-stored, "It is in the book")
	if _, body := h.Get(t, "/import"); strings.Contains(body, "On its way just now") {
		t.Error("the sheet is in the book, and still on its way")
	}
}
