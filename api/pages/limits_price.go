package pages

import (
	"cmp"
	"encoding/json"
	"math"
	"strconv"

	"pullbook/api/pages/form"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

const priceField, currencyField = "price", "currency"

// stepUnits are what a price may hang on, with the unit that its steps are in.
var stepUnits = []struct{ parameter, unit string }{{"moisture", "%"}, {"colour_pfund", "mm Pfund"}}

// mostSteps of a price are read of a form, one more than the contract has.
const mostSteps = 201

// fewestSteps are the lines of the table of steps that are there to be filled.
const fewestSteps = 3

// stepFields are the fields of a line of the table.
var stepFields = []string{"above", "up_to", "percent", "per"}

func stepField(field string, row int) string { return field + " " + strconv.Itoa(row) }

// rows is how many lines of the table came, up to the last one that has something in it.
func (s *sentLimits) rows() (n int) {
	for row := range mostSteps {
		if !s.emptyStep(row) {
			n = row + 1
		}
	}
	return n
}

func (s *sentLimits) emptyStep(row int) bool {
	for _, field := range stepFields {
		if s.one(stepField(field, row)) != "" {
			return false
		}
	}
	return true
}

// stepOn is the parameter that a line of the table is about.
func (s *sentLimits) stepOn(row int) string {
	return cmp.Or(s.one(stepField("what", row)), stepUnits[0].parameter)
}

// price is the price with its steps, as the contract has it; nil where none was typed.
func (s *sentLimits) price() map[string]any {
	s.stepOf = nil
	var steps []any
	for row := range s.rows() {
		if !s.emptyStep(row) {
			s.stepOf, steps = append(s.stepOf, row), append(steps, s.step(row))
		}
	}
	was := cloned(s.start.value["price"])
	switch {
	case s.one(priceField) != "":
	case len(steps) > 0:
		s.wrong[priceField] = s.Say("Write the price that the steps lower.")
		return nil
	default:
		return nil
	}
	out := map[string]any{"currency": s.one(currencyField), "minor_units_per_kg": s.money(priceField, was["minor_units_per_kg"])}
	if s.one(currencyField) == "" {
		s.wrong[currencyField] = s.Say("Say in which currency, by its three letters, such as CAD.")
	}
	if len(steps) > 0 {
		out["discounts"] = steps
	}
	return out
}

// money is an amount for each unit of mass, in minor units for each kilogram. What the book had
// stays as it was where the form shows it so.
func (s *sentLimits) money(name string, was any) string {
	if had, ok := was.(string); ok && s.PriceTyped(had, s.one(currencyField)) == s.one(name) {
		return had
	}
	amount, err := s.TypedPrice(s.one(name), s.one(currencyField))
	if err != nil {
		s.wrong[name] = form.SayError(s.Voice, err)
	}
	return amount
}

func (s *sentLimits) step(row int) map[string]any {
	had, out := map[string]any{}, map[string]any{"clause": s.one("/citation")}
	if steps, ok := cloned(s.start.value["price"])["discounts"].([]any); ok && row < len(steps) {
		if had = cloned(steps[row]); s.correcting && had["clause"] != nil {
			out["clause"] = had["clause"]
		}
	}
	out["parameter"] = s.stepOn(row)
	for _, u := range stepUnits {
		if u.parameter == out["parameter"] {
			out["unit"] = u.unit
		}
	}
	if had["parameter"] == out["parameter"] && had["unit"] != nil {
		out["unit"] = had["unit"]
	}
	for _, field := range []string{"above", "up_to", "percent"} {
		if figure := s.figure(stepField(field, row)); figure != "" {
			out[field] = figure
		}
	}
	percent, per := s.one(stepField("percent", row)) != "", s.one(stepField("per", row)) != ""
	if per {
		out["minor_units_per_kg"] = s.money(stepField("per", row), had["minor_units_per_kg"])
	}
	switch {
	case percent && per:
		s.wrong[stepField("step", row)] = s.Say("A step costs either money or a part of the price, not both.")
	case !percent && !per:
		s.wrong[stepField("step", row)] = s.Say("Write what the step costs.")
	case s.one(stepField("above", row)) == "":
		s.wrong[stepField("step", row)] = s.Say("Write above which figure the step begins.")
	}
	return out
}

// exampleMass is what examples are worked out on: a drum, in kilograms or in pounds.
func (s *sentLimits) exampleMass() (mass string, grams int64) {
	of := 300
	if s.US() {
		of = 650
	}
	return s.Count(of) + " " + s.Mass, int64(math.Round(float64(of) * s.GramsPerUnit))
}

// examples say what the typed terms come to on a drum: without a step, and by each step, by its
// row. They are empty where the terms cannot be worked out.
func (s *sentLimits) examples() (plain string, steps map[int]string) {
	var terms standard.PriceTerms
	text, err := json.Marshal(s.price())
	if err != nil || json.Unmarshal(text, &terms) != nil || terms.PricePerKg.Sign() <= 0 || len(terms.Currency) != 3 {
		return "", nil
	}
	mass, grams := s.exampleMass()
	alone := standard.PriceTerms{Currency: terms.Currency, PricePerKg: terms.PricePerKg}
	whole, err := alone.Settle(standard.Parcel{NetGrams: grams})
	if err != nil {
		return "", nil
	}
	plain, steps = s.Say("Without a step, %s bring %s.", mass, s.Money(whole.Net, terms.Currency)), map[int]string{}
	for i, d := range terms.Discounts {
		if s.wrong[stepField("step", s.stepOf[i])] != "" {
			continue
		}
		if value, settled, err := terms.Example(i, grams); err == nil {
			figure := message.F("%s %s", value.Said(), standard.SayUnit(d.Unit))
			steps[s.stepOf[i]] = s.Say("%s costs %s: %s bring %s.", figure, s.costs(d, terms.Currency), mass, s.Money(settled.Net, terms.Currency))
		}
	}
	return plain, steps
}

// costs is what a step takes off.
func (s *sentLimits) costs(d standard.Discount, currency string) message.Text {
	if d.Percent != nil {
		return message.F("%s %% of the price", d.Percent.Said())
	}
	amount := message.Verbatim(s.PriceTyped(d.PerKg.String(), currency) + "\u00a0" + currency)
	if s.US() {
		return message.F("%s a pound", amount)
	}
	return message.F("%s a kilogram", amount)
}

// typedPrice writes the price of a start as it would be typed.
func (s *sentLimits) typedPrice() {
	price := cloned(s.start.value["price"])
	if len(price) == 0 {
		return
	}
	currency, _ := price["currency"].(string)
	money := func(amount any) string {
		text, ok := amount.(string)
		if !ok {
			return ""
		}
		return s.PriceTyped(text, currency)
	}
	s.typed.Set(currencyField, currency)
	s.typed.Set(priceField, money(price["minor_units_per_kg"]))
	steps, _ := price["discounts"].([]any)
	for row := range max(len(steps), s.rows()) {
		step := map[string]any{}
		if row < len(steps) {
			step = cloned(steps[row])
		}
		parameter, _ := step["parameter"].(string)
		s.typed.Set(stepField("what", row), cmp.Or(parameter, stepUnits[0].parameter))
		for _, field := range []string{"above", "up_to", "percent"} {
			s.typed.Set(stepField(field, row), s.figureTyped(step[field]))
		}
		s.typed.Set(stepField("per", row), money(step["minor_units_per_kg"]))
	}
}
