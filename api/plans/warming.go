package plans

import (
	"math"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/warm"
	"pullbook/openapi"
)

// GetWarmingPlan finds how hot and how long to warm a tank, or a lot's containers.
func (s Handler) GetWarmingPlan(ctx echo.Context, params openapi.GetWarmingPlanParams) error {
	now := s.Now()
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, now.UTC().Format("2006010215"), func(_ db.Outfit, b *ledger.Book) (request.Write, error) {
		asked, err := s.AskWarming(b, &params, now)
		if err != nil {
			return nil, err
		}
		zone := b.Location()
		return func() ([]byte, error) {
			answer, err := asked.Spec.Solve()
			if err != nil {
				return nil, err
			}
			turns, err := asked.Spec.Turns(answer)
			if err != nil {
				return nil, err
			}
			return request.Marshal(warmingPlanOut(asked, answer, turns, params.KwhPrice, zone))
		}, nil
	})
}

// AskWarming takes from a book what a question is about. What it comes to takes up to a quarter of a second, and no book.
func (s Handler) AskWarming(b *ledger.Book, params *openapi.GetWarmingPlanParams, now time.Time) (*warm.Asked, error) {
	question, err := warmingOf(b, params)
	if err != nil {
		return nil, err
	}
	return warm.Ask(b, question, now)
}

// warmingOf is what the parameters ask for.
func warmingOf(b *ledger.Book, p *openapi.GetWarmingPlanParams) (q warm.Question, err error) {
	asked := request.Asked{Pointer: "query:tank"}
	switch {
	case (p.Tank == nil) == (p.Lot == nil):
		return q, asked.Fault("Say what is to be warmed: a tank, or a lot of which containers are here, and not both.")
	case p.Tank != nil:
		q.Tank, err = reports.Named(b, ledger.KindTank, *p.Tank)
	default:
		q.Lot, err = reports.Named(b, ledger.KindLot, *p.Lot)
	}
	if err == nil && p.Room != nil {
		q.Room, err = reports.Named(b, ledger.KindRoom, *p.Room)
	}
	if err != nil {
		return q, err
	}
	if v := p.KwhPrice; v != nil && !(*v >= 0 && *v <= 1000) {
		asked.Pointer, asked.Sent = "query:kwh_price", strconv.FormatFloat(*v, 'g', -1, 64)
		return q, asked.Fault("a kilowatt-hour costs from 0 to 1000")
	}
	q.Aim = warm.Aim{State: warm.State(p.To), PaS: wire.OrZero(p.MostPaS)}
	q.By, q.Probability, q.HMFKWh = p.By, wire.OrDefault(p.Probability, warm.DefaultProbability), wire.OrDefault(p.HmfKwh, warm.DefaultHMFKWh)
	q.HottestC = wire.OrDefault(p.HottestC, warm.HottestOf(q.Aim.State))
	q.FilmWPerM2K = heat.FilmStillAir
	switch wire.OrZero(p.Around) {
	case openapi.GetWarmingPlanParamsAroundBlownAir:
		q.FilmWPerM2K = heat.FilmBlownAir
	case openapi.GetWarmingPlanParamsAroundWater:
		q.FilmWPerM2K = heat.FilmWater
	}
	q.StartC, q.AroundC, q.HeaterW, q.LossWPerK = p.StartTemperatureC, p.AroundC, p.HeaterW, p.LossWPerK
	q.CrystalsPct, q.MoisturePct, q.DiameterCM, q.HeightCM = p.CrystalsPct, p.MoisturePct, p.DiameterCm, p.HeightCm
	return q, nil
}

func warmingPlanOut(asked *warm.Asked, answer *warm.Answer, turns []warm.Turn, price *float64, zone *time.Location) openapi.WarmingPlan {
	from := asked.From.In(zone)
	way := func(w warm.Way) openapi.WarmingWay { return wayOut(w, from, price) }
	maybe := func(w *warm.Way) *openapi.WarmingWay {
		if w == nil {
			return nil
		}
		return new(way(*w))
	}
	out := openapi.WarmingPlan{
		Of: asked.Name, Kg: rounded(asked.MassKg), Containers: wire.OrNil(asked.Containers), To: openapi.WarmingPlanTo(asked.Spec.Aim.State),
		From: from, By: from.Add(time.Duration(asked.Spec.Hours) * time.Hour), Hours: asked.Spec.Hours, Probability: asked.Spec.Probability,
		HottestC: asked.Spec.HottestC, RestsOn: request.Said(asked.RestsOn), Choices: wire.Each(answer.Choices, way),
		AsHotAsAllowed: maybe(answer.Hottest), AsNow: maybe(answer.AsNow), DayMore: maybe(answer.DayMore), Turns: wire.Each(turns, warmingTurnOut), Cautions: request.Said(asked.Cautions(answer)),
	}
	if answer.EndC != nil {
		out.EndTemperatureC = new(rounded(*answer.EndC))
	}
	if i := answer.Impossible; i != nil {
		out.Impossible = &openapi.WarmingImpossible{Says: i.Said(asked.Spec.HottestC, from).String(), HottestWay: maybe(i.Way)}
		if i.EarliestHour > 0 {
			out.Impossible.Earliest = new(from.Add(time.Duration(i.EarliestHour) * time.Hour))
		}
	}
	return out
}

func warmingTurnOut(t warm.Turn) openapi.WarmingTurn {
	at, now := t.Shown()
	return openapi.WarmingTurn{Figure: openapi.WarmingTurnFigure(t.Of), Now: now, At: at, Above: t.Above, Changes: openapi.WarmingTurnChanges(t.Changes), Says: t.Said().String()}
}

func wayOut(w warm.Way, from time.Time, price *float64) openapi.WarmingWay {
	at := func(hour int) time.Time { return from.Add(time.Duration(hour) * time.Hour) }
	out := openapi.WarmingWay{
		Says: w.Said().String(), HottestC: wire.OrNil(w.HottestC), Arrives: w.Arrives, HmfMadeMgPerKg: bandOf(w.Made), HmfMgPerKg: bandOf(w.HMF), DiastaseGothe: bandOf(w.Diastase),
		HeaterKwh: bandOf(w.KWh), HoneyKwh: rounded(w.Energy.HoneyKWh), LostKwh: rounded(w.Energy.LostKWh), MeltingKwh: rounded(w.MeltingKWh), MostW: math.Round(w.MostW), CostKwh: rounded(w.CostKWh),
		Steps: wire.Each(w.Steps, func(s warm.Step) openapi.WarmingStep {
			return openapi.WarmingStep{From: at(s.FromHour), To: at(s.FromHour + s.Hours), Hours: s.Hours, SetC: wire.OrNil(s.SetC)}
		}),
		Curve: wire.Each(w.Curve, func(m warm.Moment) openapi.WarmingMoment {
			return openapi.WarmingMoment{At: at(m.Hour), SetC: wire.OrNil(m.SetC), MeanC: hundredths(m.MeanC), ColdestC: hundredths(m.ColdestC)}
		}),
	}
	if w.Arrives {
		out.ArrivesAt = new(at(w.ArrivesHour))
	}
	if w.LookHour > 0 {
		out.LookFrom = new(at(w.LookHour))
	}
	if price != nil {
		out.Money = new(bandOf(heat.Band{Low: w.KWh.Low * *price, Middle: w.KWh.Middle * *price, High: w.KWh.High * *price}))
	}
	return out
}

func bandOf(b heat.Band) openapi.Band {
	return openapi.Band{Low: rounded(b.Low), Middle: rounded(b.Middle), High: rounded(b.High)}
}

func hundredths(v float64) float64 { return math.Round(v*100) / 100 }
