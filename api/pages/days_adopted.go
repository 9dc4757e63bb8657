package pages

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/plans"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/rest"
)

// adoptableDays is the rest of the season that a query asks for, as a plan that somebody may go by.
func (p *pages) adoptableDays(ctx echo.Context) (*ledger.AdoptedPlan, error) {
	f, _, asked, _, err := p.daysOf(ctx)
	if err != nil || asked == nil {
		return nil, err
	}
	return adoptedDays(f, asked, plans.DaysOf(asked)), nil
}

func adoptedDays(f locale.Voice, asked *rest.Asked, plan *rest.Plan) *ledger.AdoptedPlan {
	return asked.Adopted(plan, f.Say("The rest of season %s", asked.Season), asked.SaidOrder(plan).In(f))
}
