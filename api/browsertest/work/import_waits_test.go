package work_test

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// Who brings a file in while others' are read is told how many come before it, and then that
// it is being read.
func TestThePageSaysForHowManyFilesItWaits(t *testing.T) {
	t.Parallel()
	h := apitest.OpenForSheets(t)
	file := filepath.Join(t.TempDir(), "old pulls.csv")
	if err := os.WriteFile(file, []byte(apitest.OldPulls), 0o600); err != nil {
		t.Fatal(err)
	}
	b := browsertest.Start(t).Device(t, "en-GB")
	b.CutOff = false
	b.Resize(360, 740)
	b.SignIn(h)
	for _, language := range []struct{ speaks, waits, reads string }{
		{"en", "Other files are read first, and this one waits. Files before it: 3", "The file is being read. 12"},
		{"es", "Primero se leen otros archivos, y este espera. Archivos antes que él: 3", "El archivo se está leyendo. 12"},
	} {
		b.Speak(h, language.speaks)
		b.Open(b.At(h) + "/import")
		// The service answers as the contract has it; the file itself never comes to its end.
		browsertest.Evaluated[bool](b, `window.progressNow = {state: "waiting", rows: 0, waits_for: 3},
			window.fetch = address => address.startsWith("/import/progress/") ? Promise.resolve(Response.json(window.progressNow)) : new Promise(() => {}), true`)
		b.Do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{file}), chromedp.Click(chromedp.CSS(`.line button[value="look"]`)))
		says := func(want string) {
			t.Helper()
			if got := browsertest.Evaluated[string](b, `new Promise(done => { const end = Date.now() + 20000, look = () => {
				const said = document.getElementById("on-its-way").innerText.replace(/\s+/g, " ").trim()
				said === `+strconv.Quote(want)+` || Date.now() > end ? done(said) : setTimeout(look, 50) }; look() })`); got != want {
				t.Errorf("the page says %q, not %q", got, want)
			}
		}
		says(language.waits)
		b.Picture("import-waits-"+language.speaks, 360, 740)
		browsertest.Evaluated[bool](b, `window.progressNow = {state: "reading", rows: 12}, true`)
		says(language.reads)
	}
}
