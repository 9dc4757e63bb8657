package pages

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

const seasonChartPath = "/charts/season.svg"

// seasonChart draws the season by yard.
func (p *pages) seasonChart(ctx echo.Context) error {
	return p.seasonPicture(ctx, func(_ *ledger.Book, r *season.Report, form chart.Form) (written, error) {
		return func(f locale.Voice) ([]byte, error) { return chart.BarsByYard(form, f, r) }, nil
	})
}

// sendChart answers with a drawing. The library writes style attributes, which
// the pages' own policy would refuse; nothing else is allowed to a drawing.
func sendChart(ctx echo.Context, svg []byte) error {
	header := ctx.Response().Header()
	header.Set(echo.HeaderContentSecurityPolicy, "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'")
	header.Set("Cache-Control", "no-store")
	return ctx.Blob(http.StatusOK, "image/svg+xml", svg)
}

// formAsked is the form of a drawing that a request asks for.
func formAsked(ctx echo.Context) chart.Form {
	if ctx.QueryParam("form") == "narrow" {
		return chart.Narrow
	}
	return chart.Wide
}
