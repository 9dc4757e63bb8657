package paper_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/db"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestWhatIsPrintedFitsItsPaper prints labels, blank sheets, the sheets and the
// season's report on A4 and on Letter.
func TestWhatIsPrintedFitsItsPaper(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	h := apitest.Open(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, demo.Example(loc).Entries)
	long := apitest.Open(t, db.Outfit{Name: strings.TrimSpace(strings.Repeat("Upper Sedge Hollow Apiaries & Daughters ", 2)), TimeZone: loc.String(), Units: "us"}, apitest.LongNames())
	b := browsertest.Start(t)
	b.Resize(1280, 800)
	b.SignIn(h)
	lot := b.LotIn(h, "released")
	b.Open(b.At(h) + lot + "/labels")
	labels := browsertest.Evaluated[int](b, `document.querySelectorAll('.label').length`)
	sheets := map[string][2]int{ // the fewest and the most sheets
		lot + "/labels":        {(labels + 7) / 8, (labels + 7) / 8},
		lot + "/labels?each=1": {labels, labels},
		lot + "/sheet":         {1, 2},
		lot:                    {2, 8},
		"/season":              {1, 6},
		"/balance":             {2, 8},
		"/balance/drying":      {1, 4},
		"/balance/instruments": {1, 6},
		"/recall?of=" + strings.TrimPrefix(lot, "/lots/"): {1, 8},
	}
	for _, kind := range []string{"reading", "fill", "transfer", "run", "pull", "temperature", "stocktake", "wash"} {
		sheets["/print/blank/"+kind] = [2]int{1, 1}
	}
	for path, want := range sheets {
		b.Open(b.At(h) + path)
		if cut := browsertest.Evaluated[[]string](b, browsertest.TooFull); len(cut) > 0 {
			t.Errorf("%s: cut off: %q", path, cut)
		}
		for _, p := range browsertest.Papers {
			name := strings.NewReplacer(lot, "lot", "/", "-", "?", "-", "=", "-").Replace(path)
			if n := b.Printed("paper"+name[:min(len(name), 20)], p); n < want[0] || n > want[1] {
				t.Errorf("%s prints on %d sheets of %s, not %d to %d", path, n, p.Name, want[0], want[1])
			}
		}
	}
	b.Speak(h, "es")
	b.Open(b.At(h) + "/print/blank/run")
	if n := b.Printed("paper-es-run", browsertest.Papers[0]); n != 1 {
		t.Errorf("in Spanish the sheet of a run prints on %d sheets", n)
	}
	b.SignOut(h)
	b.SignIn(long)
	b.Speak(long, "en")
	path := b.FirstLink(long, "/lots", "/lots") + "/labels"
	for i, address := range []string{path, path + "?each=1", "/print/blank/pull"} {
		b.Open(b.At(long) + address)
		if cut := browsertest.Evaluated[[]string](b, browsertest.TooFull); len(cut) > 0 {
			t.Errorf("%s with long names: cut off: %q", address, cut)
		}
		if n := b.Printed(fmt.Sprint("paper-long-", i), browsertest.Papers[1]); n != 1 {
			t.Errorf("%s with long names prints on %d sheets", address, n)
		}
	}
}

// TestASheetAndItsAnswerInABrowser looks at the sheet of a lot of 400 drums from 36
// yards, prints it as a browser does, and asks whether it stands.
func TestASheetAndItsAnswerInABrowser(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(0, "the run")
	o.Supers(0, run, o.Pull(-20, o.Mill, 40, 0), 40)
	for n := range 35 {
		o.Supers(0, run, o.Pull(-20, o.SetUp(&ledger.Yard{Name: fmt.Sprint("yard ", n)}), 10, 0), 10)
	}
	o.Out(1, run, o.Settling, 1_000_000)
	lot := o.Lot(2, "26-001")
	for n := range 400 {
		drum := o.Fill(3+float64(n)/100, lot, o.Settling, fmt.Sprint("D-", n+1), 290_000)
		read := ledgertest.Moisture(ledger.PlaceContainer, drum, 17+float64(n%10)/10)
		read.InstrumentID = o.Refractometer
		o.Write(8, read)
	}
	h := apitest.Open(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: "America/Winnipeg", Units: "metric"}, o.Entries)

	b := browsertest.Start(t)
	b.Resize(1280, 800)
	b.SignIn(h)
	for _, size := range []browsertest.Size{browsertest.Sizes[0], browsertest.Sizes[2]} {
		look := b.LookAt(size)
		look("sheet-of-400", h, browsertest.SheetOf(lot))
		look("verify", h, browsertest.Evaluated[string](b, `new URL(document.querySelector('.address a').href).pathname`))
		if text := browsertest.Evaluated[string](b, `document.querySelector('h1').textContent`); text != "stands" {
			t.Errorf("the sheet that is shown %s", text)
		}
		look("verify-unknown", h, "/verify/none")
	}
	b.Open(b.At(h) + browsertest.SheetOf(lot))
	printed, err := chromedp.Run(b.Ctx, chromedp.PrintToPDF())
	if err != nil {
		t.Fatalf("in the browser: %v", err)
	}
	if pages := bytes.Count(printed, []byte("/Type /Page\n")); pages < 1 || pages > 2 {
		t.Errorf("the page prints on %d sheets", pages)
	}
	browsertest.Keep(t, "sheet-of-400.pdf", printed)
}
