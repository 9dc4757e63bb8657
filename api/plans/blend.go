package plans

import (
	"cmp"
	"errors"
	"math"
	"time"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/optimum"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

// mostSeconds is how long a blend is searched for.
const mostSeconds = 8

// GetBlendPlan finds which honey on hand to blend into what is asked for.
func (s Handler) GetBlendPlan(ctx echo.Context, params openapi.GetBlendPlanParams) error {
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, "", func(_ db.Outfit, b *ledger.Book) (request.Write, error) {
		on := reports.OnDay(s.Service, b, params.On)
		question, err := questionOf(b, &params, on)
		if err != nil {
			return nil, err
		}
		asked, err := plan.Ask(b, question, s.endOf(b, on))
		if err != nil {
			return nil, inQuery(err)
		}
		return func() ([]byte, error) {
			if err := optimum.Ready(); err != nil {
				return nil, err
			}
			answer, err := s.search(ctx, func() (*plan.Answer, error) {
				from := s.Now()
				return asked.Spec.Solve(asked.Stock, optimum.Effort{Seconds: mostSeconds, Clock: func() float64 { return s.Now().Sub(from).Seconds() }})
			})
			if err != nil {
				return nil, err
			}
			return request.Marshal(blendPlanOut(asked, answer, on))
		}, nil
	})
}

// parameterOf are the parameters by which fields of a question came.
var parameterOf = map[string]string{
	"/shares/0/value": "query:kind", "/shares/0/least": "query:kind_share", "/shares/0/most": "query:kind_share",
}

// inQuery names the parameters that a fault is about.
func inQuery(err error) error {
	var f *fault.Error
	if errors.As(err, &f) {
		for i := range f.Fields {
			f.Fields[i].Pointer = cmp.Or(parameterOf[f.Fields[i].Pointer], f.Fields[i].Pointer)
		}
	}
	return err
}

// endOf is the moment that a day is looked at from: now of today, else its end.
func (s Handler) endOf(b *ledger.Book, on standard.Date) time.Time {
	now := s.Now()
	end, err := time.ParseInLocation(time.DateOnly, string(on), b.Location())
	if err != nil {
		return now
	}
	if end = end.AddDate(0, 0, 1).Add(-time.Microsecond); end.Before(now) {
		return end
	}
	return now
}

// questionOf is what the parameters ask for.
func questionOf(b *ledger.Book, p *openapi.GetBlendPlanParams, on standard.Date) (plan.Question, error) {
	q := plan.Question{On: on, Grade: wire.OrZero(p.Grade), Spec: plan.Spec{
		LeastKg: p.Kg, MostKg: wire.OrDefault(p.MostKg, max(1.05*p.Kg, p.Kg+300)),
		Probability: wire.OrDefault(p.Probability, plan.DefaultProbability), MostSources: wire.OrZero(p.MostSources), Weights: plan.UsualWeights(),
	}}
	q.Weights.Source = wire.OrDefault(p.SourceKg, q.Weights.Source)
	if wire.OrZero(p.RuleSets) != "" {
		var err error
		if q.Sets, err = reports.RuleSetsOf(b, p.RuleSets, on); err != nil {
			return q, err
		}
	}
	limit := func(parameter string, low, high *float64, said message.Text) {
		if low != nil || high != nil {
			q.Limits = append(q.Limits, plan.Limit{Parameter: parameter, Low: low, High: high, Said: said})
		}
	}
	limit("moisture", nil, p.MoistureMostPct, atMost(p.MoistureMostPct, "%"))
	limit("hmf", nil, p.HmfMostMgPerKg, atMost(p.HmfMostMgPerKg, "mg/kg"))
	limit("colour_pfund", p.ColourLeastMmPfund, nil, atLeast(p.ColourLeastMmPfund, "mm Pfund"))
	limit("colour_pfund", nil, p.ColourMostMmPfund, atMost(p.ColourMostMmPfund, "mm Pfund"))
	if kind := wire.OrZero(p.Kind); kind != "" {
		q.Shares = append(q.Shares, plan.Share{Attribute: "kind", Value: kind, Least: wire.OrDefault(p.KindShare, 1), Most: 1})
		if wire.OrDefault(p.KindShare, 1) == 1 {
			q.Declares = standard.Declaration{"kind": {kind}}
		}
	}
	return q, nil
}

func atMost(v *float64, unit string) message.Text {
	if v == nil {
		return message.Text{}
	}
	return message.F("at most %s %s", message.Figure(*v), standard.SayUnit(unit))
}

func atLeast(v *float64, unit string) message.Text {
	if v == nil {
		return message.Text{}
	}
	return message.F("at least %s %s", message.Figure(*v), standard.SayUnit(unit))
}

func blendPlanOut(asked *plan.Asked, answer *plan.Answer, on standard.Date) openapi.BlendPlan {
	out := openapi.BlendPlan{
		On: wire.DateOut(ledger.Date(on)), Kg: asked.Spec.LeastKg, MostKg: asked.Spec.MostKg, Probability: asked.Spec.Probability,
		Limits: wire.Each(asked.Spec.Limits, limitOut), Looks: wire.Each(asked.Looks, limitOut), LeftOut: wire.Each(asked.LeftOut, leftOutOut),
		Blends: wire.Each(answer.Blends, blendOut), Cautions: request.Said(plan.BlendCautions()),
	}
	for _, s := range asked.Stock {
		out.OnHandKg += s.Kg
	}
	out.OnHandKg = rounded(out.OnHandKg)
	if answer.Impossible != nil {
		out.Impossible = new(impossibleOut(answer.Impossible))
	}
	return out
}

func limitOut(l plan.Limit) openapi.BlendLimit {
	return openapi.BlendLimit{Parameter: l.Parameter, Limit: l.Said.String(), From: wire.OrNil(l.From.String())}
}

func leftOutOut(l plan.LeftOut) openapi.BlendLeftOut {
	out := openapi.BlendLeftOut{Source: l.Source, Kg: rounded(l.Kg), Why: l.Why.String()}
	if len(l.Names) > 0 {
		out.Containers = &l.Names
	}
	return out
}

func blendOut(b plan.Blend) openapi.Blend {
	return openapi.Blend{
		Kg: rounded(b.Kg), Sources: b.Sources, CostKg: rounded(b.Cost), BoundKg: rounded(b.Bound), Proved: b.Proved(),
		Takes: wire.Each(b.Takes, func(t plan.Take) openapi.BlendTake {
			return openapi.BlendTake{ID: openapi_types.UUID(t.Stock.ID), Name: t.Stock.Name, Source: t.Stock.Source, Kg: rounded(t.Kg), Whole: !t.Stock.Part}
		}),
		Mixed: wire.Each(b.Mixed, mixedOut),
	}
}

func mixedOut(m plan.Mixed) openapi.BlendMixed {
	return openapi.BlendMixed{
		Parameter: m.Limit.Parameter, Limit: m.Limit.Said.String(), From: wire.OrNil(m.Limit.From.String()), Unit: plan.UnitOf(m.Limit.Parameter),
		Expected: rounded(m.Mean), StdUncertainty: rounded(m.SD), Probability: rounded(m.Probability),
		Turns: wire.Each(m.Turns, func(t plan.Turn) openapi.BlendTurn {
			return openapi.BlendTurn{Source: t.Source, Now: rounded(t.Now), At: rounded(t.At)}
		}),
	}
}

func impossibleOut(i *plan.Impossible) openapi.BlendImpossible {
	return openapi.BlendImpossible{
		OnHandKg: rounded(i.HaveKg), Says: i.Said().String(), Alone: wire.Each(i.Alone, changeOut), Together: wire.Each(i.Together, changeOut),
	}
}

func changeOut(c plan.Change) openapi.BlendChange {
	return openapi.BlendChange{
		Parameter: c.Limit.Parameter, Limit: c.Limit.Said.String(), To: rounded(c.To), Unit: plan.UnitOf(c.Limit.Parameter), Says: c.Said().String(),
	}
}

// rounded drops what a plan cannot know: the digits behind a gram, and behind the thousandth of a
// figure.
func rounded(v float64) float64 { return math.Round(v*1000) / 1000 }
