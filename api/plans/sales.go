package plans

import (
	"context"
	"math"
	"slices"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/optimum"
	"pullbook/domain/plan"
	"pullbook/domain/plan/sale"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

// GetSalesPlan finds which honey on hand to send to which open contract.
func (s Handler) GetSalesPlan(ctx echo.Context, params openapi.GetSalesPlanParams) error {
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, "", func(o db.Outfit, b *ledger.Book) (request.Write, error) {
		q, err := s.AskSales(o, b, &params)
		if err != nil {
			return nil, err
		}
		return func() ([]byte, error) {
			found, err := s.Sales(ctx.Request().Context(), q)
			if err != nil {
				return nil, err
			}
			return request.Marshal(salesPlanOut(found.Asked, found.Answer, found.On))
		}, nil
	})
}

// Sales are what a question for sales came to.
type Sales struct {
	*sale.Asked
	*sale.Answer
	// On is the day that was asked about, Through the entry up to which the book was looked at.
	On      standard.Date
	Through int64
}

// SalesQuestion is a question for sales with what a book has for it.
type SalesQuestion struct {
	asked *sale.Asked
	on    standard.Date
	// through is the book's last entry; key is the same for questions of the same answer.
	through int64
	key     string
	outfit  uuid.UUID
}

// AskSales takes from a book what a question is about.
func (s Handler) AskSales(o db.Outfit, b *ledger.Book, params *openapi.GetSalesPlanParams) (SalesQuestion, error) {
	on := reports.OnDay(s.Service, b, params.On)
	at := s.endOf(b, on)
	question := sale.Question{
		On: on, Probability: wire.OrDefault(params.Probability, plan.DefaultProbability),
		KeepPerKg: wire.OrZero(params.KeepMinorPerKg), Currency: wire.OrZero(params.Currency),
	}
	asked, err := sale.Ask(b, question, at)
	if err != nil {
		return SalesQuestion{}, err
	}
	question.Currency = asked.Currency
	key, err := questionKey(o.ID, b.Len(), at, question)
	return SalesQuestion{asked, on, b.Len(), key, o.ID}, err
}

// Sales works a question out, where there is something to choose, or gives again what it came to before. No book
// is held meanwhile.
func (s Handler) Sales(ctx context.Context, q SalesQuestion) (*Sales, error) {
	spec := &q.asked.Spec
	if len(spec.Contracts) == 0 || len(spec.Stock) == 0 {
		return &Sales{q.asked, &sale.Answer{NextKg: make([]float64, len(spec.Contracts))}, q.on, q.through}, nil
	}
	return searchOnce(ctx, s, q.outfit, q.key, func(most optimum.Effort) (*Sales, error) {
		answer, err := spec.Solve(most)
		return &Sales{q.asked, answer, q.on, q.through}, err
	})
}

func salesPlanOut(asked *sale.Asked, answer *sale.Answer, on standard.Date) openapi.SalesPlan {
	spec := &asked.Spec
	out := openapi.SalesPlan{
		On: wire.DateOut(ledger.Date(on)), Probability: spec.Probability, KeepMinorPerKg: spec.KeepPerKg, Currency: asked.Currency,
		Contracts: []openapi.SalesContract{}, LeftOut: wire.Each(asked.LeftOut, leftOutOut), Assignments: []openapi.SalesAssignment{},
		Refused: wire.Each(asked.Refused, func(r sale.Refused) openapi.SalesRefused {
			return openapi.SalesRefused{ID: openapi_types.UUID(r.ID), Name: r.Name, Buyer: r.Buyer, Why: r.Why.String()}
		}),
		Says: request.Said(asked.Says), Cautions: request.Said(sale.Cautions()),
	}
	for i := range spec.Stock {
		out.OnHandKg += spec.Stock[i].Kg
	}
	out.OnHandKg = rounded(out.OnHandKg)
	for i := range spec.Contracts {
		contract := contractOut(&spec.Contracts[i], answer.NextContainerMinor(spec, i))
		if len(answer.PriceTurns) > 0 && answer.PriceTurns[i].Known {
			contract.PriceTurns = new(priceTurnOut(answer.PriceTurns[i]))
		}
		out.Contracts = append(out.Contracts, contract)
	}
	for i := range answer.Assignments {
		out.Assignments = append(out.Assignments, assignmentOut(spec, answer, i))
	}
	switch {
	case len(answer.Assignments) > 0:
		out.Mixed = new(mixedFirstOut(spec, answer))
	case len(spec.Contracts) > 0 && len(spec.Stock) > 0:
		out.Says = append(out.Says, answer.Said().String())
	}
	return out
}

func contractOut(c *sale.Contract, next float64) openapi.SalesContract {
	out := openapi.SalesContract{
		ID: openapi_types.UUID(c.ID), Name: c.Name, Buyer: c.Buyer, PromisedKg: rounded(c.PromisedKg), MostKg: rounded(c.MostKg), SentKg: rounded(c.SentKg),
		MinorUnitsPerKg: c.Terms.PricePerKg.Float64(), Limits: wire.Each(c.Limits, limitOut), Looks: wire.Each(c.Looks, limitOut), NextContainerMinor: money(next),
	}
	if c.LastDay != "" {
		out.LastDay = new(wire.DateOut(c.LastDay))
	}
	return out
}

func priceTurnOut(t sale.PriceTurn) (out openapi.SalesPriceTurn) {
	if t.Below != nil {
		out.BelowMinorPerKg = new(rounded(*t.Below))
	}
	if t.Above != nil {
		out.AboveMinorPerKg = new(rounded(*t.Above))
	}
	return out
}

func assignmentOut(spec *sale.Spec, answer *sale.Answer, which int) openapi.SalesAssignment {
	a := &answer.Assignments[which]
	out := openapi.SalesAssignment{
		EarnedMinor: money(a.EarnedMinor), KeptMinor: money(a.KeptMinor), BehindMinor: money(answer.Assignments[0].WorthMinor() - a.WorthMinor()),
		Proved: a.Proved(), Sales: salesOut(spec, a), Stays: []openapi.SalesStay{},
	}
	if !math.IsInf(a.BoundMinor, 0) {
		out.BoundMinor = new(money(a.BoundMinor))
	}
	for _, x := range answer.Stays(spec, a) {
		stay := openapi.SalesStay{Lot: x.Source, Containers: namesOf(spec, x.Stock), Kg: rounded(x.Kg), Why: x.Why.String()}
		if x.Best >= 0 {
			stay.BestContractID, stay.BestMinorPerKg = new(openapi_types.UUID(spec.Contracts[x.Best].ID)), new(rounded(x.PerKg))
		}
		out.Stays = append(out.Stays, stay)
	}
	return out
}

func salesOut(spec *sale.Spec, a *sale.Assignment) []openapi.SalesSale {
	out := []openapi.SalesSale{}
	for i := range a.Sales {
		x := &a.Sales[i]
		one := openapi.SalesSale{
			ContractID: openapi_types.UUID(spec.Contracts[x.Contract].ID), Kg: rounded(x.Kg), Containers: len(x.Takes), NetMinor: money(x.NetMinor),
			FreightMinor: money(x.FreightMinor), Loads: x.Loads, ShortKg: rounded(x.ShortKg), Mixed: x.Mixed, Lots: lotsOut(spec, x),
			Means: wire.Each(x.Means, func(m sale.Mean) openapi.SalesMean {
				return openapi.SalesMean{Parameter: m.Parameter, Expected: rounded(m.Mean), Unit: plan.UnitOf(m.Parameter)}
			}),
		}
		out = append(out, one)
	}
	return out
}

// lotsOut are the containers of a sale, lot by lot; those of a lot that bring different prices apart.
func lotsOut(spec *sale.Spec, x *sale.Sale) []openapi.SalesLot {
	out := []openapi.SalesLot{}
	for _, t := range x.Takes {
		stock := &spec.Stock[t.Stock]
		at := slices.IndexFunc(out, func(l openapi.SalesLot) bool { return l.Lot == stock.Source && l.MinorUnitsPerKg == rounded(t.PerKg) })
		if at < 0 {
			at = len(out)
			lot := openapi.SalesLot{Lot: stock.Source, MinorUnitsPerKg: rounded(t.PerKg), Turns: []openapi.SalesTurn{}}
			if !x.Mixed {
				lot.Turns = wire.Each(spec.Turns(t.Stock, x.Contract), turnOut)
			}
			out = append(out, lot)
		}
		out[at].Containers, out[at].Kg = append(out[at].Containers, stock.Name), rounded(out[at].Kg+stock.Kg)
	}
	return out
}

func turnOut(t sale.Turn) openapi.SalesTurn {
	return openapi.SalesTurn{Parameter: t.Limit.Parameter, Limit: t.Limit.Said.String(), Now: rounded(t.Now), At: rounded(t.At), Unit: plan.UnitOf(t.Limit.Parameter)}
}

func namesOf(spec *sale.Spec, stock []int) (out []string) {
	for _, i := range stock {
		out = append(out, spec.Stock[i].Name)
	}
	return out
}

func mixedFirstOut(spec *sale.Spec, answer *sale.Answer) openapi.SalesMixed {
	out := openapi.SalesMixed{Sales: []openapi.SalesSale{}, Says: answer.Said().String()}
	if m := answer.Mixed; m != nil {
		out.MoreMinor, out.EarnedMinor, out.KeptMinor = money(m.WorthMinor()-answer.Assignments[0].WorthMinor()), money(m.EarnedMinor), money(m.KeptMinor)
		out.Proved, out.Sales = m.Proved(), salesOut(spec, m)
	}
	return out
}

// money drops what is less than a minor unit.
func money(minor float64) float64 { return math.Round(minor) }
