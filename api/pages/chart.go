package pages

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

const seasonChartPath = "/charts/season.svg"

// seasonChart draws the season by yard, wide or, with form=narrow, for a phone.
// The table beside it says the same in figures.
func (p *pages) seasonChart(ctx echo.Context) error {
	form := chart.Wide
	if ctx.QueryParam("form") == "narrow" {
		form = chart.Narrow
	}
	var f locale.Voice
	var r *season.Report
	err := p.look(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		id, _, err := p.chosen(ctx.QueryParam("season"), b)
		if err != nil {
			return err
		}
		f = request.VoiceFor(ctx, o, b)
		r, err = season.Of(b, id)
		return err
	})
	if err != nil {
		return err
	}
	svg, err := chart.BarsByYard(form, f, r)
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}

// sendChart answers with a drawing. The library writes style attributes, which
// the pages' own policy would refuse; nothing else is allowed to a drawing.
func sendChart(ctx echo.Context, svg []byte) error {
	header := ctx.Response().Header()
	header.Set(echo.HeaderContentSecurityPolicy, "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'")
	header.Set("Cache-Control", "no-store")
	return ctx.Blob(http.StatusOK, "image/svg+xml", svg)
}
