package api_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

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
	h := pagesOf(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: "America/Winnipeg", Units: "metric"}, o.Entries)

	b := startViewer(t)
	b.resize(1280, 800)
	b.signIn(h)
	for _, size := range []size{sizes[0], sizes[2]} {
		look := b.lookAt(size)
		look("sheet-of-400", h, sheetOf(lot))
		look("verify", h, evaluated[string](b, `new URL(document.querySelector('.address a').href).pathname`))
		if text := evaluated[string](b, `document.querySelector('h1').textContent`); text != "stands" {
			t.Errorf("the sheet that is shown %s", text)
		}
		look("verify-unknown", h, "/verify/none")
	}
	b.open(b.at(h) + sheetOf(lot))
	printed, err := chromedp.Run(b.ctx, chromedp.PrintToPDF())
	if err != nil {
		t.Fatalf("in the browser: %v", err)
	}
	if pages := bytes.Count(printed, []byte("/Type /Page\n")); pages < 1 || pages > 2 {
		t.Errorf("the page prints on %d sheets", pages)
	}
	if err := os.WriteFile(filepath.Join(screenshots, "sheet-of-400.pdf"), printed, 0o644); err != nil {
		t.Fatal(err)
	}
}

func sheetOf(lot ledger.ID) string { return "/lots/" + lot.String() + "/sheet" }
