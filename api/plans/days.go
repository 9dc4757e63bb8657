package plans

import (
	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/rest"
	"pullbook/openapi"
)

// daysSeed begins what is left to chance: the same question about the same book has one answer.
const daysSeed = 1

// GetDaysPlan plays the rest of the season.
func (s Handler) GetDaysPlan(ctx echo.Context, params openapi.GetDaysPlanParams) error {
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, "", func(_ db.Outfit, b *ledger.Book) (request.Write, error) {
		asked, err := s.AskDays(b, &params)
		if err != nil {
			return nil, err
		}
		return func() ([]byte, error) {
			return request.Marshal(daysPlanOut(asked, DaysOf(asked)))
		}, nil
	})
}

// AskDays takes from a book what a question is about.
func (s Handler) AskDays(b *ledger.Book, params *openapi.GetDaysPlanParams) (*rest.Asked, error) {
	return rest.Ask(b, rest.Question{
		Now: s.endOf(b, reports.OnDay(s.Service, b, params.On)), SupersOut: params.SupersOut, HotRoom: params.HotRoomSupers,
		SupersAnHour: params.SupersAnHour, DrumsOnHand: params.DrumsOnHand, DrumsArriving: params.DrumsArriving, DrumsInDays: params.DrumsInDays, EveningHours: wire.OrZero(params.EveningHours),
	})
}

// DaysOf plays the rest of the season that a question is about.
func DaysOf(a *rest.Asked) *rest.Plan { return new(a.House.Plan(daysSeed)) }

func daysPlanOut(a *rest.Asked, p *rest.Plan) openapi.DaysPlan {
	h := &a.House
	times := func(b rest.Band) openapi.DaysTimes {
		return openapi.DaysTimes{Low: h.At(b.Low), Middle: h.At(b.Middle), High: h.At(b.High)}
	}
	out := openapi.DaysPlan{
		From: h.From, Season: a.Season, Says: a.Said(p).String(), EarlierSeasons: a.Before, Rests: p.Rests, EndlessShare: rounded(p.Endless),
		Ends: times(p.Ends), Extracted: times(p.Extracted), WorkedHours: bandOut(p.WorkedHours), SupersOut: bandOut(p.Supers),
		WaitingSupers: a.Waiting, InTanksKg: rounded(a.TankKg), Drums: bandOut(p.Drums), DrumsSay: a.SaidDrums(p).String(), ByThumbDays: rounded(a.ByThumb),
		Binds: wire.Each(p.Binds, func(b rest.Bind) openapi.DaysBind {
			return openapi.DaysBind{What: bindNames[b.Way], FirstShare: rounded(b.First), EverShare: rounded(b.Ever), From: h.At(b.From), Says: b.Said(h).String()}
		}),
		More: wire.Each(p.More, func(s rest.Saving) openapi.DaysSaving {
			return openapi.DaysSaving{What: moreNames[s.More], Days: bandOut(s.Days), MeanDays: rounded(s.Mean), Says: s.Said().String()}
		}),
		Turns: wire.Each(p.Turns, func(t rest.Turn) openapi.DaysTurn {
			return openapi.DaysTurn{What: turnNames[t.What], LaterDays: rounded(t.Days), Says: t.Said().String()}
		}),
		Calendar: wire.Each(p.Days, dayOut), Yards: wire.Each(a.Yards, nextYardOut), Cautions: request.Said(a.Cautions()),
		Basis: wire.Each(a.Basis, func(b rest.Basis) openapi.DaysBasis {
			return openapi.DaysBasis{What: b.What.String(), Value: rounded(b.Value), Unit: wire.OrNil(b.Unit), From: b.From.String()}
		}),
	}
	if p.ToOrder != nil {
		out.DrumsToOrder = new(bandOut(*p.ToOrder))
	}
	return out
}

var bindNames = map[rest.Way]openapi.DaysBindWhat{
	rest.HotRoom: "hot_rooms", rest.Trucks: "trucks", rest.Line: "line", rest.Tanks: "tanks", rest.Drums: "drums",
}

var moreNames = map[rest.More]openapi.DaysSavingWhat{
	rest.AnotherHotRoom: "another_hot_room", rest.EveningShift: "evening_shift", rest.AnotherTank: "another_tank", rest.AnotherLine: "another_line", rest.AnotherTruck: "another_truck",
	rest.MoreDrums: "ten_drums",
}

var turnNames = map[rest.TurnOf]openapi.DaysTurnWhat{
	rest.QuarterMoreSupers: "quarter_more_supers", rest.FifthSlowerLine: "fifth_slower_line", rest.DayLongerDrying: "day_longer_drying",
}

func bandOut(b rest.Band) openapi.DaysBand {
	return openapi.DaysBand{Low: rounded(b.Low), Middle: rounded(b.Middle), High: rounded(b.High)}
}

func dayOut(d rest.ByDay) openapi.DaysDay {
	return openapi.DaysDay{
		On: wire.DateOut(d.On), Pulled: rounded(d.In), Extracted: rounded(d.Extracted), Kg: rounded(d.Kg), FilledKg: rounded(d.FilledKg), Drums: rounded(d.Drums),
		ExtractedBy: bandOut(d.ExtractedBy), DrumsBy: bandOut(d.DrumsBy),
	}
}

func nextYardOut(y rest.NextYard) openapi.DaysYard {
	return openapi.DaysYard{
		YardID: openapi_types.UUID(y.ID), Yard: y.Name, Supers: rounded(y.Supers), WithinDays: y.Days, LastPulledAt: wire.OrNil(y.PulledAt),
		MoisturePct: y.MoisturePct, Wet: y.Wet(), Says: y.Said().String(),
	}
}
