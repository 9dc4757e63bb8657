package api_test

import (
	"bytes"
	"html"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/ledger"
)

const oldPulls = "date,yard,deeps,gross lb\n" +
	"2026-07-03,Alder Bend,40,3100\n" +
	"2026-07-05,Alder Bnd,20,1500\n" +
	"2026-07-06,Mill Race,10,61 lb\n" +
	"total,,70,4661\n"

func sheetHouse(t *testing.T) *pageHouse {
	t.Helper()
	return pagesOf(t, usOutfit, []*ledger.Entry{
		entryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}),
		entryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000}),
		entryAt(0, &ledger.Yard{Name: "Alder Bend"}),
	})
}

// sendSheet sends the page's form with a file, as a browser does.
func sendSheet(t *testing.T, h *pageHouse, form url.Values, name, content string) (*http.Response, string) {
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
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.url+"/import", &body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", w.FormDataContentType())
	r.Header.Set("Accept", "text/html")
	response, err := h.client.Do(r)
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
	h := sheetHouse(t)
	odell := h.somebody(t, "Odell", db.Crew)
	if response, body := odell.get(t, "/import"); response.StatusCode != http.StatusForbidden || !strings.Contains(body, "not yours") {
		t.Errorf("the page answered %s to crew", response.Status)
	}
	form := url.Values{"id": {uuid.NewString()}, "kind": {"pulls"}, "do": {"store"}}
	if response, _ := sendSheet(t, odell, form, "old.csv", oldPulls); response.StatusCode != http.StatusForbidden {
		t.Errorf("a sheet of crew's answered %s", response.Status)
	}
	h.signIn(t)
	for _, wrong := range []struct{ key, value string }{{"id", "x"}, {"kind", "cows"}} {
		bad := url.Values{"id": {uuid.NewString()}, "kind": {"pulls"}, "do": {"look"}}
		bad.Set(wrong.key, wrong.value)
		if response, _ := sendSheet(t, h, bad, "old.csv", oldPulls); response.StatusCode < 400 || response.StatusCode >= 500 {
			t.Errorf("the %s %s answered %s", wrong.key, wrong.value, response.Status)
		}
	}
}

// TestASheetIsBroughtInOnThePage is a person's way through it, in a browser: look,
// say what names mean, leave the total out, bring in, and once more in vain.
func TestASheetIsBroughtInOnThePage(t *testing.T) {
	t.Parallel()
	fromEverywhere(t, startBrowser(t), bringASheetIn)
}

func bringASheetIn(t *testing.T, from *browser) {
	h := sheetHouse(t)
	file := filepath.Join(t.TempDir(), "old pulls.csv")
	if err := os.WriteFile(file, []byte(oldPulls), 0o600); err != nil {
		t.Fatal(err)
	}
	b := from.device(t, "en-GB")
	b.cutOff = false
	b.resize(1280, 800)
	b.signIn(h)
	b.open(b.at(h) + "/import")
	b.complain("import")
	click := func(button string) {
		t.Helper()
		b.do(chromedp.Click(chromedp.CSS(button)))
		evaluated[bool](b, `new Promise(done => { const look = () => document.querySelector('button[disabled]') || !document.getElementById('on-its-way').hidden ? setTimeout(look, 20) : done(true); setTimeout(look, 20); })`)
	}
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file}))
	evaluated[bool](b, `document.getElementById('kind').value = 'pulls', true`)
	click(`#the-file ~ * button, .line button[value="look"]`)
	b.complain("import with problems")
	b.picture(filepath.Join(screenshots, "import-problems-laptop.png"), 1280, 800)
	text := evaluated[string](b, `document.getElementById('answer').innerText`)
	for _, want := range []string{"Alder Bnd", "Alder Bend, spelt otherwise", "Mill Race", "row 5"} {
		if !strings.Contains(text, want) {
			t.Errorf("looking at the sheet does not say %q:\n%s", want, text)
		}
	}
	for _, forPrograms := range []string{"(is)", "(create)", "leave_out_totals"} {
		if strings.Contains(text, forPrograms) {
			t.Errorf("the page says %s, which is for programs", forPrograms)
		}
	}
	if got := h.sql(t, "SELECT count(*)::text FROM entry WHERE kind = 'pull'"); got[0] != "0" {
		t.Fatalf("looking stored %s pulls", got[0])
	}
	evaluated[bool](b, `document.querySelector('[name="name yard Alder Bnd"]').value = 'is Alder Bend',
		document.querySelector('[name="name yard Mill Race"]').value = 'new', document.getElementById('totals').checked = true, true`)
	click(`#columns-again, #answer button[value="look"]`)
	text = evaluated[string](b, `document.getElementById('answer').innerText`)
	if !strings.Contains(text, "Bring it in") {
		t.Fatalf("nothing is wrong any more, and yet:\n%s", text)
	}
	b.picture(filepath.Join(screenshots, "import-ready-laptop.png"), 1280, 800)
	click(`button[value="store"]`)
	if text = evaluated[string](b, `document.getElementById('answer').innerText`); !strings.Contains(text, "It is in the book") {
		t.Fatalf("after bringing it in:\n%s", text)
	}
	if got := h.sql(t, "SELECT count(*)::text FROM entry WHERE kind IN ('pull', 'yard', 'import')"); got[0] != "6" {
		t.Errorf("pulls, yards and imports are %s, not 3, 2 and 1", got[0])
	}
	click(`#answer button[value="look"]`)
	if text = evaluated[string](b, `document.getElementById('answer').innerText`); !strings.Contains(text, "Nothing in it is new") {
		t.Errorf("the same file again:\n%s", text)
	}
	b.speak(h, "es")
	b.resize(320, 640)
	b.open(b.at(h) + "/import")
	b.complain("import in Spanish")
	b.picture(filepath.Join(screenshots, "import-es-phone.png"), 320, 640)
	h.signIn(t)
	_, body := h.get(t, "/import")
	entry := regexp.MustCompile(`href="(/journal/[^"]+)">old pulls.csv`).FindStringSubmatch(body)
	if entry == nil {
		t.Fatal("the import is not listed")
	}
	h.send(t, http.MethodPost, entry[1]+"/withdraw", url.Values{"id": {uuid.NewString()}, "reason": {"the wrong year"}}, nil)
	if _, body = h.get(t, "/import"); !strings.Contains(body, "<b>withdrawn</b>") {
		t.Error("an import that was withdrawn is not said to be")
	}
}

// A table of yards is asked about on the page too: a name spelt nearly like another,
// and one that could be the word above a sum.
func TestYardsOfATableAreAskedAboutOnThePage(t *testing.T) {
	t.Parallel()
	h := sheetHouse(t)
	h.signIn(t)
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
	if got := h.sql(t, "SELECT count(*)::text FROM entry WHERE kind = 'yard'"); got[0] != "3" {
		t.Errorf("%s yards, not 3: %s", got[0], body)
	}
}
