package pages

import (
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

const printPath = "/print"

// routePrint serves what is for paper: an index of it, labels and blank sheets.
// Lot sheet, recall sheet and season report are pages that print.
func (p *pages) routePrint(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET(printPath, p.printPage, squeezed)
	e.GET(printPath+"/blank/:kind", p.blankPage, squeezed)
	e.GET(lotsPath+"/:id/labels", p.labelsPage, squeezed)
}

// printView is what there is to print.
type printView struct {
	Season string
	Lots   []printedLot
	Blanks []blankLink
}

type printedLot struct{ Code, Product, Page, Sheet, PDF, Labels string }

type blankLink struct{ Path, Title string }

func (p *pages) printPage(ctx echo.Context) error {
	return p.kept(ctx, "print.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		v, known := &printView{}, knownOf(b)
		words := func(f locale.Voice) any {
			for _, k := range blankKinds {
				v.Blanks = append(v.Blanks, blankLink{printPath + "/blank/" + k.kind, k.sheet(newWriting(f, known)).Title})
			}
			return v
		}
		id, found, err := p.chosen("", b)
		if err != nil || !found {
			return words, err
		}
		v.Season = ledger.Named[ledger.Season](b, id).Name
		lots, err := season.Stock(b, id)
		if err != nil {
			return nil, err
		}
		for _, l := range slices.Backward(lots) {
			if l.HeldG > 0 {
				v.Lots = append(v.Lots, printedLot{l.Code, l.Product, lotPath(l.LotID), sheetPath(l.LotID), sheetPath(l.LotID) + ".pdf", labelsPath(l.LotID)})
			}
		}
		return words, nil
	})
}
