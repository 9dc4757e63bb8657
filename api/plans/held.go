package plans

import (
	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/held"
	"pullbook/openapi"
)

// GetHeldPlan holds a plan that somebody goes by against what came.
func (s Handler) GetHeldPlan(ctx echo.Context, id openapi_types.UUID, _ openapi.GetHeldPlanParams) error {
	now := s.Now()
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, now.UTC().Format("200601021504"), func(_ db.Outfit, b *ledger.Book) (request.Write, error) {
		e, err := Adopted(b, id)
		if err != nil {
			return nil, err
		}
		steps := held.Steps(b, e, now)
		figures, err := held.Figures(b, e, now)
		if err != nil {
			return nil, err
		}
		out := heldPlanOut(b, e, steps, figures)
		return func() ([]byte, error) { return request.Marshal(out) }, nil
	})
}

// Adopted is the entry in force of a plan that somebody goes by.
func Adopted(b *ledger.Book, id ledger.ID) (*ledger.Entry, error) {
	e := b.InForce(id)
	if e == nil || e.Kind != ledger.KindAdoptedPlan {
		return nil, fault.New(fault.NotFound, "The book has no such adopted plan. A manager may have withdrawn it; the journal has what became of it.")
	}
	return e, nil
}

func heldPlanOut(b *ledger.Book, e *ledger.Entry, steps []held.Step, figures []held.Figure) openapi.HeldPlan {
	p := e.Body.(*ledger.AdoptedPlan)
	return openapi.HeldPlan{
		PlanID: b.Root(e.ID), Title: p.Title, Of: openapi.PlanOf(p.Of), AdoptedAt: e.OccurredAt.In(b.Location()), Note: wire.OrNil(p.Note),
		Steps:   wire.Each(steps, func(s held.Step) openapi.HeldStep { return heldStepOut(b, s) }),
		Figures: wire.Each(figures, func(f held.Figure) openapi.HeldFigure { return heldFigureOut(b, f) }),
	}
}

func heldStepOut(b *ledger.Book, s held.Step) openapi.HeldStep {
	out := openapi.HeldStep{
		Planned: openapi.PlanStep{Does: openapi.PlanStepDoes(s.Does), AboutID: b.Root(s.AboutID), At: s.At, SetC: s.SetC, Count: wire.OrNil(s.PlanStep.Count)},
		About:   s.About, State: openapi.StepLeft, Count: wire.OrNil(s.Count),
	}
	if s.ContractID != (ledger.ID{}) {
		out.Planned.ContractID = new(b.Root(s.ContractID))
	}
	switch {
	case s.Done:
		out.State = openapi.StepDone
	case s.Lapsed:
		out.State = openapi.StepLapsed
	case s.Count > 0:
		out.State = openapi.StepBegun
	}
	if s.Logged != nil {
		out.LoggedC, out.LoggedAt = &s.Logged.TemperatureC, &s.Logged.At
	}
	if len(s.By) > 0 {
		out.By = &s.By
	}
	return out
}

func heldFigureOut(b *ledger.Book, f held.Figure) openapi.HeldFigure {
	out := openapi.HeldFigure{
		Expected: openapi.PlanExpected{Figure: openapi.PlanExpectedFigure(f.Figure), At: f.PlanExpected.At, Value: f.Value, Low: f.Low, High: f.High},
		Came:     f.Came, Open: f.Open, Chance: wire.OrNil(f.Chance), Reckoned: wire.OrNil(f.Reckoned), Outside: wire.OrNil(f.Outside()),
	}
	if f.AboutID != (ledger.ID{}) {
		out.Expected.AboutID, out.About = new(b.Root(f.AboutID)), wire.OrNil(f.About)
	}
	if !f.CameAt.IsZero() {
		out.CameAt = &f.CameAt
	}
	return out
}
