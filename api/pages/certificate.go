package pages

import (
	"net/http"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// sheetPath is where the page of a lot's sheet is.
func sheetPath(lot ledger.ID) string { return "/lots/" + lot.String() + "/sheet" }

// routeSheet serves the sheet that goes with a lot, its plot, its PDF for who
// is signed in, and the answer to whoever holds one.
func (p *pages) routeSheet(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET("/lots/:id/sheet", p.sheetPage, squeezed)
	e.GET("/lots/:id/heating.svg", p.sheetHeating, squeezed)
	e.GET("/lots/:id/sheet.pdf", p.sheetFile)
	e.GET(certificate.VerifyPath+":token", p.verify)
}

func (p *pages) sheetPage(ctx echo.Context) error {
	var f locale.Voice
	var layOut certificate.Layout
	err := p.lookAtLot(ctx, func(o db.Outfit, b *ledger.Book, lot ledger.ID) (err error) {
		f = request.VoiceFor(ctx, o, b)
		layOut, err = certificate.Of(p.Service, o, b, lot, p.AddressFor(ctx), certificate.SheetsOfPage)
		return err
	})
	if err != nil {
		return err
	}
	v, err := layOut(f)
	if err != nil {
		return err
	}
	v.Heating, v.PDF = "/lots/"+ctx.Param("id")+"/heating.svg", sheetPathOf(ctx)+".pdf"
	return p.page(ctx, http.StatusOK, "sheet.html", v)
}

func sheetPathOf(ctx echo.Context) string { return "/lots/" + ctx.Param("id") + "/sheet" }

// lookAtLot looks at the lot that a page's address names.
func (p *pages) lookAtLot(ctx echo.Context, f func(db.Outfit, *ledger.Book, ledger.ID) error) error {
	return p.lookAsOf(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		id, err := uuid.Parse(ctx.Param("id"))
		if err != nil {
			return fault.New(fault.NotFound, "The outfit has no such lot.")
		}
		return f(o, b, id)
	})
}

func (p *pages) sheetHeating(ctx echo.Context) error {
	var f locale.Voice
	var heating []certificate.HeatSeries
	err := p.lookAtLot(ctx, func(o db.Outfit, b *ledger.Book, lot ledger.ID) error {
		r, err := season.Lot(b, lot)
		if err == nil {
			f, heating = request.VoiceFor(ctx, o, b), certificate.HeatingOf(p.Service, b, r)
		}
		return err
	})
	if err != nil {
		return err
	}
	svg, err := certificate.HeatingSVG(f, heating)
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}

// sheetFile is GetLotCertificatePDF for who is signed in to the pages.
func (p *pages) sheetFile(ctx echo.Context) error {
	var toWrite request.Write
	err := p.lookAtLot(ctx, func(o db.Outfit, b *ledger.Book, lot ledger.ID) (err error) {
		toWrite, err = certificate.PDFOf(p.Service, request.LanguageOf(ctx), o, b, lot, p.AddressFor(ctx))
		return err
	})
	if err != nil {
		return err
	}
	pdf, err := toWrite()
	if err != nil {
		return err
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	reports.Attach(ctx, "lot-sheet.pdf")
	return ctx.Blob(http.StatusOK, certificate.PDFType, pdf)
}
