package work_test

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// TestASheetIsBroughtInOnThePage is a person's way through it, in a browser: look,
// say what names mean, leave the total out, bring in, and once more in vain.
func TestASheetIsBroughtInOnThePage(t *testing.T) {
	t.Parallel()
	browsertest.AtEach(t, browsertest.Origins(), browsertest.Start(t), bringASheetIn)
}

func bringASheetIn(t *testing.T, from *browsertest.Browser) {
	h := apitest.OpenForSheets(t)
	file := filepath.Join(t.TempDir(), "old pulls.csv")
	if err := os.WriteFile(file, []byte(apitest.OldPulls), 0o600); err != nil {
		t.Fatal(err)
	}
	b := from.Device(t, "en-GB")
	b.CutOff = false
	b.Resize(1280, 800)
	b.SignIn(h)
	b.Open(b.At(h) + "/import")
	b.Complain("import")
	click := func(button string) {
		t.Helper()
		b.Do(chromedp.Click(chromedp.CSS(button)))
		browsertest.Evaluated[bool](b, `new Promise(done => { const look = () => document.querySelector('button[disabled]') || !document.getElementById('on-its-way').hidden ? setTimeout(look, 20) : done(true); setTimeout(look, 20); })`)
	}
	b.Do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file}))
	browsertest.Evaluated[bool](b, `document.getElementById('kind').value = 'pulls', true`)
	click(`#the-file ~ * button, .line button[value="look"]`)
	b.Complain("import with problems")
	b.Picture("import-problems-laptop", 1280, 800)
	text := browsertest.Evaluated[string](b, `document.getElementById('answer').innerText`)
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
	if got := h.SQL(t, "SELECT count(*)::text FROM entry WHERE kind = 'pull'"); got[0] != "0" {
		t.Fatalf("looking stored %s pulls", got[0])
	}
	browsertest.Evaluated[bool](b, `document.querySelector('[name="name yard Alder Bnd"]').value = 'is Alder Bend',
		document.querySelector('[name="name yard Mill Race"]').value = 'new', document.getElementById('totals').checked = true, true`)
	click(`#columns-again, #answer button[value="look"]`)
	text = browsertest.Evaluated[string](b, `document.getElementById('answer').innerText`)
	if !strings.Contains(text, "Bring it in") {
		t.Fatalf("nothing is wrong any more, and yet:\n%s", text)
	}
	b.Picture("import-ready-laptop", 1280, 800)
	click(`button[value="store"]`)
	if text = browsertest.Evaluated[string](b, `document.getElementById('answer').innerText`); !strings.Contains(text, "It is in the book") {
		t.Fatalf("after bringing it in:\n%s", text)
	}
	if got := h.SQL(t, "SELECT count(*)::text FROM entry WHERE kind IN ('pull', 'yard', 'import')"); got[0] != "6" {
		t.Errorf("pulls, yards and imports are %s, not 3, 2 and 1", got[0])
	}
	click(`#answer button[value="look"]`)
	if text = browsertest.Evaluated[string](b, `document.getElementById('answer').innerText`); !strings.Contains(text, "Nothing in it is new") {
		t.Errorf("the same file again:\n%s", text)
	}
	b.Speak(h, "es")
	b.Resize(320, 640)
	b.Open(b.At(h) + "/import")
	b.Complain("import in Spanish")
	b.Picture("import-es-phone", 320, 640)
	h.SignIn(t)
	_, body := h.Get(t, "/import")
	entry := regexp.MustCompile(`href="(/journal/[^"]+)">old pulls.csv`).FindStringSubmatch(body)
	if entry == nil {
		t.Fatal("the import is not listed")
	}
	h.Send(t, http.MethodPost, entry[1]+"/withdraw", url.Values{"id": {uuid.NewString()}, "reason": {"the wrong year"}}, nil)
	if _, body = h.Get(t, "/import"); !strings.Contains(body, "<b>withdrawn</b>") {
		t.Error("an import that was withdrawn is not said to be")
	}
}
