package api

import (
	"errors"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

const (
	calculatorsPath = "/calculators"
	heatChartPath   = "/charts/heat.svg"
)

// calculatorsPage is the questions that a honey house asks daily, each a form,
// with the answer to the one that was sent.
func (p *pages) calculatorsPage(ctx echo.Context) error {
	var view []*calculatorForm
	err := p.look(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		daily := dailyQuestions(figuresFor(tongueOf(ctx), o, b.Location()), gaugedTanks(b))
		for _, q := range daily {
			q.form.fill(ctx.QueryParams())
			if q.form.Asked {
				if err := q.ask(ctx.QueryParams()); err != nil {
					return err
				}
			}
			view = append(view, q.form)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "calculators.html", view)
}

// dailyQuestion is a form and how it is answered.
type dailyQuestion struct {
	form *calculatorForm
	// answer reads the form and asks the calculator; it is not called for a
	// form with something wrong.
	answer func(*calculatorForm) (*calculatorAnswer, error)
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
	b.Of(ledger.KindTank, func(root ledger.ID, e *ledger.Entry) bool {
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
func (a *calculatorAnswer) shown(formulas []openapi.FormulaUsed, flags []openapi.CalculatorFlag, cautions []string) *calculatorAnswer {
	for _, f := range formulas {
		a.Formulas = append(a.Formulas, sentence(f.Of+": "+f.Name)+" "+sentence(f.Source))
	}
	for _, f := range flags {
		a.Flags = append(a.Flags, f.Sentence)
	}
	a.Cautions = cautions
	return a
}
