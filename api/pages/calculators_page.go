package pages

import (
	"errors"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"pullbook/api/calculator"
	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/openapi"
)

const (
	calculatorsPath = "/calculators"
	heatChartPath   = "/charts/heat.svg"
)

// calculatorsPage is the questions that a honey house asks daily, each a form,
// with the answer to the one that was sent.
func (p *pages) calculatorsPage(ctx echo.Context) error {
	var f locale.Voice
	var tanks []gaugedTank
	err := p.look(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		f, tanks = request.VoiceFor(ctx, o, b), gaugedTanks(b)
		return nil
	})
	if err != nil {
		return err
	}
	var view []*askForm
	for _, q := range dailyQuestions(f, tanks) {
		q.form.fill(ctx.QueryParams())
		if q.form.Asked {
			if err := q.ask(ctx.QueryParams()); err != nil {
				return err
			}
		}
		view = append(view, q.form)
	}
	return p.page(ctx, http.StatusOK, "calculators.html", view)
}

// calculatorAnswer is an answer as the page shows it.
type calculatorAnswer struct {
	// Headline is the figure asked for, Beside what belongs to it.
	Headline, Beside string
	Lines            []calculatorLine
	Chart, ChartText string
	Table            []chart.HeatRow
	Flags, Cautions  []string
	Formulas         []calculatorFormula
}

// calculatorFormula is a formula in words, and its source as it is cited.
type calculatorFormula struct{ Text, Source string }

type calculatorLine struct{ Name, Figure, Note string }

// dailyQuestion is a form and how it is answered.
type dailyQuestion struct {
	form *askForm
	// answer reads the form and asks the calculator; it is not called for a
	// form with something wrong.
	answer func(*askForm) (*calculatorAnswer, error)
	// known gives the input's name for a calculator's own, where they differ.
	known map[string]string
}

// ask answers the question, or says in its form what is wrong with it.
func (q dailyQuestion) ask(sent url.Values) error {
	answer, err := q.answer(q.form)
	var refused *fault.Error
	switch {
	case errors.As(err, &refused) && refused.Code == fault.Invalid:
		q.form.refuse(refused, q.known)
		return nil
	case err != nil:
		return err
	case answer == nil:
		return nil
	}
	if answer.ChartText != "" {
		answer.Chart = heatChartPath + "?" + sent.Encode()
	}
	q.form.Answer = answer
	return nil
}

// gaugedTanks are the outfit's tanks that have a shape, by their ids.
func gaugedTanks(b *ledger.Book) []gaugedTank {
	var out []gaugedTank
	b.InForceOf(ledger.KindTank, func(root ledger.ID, e *ledger.Entry) bool {
		if t := e.Body.(*ledger.Tank); t.Shape != nil {
			out = append(out, gaugedTank{root.String(), t})
		}
		return true
	})
	return out
}

type gaugedTank struct {
	id   string
	tank *ledger.Tank
}

// shown puts formulas, flags and cautions into the words of the page.
func (a *calculatorAnswer) shown(f locale.Voice, formulas []openapi.FormulaUsed, flags []openapi.CalculatorFlag, cautions []string) *calculatorAnswer {
	for _, x := range formulas {
		a.Formulas = append(a.Formulas, calculatorFormula{calculator.Sentence(f.Say(x.Of) + ": " + f.Say(x.Name)), calculator.Sentence(x.Source)})
	}
	for _, x := range flags {
		a.Flags = append(a.Flags, flagWords(f, x))
	}
	for _, x := range cautions {
		a.Cautions = append(a.Cautions, quality.CautionSaid(x).In(f))
	}
	return a
}

// holding adds what the formulas rest on.
func (a *calculatorAnswer) holding(f locale.Voice, ranges openapi.ValidFor) *calculatorAnswer {
	for _, r := range ranges {
		line := calculatorLine{Name: f.Say("the formulas rest on"), Figure: f.Say("%s from %s to %s", message.F("quantity|"+r.Of), inRange(f, r.Unit, r.From), inRange(f, r.Unit, r.To))}
		if !r.Covers {
			line.Note = f.Say("This figure lies outside: the answer goes on beyond it and is known less well.")
		}
		a.Lines = append(a.Lines, line)
	}
	return a
}

// inRange is an end of a range in the reader's units.
func inRange(f locale.Voice, unit string, end float64) string {
	switch unit {
	case "C":
		return f.Celsius(end)
	case "%":
		return f.Say("%s %%", message.Figure(end))
	}
	return f.Say("%s", message.Figure(end))
}

// flagWords says what is odd about an answer. The figures stand in the answer.
func flagWords(f locale.Voice, flag openapi.CalculatorFlag) string {
	switch flag.Code {
	case "unusual-moisture":
		return f.Say("Honey of this moisture is rare: most lies from %s to %s %%. Check the reading before acting on it.",
			message.Figure(honey.OrdinaryMoistureMinPct), message.Figure(honey.OrdinaryMoistureMaxPct))
	case calculator.FlagBeyondRange:
		return f.Say("A figure lies outside what the formulas rest on: the answer goes on beyond it and is known less well.")
	case "limit-passed":
		return f.Say("The limit is passed at the start already.")
	case "control-point-not-reached":
		return f.Say("The honey ends short of the thermostat's temperature: more time, a stronger heater or better insulation is needed.")
	case string(heat.FlagExtrapolated):
		return f.Say("A temperature lies outside the %s to %s that the published times cover.", message.Celsius(heat.MeasuredFromC), message.Celsius(heat.MeasuredToC))
	}
	return flag.Sentence
}
