package reports

import (
	"time"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/held"
	"pullbook/openapi"
)

// mostAdopted is how many of the latest adopted plans are looked through for steps that are left.
const mostAdopted = 40

// shedPlans fills in what is left to do of the plans that somebody goes by.
func shedPlans(b *ledger.Book, now time.Time, out *openapi.ShedReport) {
	adopted := b.AdoptedPlans()
	for _, e := range adopted[:min(len(adopted), mostAdopted)] {
		if len(out.Plans) == mostPrepared {
			break
		}
		if held.Lapsed(e.Body.(*ledger.AdoptedPlan), e.OccurredAt, now) {
			continue
		}
		if plan := shedPlan(b, e, now); len(plan.Steps) > 0 {
			out.Plans = append(out.Plans, plan)
		}
	}
}

// shedPlan is what is left to do of a plan.
func shedPlan(b *ledger.Book, e *ledger.Entry, now time.Time) openapi.ShedPlan {
	p := e.Body.(*ledger.AdoptedPlan)
	out := openapi.ShedPlan{PlanID: b.Root(e.ID), Title: p.Title, Note: wire.OrNil(p.Note)}
	for i, s := range held.Steps(b, e, now) {
		if s.Done || s.Lapsed {
			continue
		}
		step := openapi.ShedPlanStep{
			Step: i + 1, Does: openapi.ShedPlanStepDoes(s.Does), AboutID: b.Root(s.AboutID), About: s.About, To: wire.OrNil(s.To),
			At: s.At, SetC: s.SetC, Count: wire.OrNil(max(0, s.PlanStep.Count-s.Count)),
		}
		if about := b.InForce(s.AboutID); about != nil {
			step.AboutKind = string(about.Kind)
		}
		out.Steps = append(out.Steps, step)
	}
	return out
}
