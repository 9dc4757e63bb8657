package pages

import (
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/plans"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan/rest"
	"pullbook/openapi"
)

// daysView is how many days are left, with the question that it answers.
type daysView struct {
	Form *askForm
	AsOf string
	// Answered is false where something is wrong with the question, or the book lacks something.
	Answered                     bool
	Entries, Season              string
	Said, Drums                  string
	Drawing, Workbook            string
	Bands                        []daysBand
	Ends                         []daysEnd
	Binds, More, Turns, Cautions []string
	Yards                        []daysYard
	Basis                        []daysBasis
	GoBy                         *toGoBy
}

type daysBand struct{ Name, Low, Middle, High string }

// daysEnd is a day, and how many of a hundred rests end on it.
type daysEnd struct{ Day, Share string }

type daysYard struct{ Path, Said string }

type daysBasis struct{ Name, Figure, From string }

func (p *pages) daysPage(ctx echo.Context) error {
	f, form, asked, through, err := p.daysOf(ctx)
	if err != nil {
		return err
	}
	v := &daysView{Form: form, AsOf: ctx.QueryParam("as_of")}
	if asked != nil {
		plan := plans.DaysOf(asked)
		v.answer(f, asked, plan)
		v.Entries = f.Count(int(through))
		v.Drawing = daysDrawingPath + "?" + ctx.QueryParams().Encode()
		v.Workbook = daysBookPath + "?" + ctx.QueryParams().Encode()
		if v.GoBy, err = p.goByOf(ctx, daysPath, adoptedDays(f, asked, plan)); err != nil {
			return err
		}
	}
	return p.page(ctx, http.StatusOK, "days.html", v)
}

// daysDrawing draws on which day the season may end.
func (p *pages) daysDrawing(ctx echo.Context) error {
	f, _, asked, _, err := p.daysOf(ctx)
	if err != nil {
		return err
	}
	if asked == nil {
		return fault.New(fault.NotFound, "There is no picture of what cannot be told.")
	}
	svg, err := chart.DaysLeft(formAsked(ctx), f, plans.DaysOf(asked).EndsOn)
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}

// daysWorkbook is the rest of the season as a workbook that reckons.
func (p *pages) daysWorkbook(ctx echo.Context) error {
	f, _, asked, through, err := p.daysOf(ctx)
	if err != nil {
		return err
	}
	if asked == nil {
		return fault.New(fault.NotFound, "There is no workbook of what cannot be told.")
	}
	book, err := plans.DaysWorkbook(f, asked, plans.DaysOf(asked), through)
	if err != nil {
		return err
	}
	return sendWorkbook(ctx, "days.xlsx", book)
}

// daysOf takes from the book what a query asks for. asked is nil where something is wrong with it, or the book
// lacks something, which the form says. through is the last entry that it rests on.
func (p *pages) daysOf(ctx echo.Context) (f locale.Voice, form *askForm, asked *rest.Asked, through int64, err error) {
	err = p.lookAsOf(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		f, through = request.VoiceFor(ctx, o, b), b.Len()
		return nil
	})
	if err != nil {
		return f, nil, nil, 0, err
	}
	form = daysForm(f)
	form.fill(ctx.QueryParams())
	params := daysParams(form)
	if params == nil {
		return f, form, nil, through, nil
	}
	err = p.lookAsOf(ctx, func(_ db.Principal, _ db.Outfit, b *ledger.Book) (err error) {
		through = b.Len()
		asked, err = p.plans.AskDays(b, params)
		return err
	})
	var refused *fault.Error
	if errors.As(err, &refused) && refused.Code != fault.Internal {
		if form.refuse(refused, nil); len(refused.Fields) == 0 {
			form.Wrong = append(form.Wrong, refused.Message.In(f))
		}
		return f, form, nil, through, nil
	}
	return f, form, asked, through, err
}

// daysForm asks for what the book does not know.
func daysForm(f locale.Voice) *askForm {
	byBook := f.Say("Left empty, as the book has it.")
	return &askForm{figures: f, ID: "days", Button: f.Say("Play the rest of the season"), Inputs: []askInput{
		askInput{Name: "supers_out", Label: f.Say("Supers still on the yards")}.may(byBook),
		askInput{Name: "hot_room_supers", Label: f.Say("Supers that the hot rooms take")}.may(f.Say("Left empty, the most that stood there.")),
		askInput{Name: "supers_an_hour", Label: f.Say("Supers extracted in an hour")}.may(byBook),
		askInput{Name: "drums_on_hand", Label: f.Say("Empty containers on hand")}.may(f.Say("Drums, or what is filled most. The book does not count them.")),
		askInput{Name: "drums_arriving", Label: f.Say("Containers on the way")}.may(f.Say("Left empty, more come a week after the last is used.")),
		askInput{Name: "drums_in_days", Label: f.Say("Days until they arrive")}.may(f.Say("Where some are on the way.")),
		askInput{Name: "evening_hours", Label: f.Say("Evening shift"), Unit: "h"}.may(f.Say("Left empty, none.")),
	}}
}

// daysParams are the question that a form asks; nil where something is wrong with it.
func daysParams(form *askForm) *openapi.GetDaysPlanParams {
	out := &openapi.GetDaysPlanParams{
		SupersOut: form.whole("supers_out", rest.MostSupers), HotRoomSupers: form.whole("hot_room_supers", rest.MostSupers),
		SupersAnHour: form.number("supers_an_hour"), DrumsOnHand: form.whole("drums_on_hand", rest.MostDrums), DrumsArriving: form.whole("drums_arriving", rest.MostDrums), DrumsInDays: form.whole("drums_in_days", rest.MostDrumDays), EveningHours: form.number("evening_hours"),
	}
	if !form.complete() {
		return nil
	}
	return out
}

// answer puts what was played into words.
func (v *daysView) answer(f locale.Voice, a *rest.Asked, p *rest.Plan) {
	v.Answered, v.Season, v.Said, v.Drums = true, a.Season, a.Said(p).In(f), a.SaidDrums(p).In(f)
	h := &a.House
	moment := func(hours float64) string { return f.Say("%s", message.Minute(h.At(hours))) }
	band := func(name string, b rest.Band, known bool, say func(float64) string) {
		one := daysBand{name, f.Say("not known"), say(b.Middle), f.Say("not known")}
		if known {
			one.Low, one.High = say(b.Low), say(b.High)
		}
		v.Bands = append(v.Bands, one)
	}
	band(f.Say("the last super is empty"), p.Extracted, a.Before > 0, moment)
	band(f.Say("the last honey is in its container"), p.Ends, a.Before > 0, moment)
	counted := a.Before > 0 || a.Counted
	number := func(n float64) string { return f.Number(n, 0) }
	band(f.Say("supers still on the yards"), p.Supers, counted, number)
	band(f.Say("hours that the line runs"), p.WorkedHours, counted, number)
	band(f.Say("containers that are filled"), p.Drums, counted, number)
	if p.ToOrder != nil {
		band(f.Say("containers to order"), *p.ToOrder, counted, number)
	}
	for _, e := range p.EndsOn {
		v.Ends = append(v.Ends, daysEnd{f.Date(string(e.On)), f.Number(100*e.Share, 1)})
	}
	for _, b := range p.Binds {
		v.Binds = append(v.Binds, b.Said(h).In(f))
	}
	for _, m := range p.More {
		v.More = append(v.More, m.Said().In(f))
	}
	for _, t := range p.Turns {
		v.Turns = append(v.Turns, t.Said().In(f))
	}
	for _, y := range a.Yards {
		v.Yards = append(v.Yards, daysYard{yardPath(y.ID), y.Said().In(f)})
	}
	for _, b := range a.Basis {
		v.Basis = append(v.Basis, daysBasis{f.Say("%s", message.Capital(b.What)), b.Figure().In(f), b.From.In(f)})
	}
	v.Cautions = f.SayEach(append(a.Cautions(), a.SaidByThumb()))
}
