package pages

import (
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan/warm"
)

// adoptableWarming is the best way that a query asks for, or that which must be, as a plan that somebody may go by.
func (p *pages) adoptableWarming(ctx echo.Context) (*ledger.AdoptedPlan, error) {
	f, _, asked, answer, err := p.planWarmingOf(ctx)
	if err != nil || answer == nil {
		return nil, err
	}
	return adoptedWarming(f, asked, answer), nil
}

func adoptedWarming(f locale.Voice, asked *warm.Asked, answer *warm.Answer) *ledger.AdoptedPlan {
	if drawnOf(answer) == nil {
		return nil
	}
	title := f.Say("Warm %s until %s", asked.Name, message.Minute(asked.From.Add(time.Duration(asked.Spec.Hours)*time.Hour)))
	return asked.Adopted(drawnOf(answer), title)
}
