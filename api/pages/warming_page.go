package pages

import (
	"errors"
	"math"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/plans"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan/warm"
)

const (
	planWarmingPath        = plansPath + "/warming"
	planWarmingDrawingPath = planWarmingPath + "/drawing.svg"
	planWarmingBookPath    = planWarmingPath + "/warming.xlsx"
)

// planWarmingView is a question how hot and how long with what it came to.
type planWarmingView struct {
	Form     *askForm
	Answered bool
	// Of is what is warmed, By until when.
	Of, Mass, By string
	// Best is the plan; nil where there is none.
	Best *wayShown
	// Impossible says why there is none.
	Impossible, End, Look, Drawing, Unit, Workbook string
	Ways                                           []wayShown
	// GoBy is nil where there is nothing to go by.
	GoBy *toGoBy
	// HasMoney is true where a price was given.
	HasMoney bool
	Hours    []warmHour
	// Turns are what would change the plan.
	Turns    []string
	RestsOn  []string
	Cautions []string
}

// wayShown is a way to warm beside the others.
type wayShown struct{ Name, Says, Done, Made, HMF, Diastase, KWh, Money string }

// warmHour is a line of the table under the drawing.
type warmHour struct{ At, Set, Mean, Coldest string }

func (p *pages) planWarmingPage(ctx echo.Context) error {
	f, form, asked, answer, err := p.planWarmingOf(ctx)
	if err != nil {
		return err
	}
	v := &planWarmingView{Form: form, Unit: f.Temperature}
	if answer != nil {
		turns, err := asked.Spec.Turns(answer)
		if err != nil {
			return err
		}
		for _, t := range turns {
			v.Turns = append(v.Turns, t.Said().In(f))
		}
		v.answer(f, asked, answer, form.number("kwh_price"))
		v.Drawing = planWarmingDrawingPath + "?" + ctx.QueryParams().Encode()
		if v.Best != nil {
			v.Workbook = planWarmingBookPath + "?" + ctx.QueryParams().Encode()
			if v.GoBy, err = p.goByOf(ctx, planWarmingPath, adoptedWarming(f, asked, answer)); err != nil {
				return err
			}
		}
	}
	return p.page(ctx, http.StatusOK, "plan-warming.html", v)
}

// planWarmingOf works out what a query asks for. It finds nothing where nothing is asked for, or something
// is wrong with it, which the form says.
func (p *pages) planWarmingOf(ctx echo.Context) (f locale.Voice, form *askForm, asked *warm.Asked, answer *warm.Answer, err error) {
	var choices warmable
	now := p.Now()
	err = p.look(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		f, choices = request.VoiceFor(ctx, o, b), warmableOf(b)
		return nil
	})
	if err != nil {
		return f, nil, nil, nil, err
	}
	form = planWarmingForm(f, choices)
	form.fill(ctx.QueryParams())
	if !form.Asked {
		return f, form, nil, nil, nil
	}
	params := planWarmingParams(form, now)
	if params == nil {
		return f, form, nil, nil, nil
	}
	err = p.look(ctx, func(_ db.Principal, _ db.Outfit, b *ledger.Book) (err error) {
		asked, err = p.plans.AskWarming(b, params, now)
		return err
	})
	if err == nil {
		answer, err = asked.Spec.Solve()
	}
	var refused *fault.Error
	if errors.As(err, &refused) && refused.Code == fault.Invalid {
		form.refuse(refused, map[string]string{"tank": "what", "lot": "what", "by": "hours"})
		return f, form, nil, nil, nil
	}
	return f, form, asked, answer, err
}

// answer puts what was found into words.
func (v *planWarmingView) answer(f locale.Voice, asked *warm.Asked, answer *warm.Answer, price *float64) {
	at := func(hour int) string { return f.Minute(asked.From.Add(time.Duration(hour) * time.Hour)) }
	v.Answered, v.HasMoney = true, price != nil
	v.Of, v.Mass, v.By = asked.Name, f.Kg(asked.MassKg), at(asked.Spec.Hours)
	if asked.Containers > 0 {
		v.Of = f.Say("containers of %s", asked.Name)
	}
	add := func(name string, w *warm.Way) {
		if w != nil {
			v.Ways = append(v.Ways, wayShownOf(f, name, w, at, price))
		}
	}
	for i := range answer.Choices {
		name := f.Say("The best way")
		if i > 0 {
			name = f.Say("The next best, %s", f.Count(i))
		}
		add(name, &answer.Choices[i])
	}
	if why := answer.Impossible; why != nil {
		v.Impossible = why.Said(asked.Spec.HottestC, asked.From).In(f)
		add(f.Say("If it must be done by then"), why.Way)
	}
	add(f.Say("As hot as allowed"), answer.Hottest)
	add(f.Say("As it is done now"), answer.AsNow)
	add(f.Say("With a day more"), answer.DayMore)
	if drawn := drawnOf(answer); drawn != nil {
		v.Best = &v.Ways[0]
		v.Hours = hoursShown(f, drawn, at)
		if drawn.LookHour > 0 {
			v.Look = f.Say("Look at it from %s on, and switch off once it is so: half of honeys are by then.", at(drawn.LookHour))
		}
	}
	if answer.EndC != nil {
		v.End = f.Say("It is that thin at %s.", message.Celsius(math.Round(10**answer.EndC)/10))
	}
	v.RestsOn, v.Cautions = f.SayEach(asked.RestsOn), f.SayEach(asked.Cautions(answer))
}

// drawnOf is the way that is drawn: the best, or else that which must be; nil where there is none.
func drawnOf(a *warm.Answer) *warm.Way {
	switch {
	case len(a.Choices) > 0:
		return &a.Choices[0]
	case a.Impossible != nil:
		return a.Impossible.Way
	}
	return nil
}

func wayShownOf(f locale.Voice, name string, w *warm.Way, at func(hour int) string, price *float64) wayShown {
	out := wayShown{Name: name, Says: w.Said().In(f), Done: f.Say("not by then"), Made: bandShown(f, w.Made, 1), HMF: bandShown(f, w.HMF, 1), Diastase: bandShown(f, w.Diastase, 1), KWh: bandShown(f, w.KWh, 0)}
	if w.Arrives {
		out.Done = at(w.ArrivesHour)
	}
	if price != nil {
		out.Money = bandShown(f, heat.Band{Low: w.KWh.Low * *price, Middle: w.KWh.Middle * *price, High: w.KWh.High * *price}, 2)
	}
	return out
}

// bandShown is a figure with the ends that nine of ten lie between.
func bandShown(f locale.Voice, b heat.Band, places int) string {
	return f.Say("%s (%s to %s)", f.Number(b.Middle, places), f.Number(b.Low, places), f.Number(b.High, places))
}

// mostHourRows are shown of a course.
const mostHourRows = 16

func hoursShown(f locale.Voice, w *warm.Way, at func(hour int) string) (out []warmHour) {
	every := max(1, (len(w.Curve)-1)/mostHourRows)
	for i := 0; i < len(w.Curve); i += every {
		m := w.Curve[i]
		row := warmHour{At: at(m.Hour), Set: f.Say("off"), Mean: f.Number(f.Degrees(m.MeanC), 1), Coldest: f.Number(f.Degrees(m.ColdestC), 1)}
		if m.SetC != warm.Off {
			row.Set = f.Number(f.Degrees(float64(m.SetC)), 0)
		}
		out = append(out, row)
	}
	return out
}

// planWarmingWorkbook is the best way as a workbook that reckons.
func (p *pages) planWarmingWorkbook(ctx echo.Context) error {
	f, form, asked, answer, err := p.planWarmingOf(ctx)
	if err != nil {
		return err
	}
	if answer == nil || drawnOf(answer) == nil {
		return fault.New(fault.NotFound, "There is no way to warm for this question.")
	}
	book, err := plans.WarmingWorkbook(f, asked, drawnOf(answer), wire.OrZero(form.number("kwh_price")))
	if err != nil {
		return err
	}
	return sendWorkbook(ctx, "warming.xlsx", book)
}

// planWarmingDrawing draws the best way.
func (p *pages) planWarmingDrawing(ctx echo.Context) error {
	f, _, _, answer, err := p.planWarmingOf(ctx)
	if err != nil {
		return err
	}
	if answer == nil || drawnOf(answer) == nil {
		return fault.New(fault.NotFound, "There is nothing to draw for this question.")
	}
	svg, err := chart.Warming(formAsked(ctx), f, drawnOf(answer))
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}
