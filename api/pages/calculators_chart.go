package pages

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/calculator"
	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// heatChart draws the course that a form of the page asks for. The table
// beside it says the same in figures.
func (p *pages) heatChart(ctx echo.Context) error {
	form := formAsked(ctx)
	var f locale.Voice
	err := p.look(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		f = request.VoiceFor(ctx, o, b)
		return nil
	})
	if err != nil {
		return err
	}
	curve, limit, err := curveAsked(f, ctx)
	if err != nil {
		return err
	}
	svg, err := chart.Heat(form, f, curve, limit)
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}

// curveAsked is the course and, where there is one, the limit of HMF.
func curveAsked(f locale.Voice, ctx echo.Context) ([]openapi.HeatCurvePoint, *float64, error) {
	for _, q := range []dailyQuestion{warmingQuestion(f), hmfQuestion(f)} {
		q.form.fill(ctx.QueryParams())
		if !q.form.Asked {
			continue
		}
		if q.form.ID == "warming" {
			in := warmingOf(q.form)
			if !q.form.complete() {
				break
			}
			w, err := calculator.WarmingAnswer(in)
			return w.Curve, nil, err
		}
		in := hmfHoursOf(q.form)
		if !q.form.complete() {
			break
		}
		until, err := calculator.HoursUntilHMFAnswer(in)
		if err != nil {
			return nil, nil, err
		}
		if until.Hours.Middle == 0 {
			break
		}
		curve, err := holdingCurve(in, until.Hours)
		return curve, in.HmfLimitMgPerKg, err
	}
	return nil, nil, fault.New(fault.NotFound, "There is nothing to draw for this question.")
}
