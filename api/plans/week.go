package plans

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/week"
	"pullbook/openapi"
)

// GetWeekPlan says what to do next.
func (s Handler) GetWeekPlan(ctx echo.Context, params openapi.GetWeekPlanParams) error {
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, "", func(_ db.Outfit, b *ledger.Book) (request.Write, error) {
		asked, err := s.AskWeek(b, &params)
		if err != nil {
			return nil, err
		}
		return func() ([]byte, error) { return request.Marshal(weekPlanOut(WeekOf(asked))) }, nil
	})
}

// AskWeek takes from a book what should be done. Its plan is worked out once the book is free.
func (s Handler) AskWeek(b *ledger.Book, params *openapi.GetWeekPlanParams) (*week.Asked, error) {
	on := reports.OnDay(s.Service, b, params.On)
	sets, err := reports.RuleSetsInUse(b, nil, on)
	if err != nil {
		return nil, err
	}
	return week.Ask(b, week.Question{On: on, Now: s.endOf(b, on), Sets: sets})
}

// WeekOf puts in order what should be done.
func WeekOf(a *week.Asked) *week.Plan { return a.Plan(daysSeed) }

func weekPlanOut(p *week.Plan) openapi.WeekPlan {
	return openapi.WeekPlan{On: wire.DateOut(ledger.Date(p.On)), Notes: request.Said(p.Notes), Items: wire.Each(p.Items, func(x week.Item) openapi.WeekItem {
		out := openapi.WeekItem{Sort: openapi.WeekItemSort(x.Sort), Do: x.Do.String(), Why: x.Why.String(), Waits: x.Waits.String(), Finding: wire.OrNil(string(x.Code))}
		if x.Of != (ledger.ID{}) {
			out.ID = new(x.Of)
		}
		if x.By != "" {
			out.By = new(wire.DateOut(ledger.Date(x.By)))
		}
		if x.Kg > 0 {
			out.Kg = new(rounded(x.Kg))
		}
		return out
	})}
}
