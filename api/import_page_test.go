package api_test

import (
	"bytes"
	"html"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/db"
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
