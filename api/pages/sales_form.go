package pages

import (
	"slices"
	"strconv"
	"time"

	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/openapi"
)

// currenciesOf are those in which open contracts pay.
func (p *pages) currenciesOf(b *ledger.Book) (out []string) {
	for _, o := range b.OpenContracts(p.Now()) {
		set, err := b.RuleSet(o.RuleSet, reports.OnDay(p.Service, b, nil))
		if err == nil && set.Price != nil && !slices.Contains(out, set.Price.Currency) {
			out = append(out, set.Price.Currency)
		}
	}
	return out
}

// salesForm asks for sales.
func salesForm(f locale.Voice, currencies []string) *askForm {
	keep := askInput{Name: "keep", Label: f.Say("A %s that stays is worth", f.Mass)}.may(f.Say("Left empty, nothing: then all goes that brings more than its freight."))
	form := &askForm{figures: f, ID: "sales", Button: f.Say("Find the sales"), Inputs: []askInput{
		keep, {Name: "probability", Label: f.Say("How sure each limit is to be kept"), Value: f.Typed(plan.DefaultProbability, 3)},
	}}
	for _, chance := range usualProbabilities {
		form.Inputs[1].Options = append(form.Inputs[1].Options, askOption{Value: f.Typed(chance, 3), Label: f.Say("%s %%", message.Significant(100*chance, 3))})
	}
	if len(currencies) == 1 {
		form.Inputs[0].Unit = currencies[0]
	}
	if len(currencies) > 1 {
		in := askInput{Name: "currency", Label: f.Say("Contracts that pay in"), Value: currencies[0]}
		for _, code := range currencies {
			in.Options = append(in.Options, askOption{Value: code, Label: code})
		}
		form.Inputs = append(form.Inputs, in)
	}
	return form
}

// salesParams are the question that a form asks; nil where something is wrong with it.
func salesParams(form *askForm, currencies []string) *openapi.GetSalesPlanParams {
	out := &openapi.GetSalesPlanParams{Probability: form.number("probability")}
	code := ""
	if len(currencies) > 0 {
		code = currencies[0]
	}
	if len(currencies) > 1 {
		out.Currency = form.chosen("currency")
		if out.Currency != nil {
			code = *out.Currency
		}
	}
	if typed := form.text("keep"); typed != "" {
		perKg, err := form.figures.TypedPrice(typed, code)
		minor, _ := strconv.ParseFloat(perKg, 64)
		if out.KeepMinorPerKg = &minor; err != nil {
			form.input("keep").Wrong = form.figures.Say("Type a price, such as %s, or leave this empty.", form.figures.Typed(3.5, 2))
		}
	}
	if !form.complete() {
		return nil
	}
	return out
}

// lastDayOf is a day of the contract in the reader's words; empty where there is none.
func lastDayOf(f locale.Voice, day ledger.Date) string {
	if _, err := time.Parse(time.DateOnly, string(day)); err != nil {
		return ""
	}
	return f.Date(string(day))
}
