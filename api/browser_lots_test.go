package api_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pullbook/db"
	"pullbook/domain/invented"
)

// firstLink is the first address on a page that leads into a folder.
func (b *browser) firstLink(h *pageHouse, page, within string) string {
	b.t.Helper()
	b.open(b.at(h) + page)
	return evaluated[string](b, `new URL(document.querySelector('a[href^="`+within+`/"]').href).pathname`)
}

// lotPaths are the addresses of pages about the lot in that state that a table of
// lots shows first.
func (b *browser) lotIn(h *pageHouse, state string) string {
	b.t.Helper()
	return b.firstLink(h, "/lots?state="+state, "/lots")
}

// paper is a size of sheet, in inches.
type paper struct {
	name          string
	width, height float64
}

var papers = []paper{{"a4", 210 / 25.4, 297 / 25.4}, {"letter", 8.5, 11}}

// printed prints the page that is open as the browser's user would, keeps it to
// be looked at, and counts its sheets.
func (b *browser) printed(name string, p paper) int {
	b.t.Helper()
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(func(to *page.PrintToPDFParams) { to.PaperWidth, to.PaperHeight = p.width, p.height }))
	if err != nil {
		b.t.Fatalf("in the browser: %v", err)
	}
	if err := os.MkdirAll(screenshots, 0o755); err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(screenshots, name+"-"+p.name+".pdf"), pdf, 0o644); err != nil {
		b.t.Fatal(err)
	}
	return bytes.Count(pdf, []byte("/Type /Page\n"))
}

// tooFull names what of a label does not fit it.
const tooFull = `[...document.querySelectorAll('.label, .says-what')].filter(e => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1).map(e => e.innerText.slice(0, 60))`

// TestWhatIsPrintedFitsItsPaper prints labels, blank sheets, the sheets and the
// season's report on A4 and on Letter.
func TestWhatIsPrintedFitsItsPaper(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	h := pagesOf(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, invented.Demo(loc).Entries)
	long := pagesOf(t, db.Outfit{Name: strings.TrimSpace(strings.Repeat("Upper Sedge Hollow Apiaries & Daughters ", 2)), TimeZone: loc.String(), Units: "us"}, longNames())
	b := startViewer(t)
	b.resize(1280, 800)
	b.signIn(h)
	lot := b.lotIn(h, "released")
	b.open(b.at(h) + lot + "/labels")
	labels := evaluated[int](b, `document.querySelectorAll('.label').length`)
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
		b.open(b.at(h) + path)
		if cut := evaluated[[]string](b, tooFull); len(cut) > 0 {
			t.Errorf("%s: cut off: %q", path, cut)
		}
		for _, p := range papers {
			name := strings.NewReplacer(lot, "lot", "/", "-", "?", "-", "=", "-").Replace(path)
			if n := b.printed("paper"+name[:min(len(name), 20)], p); n < want[0] || n > want[1] {
				t.Errorf("%s prints on %d sheets of %s, not %d to %d", path, n, p.name, want[0], want[1])
			}
		}
	}
	b.speak(h, "es")
	b.open(b.at(h) + "/print/blank/run")
	if n := b.printed("paper-es-run", papers[0]); n != 1 {
		t.Errorf("in Spanish the sheet of a run prints on %d sheets", n)
	}
	b.signOut(h)
	b.signIn(long)
	b.speak(long, "en")
	path := b.firstLink(long, "/lots", "/lots") + "/labels"
	for i, address := range []string{path, path + "?each=1", "/print/blank/pull"} {
		b.open(b.at(long) + address)
		if cut := evaluated[[]string](b, tooFull); len(cut) > 0 {
			t.Errorf("%s with long names: cut off: %q", address, cut)
		}
		if n := b.printed(fmt.Sprint("paper-long-", i), papers[1]); n != 1 {
			t.Errorf("%s with long names prints on %d sheets", address, n)
		}
	}
}
