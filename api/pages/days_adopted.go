package pages

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/plans"
	"pullbook/domain/ledger"
)

// adoptableDays is the rest of the season that a query asks for, as a plan that somebody may go by.
func (p *pages) adoptableDays(ctx echo.Context) (*ledger.AdoptedPlan, error) {
	f, _, asked, _, err := p.daysOf(ctx)
	if err != nil || asked == nil {
		return nil, err
	}
	plan := plans.DaysOf(asked)
	return asked.Adopted(plan, f.Say("The rest of season %s", asked.Season), asked.SaidOrder(plan).In(f)), nil
}
