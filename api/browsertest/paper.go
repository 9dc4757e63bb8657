package browsertest

import (
	"bytes"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/domain/ledger"
)

// FirstLink is the first address on a page that leads into a folder.
func (b *Browser) FirstLink(h *apitest.House, page, within string) string {
	b.T.Helper()
	b.Open(b.At(h) + page)
	return Evaluated[string](b, `new URL(document.querySelector('a[href^="`+within+`/"]').href).pathname`)
}

// lotPaths are the addresses of pages about the lot in that state that a table of
// lots shows first.
func (b *Browser) LotIn(h *apitest.House, state string) string {
	b.T.Helper()
	return b.FirstLink(h, "/lots?state="+state, "/lots")
}

// paper is a size of sheet, in inches.
type paper struct {
	Name          string
	width, height float64
}

var Papers = []paper{{"a4", 210 / 25.4, 297 / 25.4}, {"letter", 8.5, 11}}

// Printed prints the page that is open as the browser's user would, keeps it to
// be looked at, and counts its sheets.
func (b *Browser) Printed(name string, p paper) int {
	b.T.Helper()
	pdf, err := chromedp.Run(b.Ctx, chromedp.PrintToPDF(func(to *page.PrintToPDFParams) { to.PaperWidth, to.PaperHeight = p.width, p.height }))
	if err != nil {
		b.T.Fatalf("in the browser: %v", err)
	}
	Keep(b.T, name+"-"+p.Name+".pdf", pdf)
	return bytes.Count(pdf, []byte("/Type /Page\n"))
}

// TooFull names what of a label does not fit it.
const TooFull = `[...document.querySelectorAll('.label, .says-what')].filter(e => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1).map(e => e.innerText.slice(0, 60))`

func SheetOf(lot ledger.ID) string { return "/lots/" + lot.String() + "/sheet" }
