package plans

import (
	"math"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/yards"
	"pullbook/openapi"
)

// GetYardsPlan says which yards to keep and which to move.
func (s Handler) GetYardsPlan(ctx echo.Context, params openapi.GetYardsPlanParams) error {
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, "", func(_ db.Outfit, b *ledger.Book) (request.Write, error) {
		asked, err := s.AskYards(b, &params)
		if err != nil {
			return nil, err
		}
		on := ledger.Date(reports.OnDay(s.Service, b, params.On))
		return func() ([]byte, error) { return request.Marshal(yardsPlanOut(asked.Plan(), on)) }, nil
	})
}

// AskYards takes from a book what a question about yards is about. Its plan is worked out once the book is free.
func (s Handler) AskYards(b *ledger.Book, params *openapi.GetYardsPlanParams) (*yards.Asked, error) {
	return yards.Ask(b, yardsQuestion(params), s.endOf(b, reports.OnDay(s.Service, b, params.On)))
}

func yardsQuestion(p *openapi.GetYardsPlanParams) yards.Question {
	return yards.Question{
		Per: yards.Per(wire.OrZero(p.Per)), HiveCount: wire.OrZero(p.HiveCount), MarginKg: p.MarginKg,
		Probability: wire.OrDefault(p.Probability, yards.DefaultProbability),
		PricePerKg:  p.PricePerKg, VisitCost: p.VisitCost, VisitCosts: wire.OrZero(p.VisitCosts), MoreVisits: wire.OrZero(p.MoreVisits),
		Unfinished: wire.OrZero(p.Unfinished), UnpulledIsNothing: wire.OrZero(p.UnpulledIsNothing),
	}
}

func yardsPlanOut(p *yards.Plan, on ledger.Date) openapi.YardsPlan {
	out := openapi.YardsPlan{
		On: wire.DateOut(on), Per: string(p.Per), Probability: p.Question.Probability, MarginKg: rounded(p.MarginKg), Told: p.Told,
		Says: request.Said(p.Says), Yards: wire.Each(p.Proposals, yardProposalOut), Cautions: request.Said(p.Cautions()), LeftOutInAll: p.LeftOutInAll,
		Seasons: make([]openapi.YardsSeason, len(p.Seasons)),
		Next: wire.Each(p.Next, func(c yards.Choice) openapi.YardChoice {
			return openapi.YardChoice{ID: openapi_types.UUID(c.ID), Name: c.Name, GainsKg: rounded(c.GainsKg), ChanceLoses: rounded(c.Loses), Says: c.Said.String()}
		}),
		Adjusted: wire.Each(p.Adjusted, func(a yards.Adjustment) openapi.YardsAdjustment {
			return openapi.YardsAdjustment{Of: a.Of, Share: rounded(a.Share), StdUncertainty: rounded(a.Off), Says: a.Said.String()}
		}),
		LeftOut: wire.Each(p.LeftOut, func(l yards.LeftOut) openapi.YardsLeftOut {
			return openapi.YardsLeftOut{Yard: wire.OrNil(l.Yard), Season: l.Season, Why: l.Why.String()}
		}),
	}
	for i, season := range p.Seasons {
		out.Seasons[i] = openapi.YardsSeason{ID: openapi_types.UUID(season.ID), Name: season.Name}
		if p.Told {
			out.Seasons[i].Kg = new(rounded(p.SeasonKg[i]))
		}
	}
	if p.Told {
		out.OrdinaryKg, out.BetweenYardsKg, out.WithinYardsKg = new(rounded(p.OrdinaryKg)), new(rounded(p.BetweenKg)), new(rounded(p.WithinKg))
	}
	if h := p.Held; h != nil {
		out.HeldOut = &openapi.YardsHeldOut{Seasons: h.Seasons, Yields: h.Yields, ModelKg: rounded(h.ModelKg), PlainKg: rounded(h.PlainKg), SameKg: rounded(h.SameKg)}
	}
	return out
}

func yardProposalOut(y yards.Proposal) openapi.YardProposal {
	out := openapi.YardProposal{
		ID: openapi_types.UUID(y.ID), Name: y.Name, Verdict: openapi.YardProposalVerdict(y.Verdict), Why: y.Why.String(),
		Seasons: y.Seasons, LastSeason: y.Last, PlainKg: rounded(y.PlainKg), Units: rounded(y.Units), Visits: rounded(y.Visits),
	}
	if m := y.Money; m != nil {
		out.Money = &openapi.YardMoney{Honey: cents(m.Honey), Visits: cents(m.Visits), Left: cents(m.Left)}
	}
	if n := y.Next; n != nil {
		out.NextSeason = &openapi.YardNextSeason{Kg: rounded(n.Kg), LowKg: rounded(n.LowKg), HighKg: rounded(n.HighKg)}
	}
	if e := y.Effect; e != nil {
		out.Effect = &openapi.YardEffect{
			Kg: rounded(e.Kg), LowKg: rounded(e.LowKg), HighKg: rounded(e.HighKg), NetKg: rounded(e.NetKg),
			ChanceBelow: rounded(e.Below), ChanceWorse: rounded(e.Worse), ChanceLoses: rounded(e.Loses),
			GainsKg: rounded(e.GainsKg), GainsLowKg: rounded(e.GainsLowKg), GainsHighKg: rounded(e.GainsHighKg),
			SeasonsNeeded: wire.OrNil(e.SeasonsNeeded), KeepFromKg: roundedOrNil(e.KeepFromKg), MoveBelowKg: roundedOrNil(e.MoveBelowKg),
		}
	}
	return out
}

func roundedOrNil(v *float64) *float64 {
	if v == nil {
		return nil
	}
	return new(rounded(*v))
}

func cents(v float64) float64 { return math.Round(v*100) / 100 }
