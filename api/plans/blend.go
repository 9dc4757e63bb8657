package plans

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/google/uuid"
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

// mostSeconds is how long is searched.
const mostSeconds = 8

// GetBlendPlan finds which honey on hand to blend into what is asked for.
func (s Handler) GetBlendPlan(ctx echo.Context, params openapi.GetBlendPlanParams) error {
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, "", func(o db.Outfit, b *ledger.Book) (request.Write, error) {
		q, err := s.AskBlend(o, b, &params)
		if err != nil {
			return nil, err
		}
		return func() ([]byte, error) {
			found, err := s.Blends(ctx.Request().Context(), q)
			if err != nil {
				return nil, err
			}
			return request.Marshal(blendPlanOut(found))
		}, nil
	})
}

// Blends are what a question for a blend came to.
type Blends struct {
	*plan.Asked
	*plan.Answer
	// On is the day that was asked about, Through the entry up to which the book was looked at.
	On      standard.Date
	Through int64
}

// BlendQuestion is a question for a blend with what a book has for it.
type BlendQuestion struct {
	asked *plan.Asked
	on    standard.Date
	// through is the book's last entry; key is the same for questions of the same answer.
	through int64
	key     string
	outfit  uuid.UUID
}

// AskBlend takes from a book what a question is about.
func (s Handler) AskBlend(o db.Outfit, b *ledger.Book, params *openapi.GetBlendPlanParams) (BlendQuestion, error) {
	on := reports.OnDay(s.Service, b, params.On)
	question, err := questionOf(o, b, params, on)
	if err != nil {
		return BlendQuestion{}, err
	}
	at := s.endOf(b, on)
	asked, err := plan.Ask(b, question, at)
	if err != nil {
		return BlendQuestion{}, inQuery(err)
	}
	what := *params
	what.AsOf, what.KnownAt, what.On = nil, nil, nil
	key, err := questionKey(o.ID, b.Len(), at, what)
	return BlendQuestion{asked, on, b.Len(), key, o.ID}, err
}

// Blends works a question out, or gives again what it came to before. No book is held meanwhile.
func (s Handler) Blends(ctx context.Context, q BlendQuestion) (*Blends, error) {
	return searchOnce(ctx, s, q.outfit, q.key, func(most optimum.Effort) (*Blends, error) {
		answer, err := q.asked.Spec.Solve(q.asked.Stock, most)
		return &Blends{q.asked, answer, q.on, q.through}, err
	})
}

// parameterOf are the parameters by which fields of a question came.
var parameterOf = map[string]string{
	"/shares/0/value": "query:kind", "/shares/0/least": "query:kind_share", "/shares/0/most": "query:kind_share", "query:yard": "query:yards",
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
func questionOf(o db.Outfit, b *ledger.Book, p *openapi.GetBlendPlanParams, on standard.Date) (plan.Question, error) {
	kg, err := wantedKg(b, p)
	if err != nil {
		return plan.Question{}, err
	}
	q := plan.Question{On: on, Grade: wire.OrZero(p.Grade), Spec: plan.Spec{
		LeastKg: kg, MostKg: wire.OrDefault(p.MostKg, max(1.05*kg, kg+300)),
		Probability: wire.OrDefault(p.Probability, plan.DefaultProbability), MostSources: wire.OrZero(p.MostSources), Weights: WeightsOf(o.BlendWeights, p),
	}}
	if wire.OrZero(p.RuleSets) != "" {
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
	if err := yardsOf(b, p, &q); err != nil {
		return q, err
	}
	return q, countriesOf(p, &q)
}

// wantedKg is the honey that is wanted: so many kilograms, or so many containers of a kind.
func wantedKg(b *ledger.Book, p *openapi.GetBlendPlanParams) (float64, error) {
	switch {
	case p.Kg != nil && p.Containers != nil:
		return 0, request.ParameterFault("containers", fmt.Sprint(*p.Containers), "Give kilograms or containers, and not both.")
	case p.Kg != nil:
		return *p.Kg, nil
	case p.Containers == nil:
		return 0, request.ParameterFault("kg", "", "Say how much honey is wanted: kg, or containers and container_kind.")
	case wire.OrZero(p.ContainerKind) == "":
		return 0, request.ParameterFault("container_kind", "", "Say which kind of container is filled.")
	}
	id, err := reports.Named(b, ledger.KindContainerKind, *p.ContainerKind)
	if err != nil {
		return 0, err
	}
	kind := ledger.Named[ledger.ContainerKind](b, id)
	if kind == nil || kind.UsualNetG <= 0 {
		return 0, request.ParameterFault("container_kind", *p.ContainerKind, "This kind of container has no usual net mass: give kilograms instead.")
	}
	return float64(*p.Containers) * wire.Kg(kind.UsualNetG), nil
}

// WeightsOf are the weights that a question names, and else the outfit's, or the usual ones.
func WeightsOf(kept *ledger.BlendWeights, p *openapi.GetBlendPlanParams) plan.Weights {
	w := plan.WeightsOf(kept)
	for parameter, given := range map[string]*float64{"moisture": p.MoistureGiven, "hmf": p.HmfGiven, "diastase": p.DiastaseGiven, "colour_pfund": p.ColourGiven} {
		w.Given[parameter] = wire.OrDefault(given, w.Given[parameter])
	}
	w.Source, w.Year, w.Over = wire.OrDefault(p.SourceKg, w.Source), wire.OrDefault(p.YearKg, w.Year), wire.OrDefault(p.OverKg, w.Over)
	return w
}

// mostYards is how many yards a share may be asked of.
const mostYards = 100

// yardsOf adds the share that has to come from some yards.
func yardsOf(b *ledger.Book, p *openapi.GetBlendPlanParams, q *plan.Question) error {
	asked := wire.OrZero(p.Yards)
	if asked == "" {
		return nil
	}
	share := plan.Share{Least: wire.OrDefault(p.YardsShare, 1), Most: 1}
	for name := range strings.SplitSeq(asked, ",") {
		if len(share.Yards) == mostYards {
			return request.ParameterFault("yards", asked, "At most %s yards.", mostYards)
		}
		id, err := reports.Named(b, ledger.KindYard, strings.TrimSpace(name))
		if err != nil {
			return inQuery(err)
		}
		share.Yards = append(share.Yards, id)
	}
	q.Shares = append(q.Shares, share)
	return nil
}

// mostCountries is how many countries a share may be asked of.
const mostCountries = 100

// countriesOf adds the share that has to come, or may come, from some countries.
func countriesOf(p *openapi.GetBlendPlanParams, q *plan.Question) error {
	asked := wire.OrZero(p.Countries)
	if asked == "" {
		if p.CountriesShare != nil || p.CountriesMost != nil {
			return request.ParameterFault("countries", "", "Say of which countries the share is, such as ES,PT.")
		}
		return nil
	}
	share := plan.Share{Least: wire.OrDefault(p.CountriesShare, 1), Most: wire.OrDefault(p.CountriesMost, 1)}
	if p.CountriesShare == nil && p.CountriesMost != nil {
		share.Least = 0
	}
	for code := range strings.SplitSeq(asked, ",") {
		code = strings.TrimSpace(code)
		switch {
		case len(share.Countries) == mostCountries:
			return request.ParameterFault("countries", asked, "At most %s countries.", mostCountries)
		case !ledger.IsCountry(code):
			return request.ParameterFault("countries", code, "Write each country in the two capital letters that ISO 3166-1 has for it, with commas between: ES,PT.")
		}
		share.Countries = append(share.Countries, code)
	}
	if !(share.Least >= 0 && share.Least <= 1) {
		return request.ParameterFault("countries_share", fmt.Sprint(share.Least), "A share is from 0 to 1.")
	}
	if !(share.Most >= share.Least && share.Most <= 1) {
		return request.ParameterFault("countries_most", fmt.Sprint(share.Most), "A share is up to 1, and not less than the least.")
	}
	q.Shares = append(q.Shares, share)
	return nil
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

func blendPlanOut(f *Blends) openapi.BlendPlan {
	out := openapi.BlendPlan{
		On: wire.DateOut(ledger.Date(f.On)), Kg: f.Spec.LeastKg, MostKg: f.Spec.MostKg, Probability: f.Spec.Probability,
		Limits: wire.Each(f.Spec.Limits, limitOut), Looks: wire.Each(f.Looks, limitOut), LeftOut: wire.Each(f.LeftOut, leftOutOut),
		Blends: wire.Each(f.Answer.Blends, blendOut), Cautions: request.Said(plan.BlendCautions()),
	}
	for _, s := range f.Stock {
		out.OnHandKg += s.Kg
	}
	out.OnHandKg = rounded(out.OnHandKg)
	if f.Impossible != nil {
		out.Impossible = new(impossibleOut(f.Impossible))
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
		Origins: wire.Each(b.Origins, func(o plan.Origin) openapi.BlendOrigin {
			return openapi.BlendOrigin{ID: openapi_types.UUID(o.Yard), Yard: o.Name, Country: wire.OrNil(o.Country), Share: rounded(o.Share)}
		}),
		Countries: wire.Each(b.Countries, func(c plan.Country) openapi.BlendCountry {
			return openapi.BlendCountry{Country: c.Code, Share: rounded(c.Share)}
		}),
		CountryNotSaid: rounded(b.NotSaid), CountryNotKnown: rounded(b.NotKnown),
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
	out := openapi.BlendImpossible{
		OnHandKg: rounded(i.HaveKg), Says: i.Said().String(), Alone: wire.Each(i.Alone, changeOut), Together: wire.Each(i.Together, changeOut),
	}
	if i.Buy != nil {
		out.Buy = &openapi.BlendPurchase{Kg: rounded(i.Buy.Kg), Says: i.Buy.Said().String()}
	}
	return out
}

func changeOut(c plan.Change) openapi.BlendChange {
	return openapi.BlendChange{
		Parameter: c.Limit.Parameter, Limit: c.Limit.Said.String(), To: rounded(c.To), Unit: plan.UnitOf(c.Limit.Parameter), Says: c.Said().String(),
	}
}

// rounded drops what a plan cannot know: the digits behind a gram, and behind the thousandth of a
// figure.
func rounded(v float64) float64 { return math.Round(v*1000) / 1000 }
