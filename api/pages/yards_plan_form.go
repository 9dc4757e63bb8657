package pages

import (
	"slices"
	"strconv"
	"strings"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan/yards"
	"pullbook/openapi"
)

// mostCostInputs are the yards whose visits' cost a form asks for one by one.
const mostCostInputs = 100

// surenesses are those that a form about yards offers.
var surenesses = []float64{0.8, yards.DefaultProbability, 0.95, 0.99}

// mostCountsOffered are the names of hive counts that a form offers.
const mostCountsOffered = 100

// namesOfCounts are what a book's hive counts are called, in their order: those that were done last where there
// are more than a form offers.
func namesOfCounts(b *ledger.Book) (out []string) {
	seen := map[string]bool{}
	b.InForceOf(ledger.KindHiveCount, func(_ ledger.ID, e *ledger.Entry) bool {
		if name := e.Body.(*ledger.HiveCount).Name; !seen[name] {
			seen[name], out = true, append(out, name)
		}
		return true
	})
	out = out[max(0, len(out)-mostCountsOffered):]
	slices.Sort(out)
	return out
}

// yardsForm asks how yards are to be compared; counts are what hive counts are called.
func yardsForm(f locale.Voice, counts []string) *askForm {
	form := &askForm{figures: f, ID: "yards", Button: f.Say("Compare the yards"), Inputs: []askInput{
		{Name: "per", Label: f.Say("Honey by"), Optional: true, Options: []askOption{
			{Label: f.Say("hive, if counted")}, {Value: string(yards.PerHive), Label: f.Say("hive")}, {Value: string(yards.PerSuper), Label: f.Say("super")},
		}},
		{Name: "hive_count", Label: f.Say("Hives as in the count"), Optional: true, Options: []askOption{{Label: f.Say("the latest of each season")}}},
		emptyInUnit(f, "kg", "margin_kg", f.Say("Worth a move from")).may(f.Say("So much less than the average yard, per hive and season. Left empty, a tenth of what the average yard gives.")),
		{Name: "probability", Label: f.Say("How sure it has to be"), Value: f.Typed(yards.DefaultProbability, 3)},
		askInput{Name: "price_per_kg", Label: f.Say("A %s of honey brings", f.Mass)}.may(f.Say("In your currency.")),
		askInput{Name: "visit_cost", Label: f.Say("A visit to a yard costs")}.may(f.Say("Petrol and hours, in the same currency.")),
		askInput{Name: "more_visits", Label: f.Say("Visits a season that the book does not have")}.may(f.Say("Days on which something was pulled or hives were counted it has.")),
		yesOrNo(f, "unfinished", f.Say("Count a season that goes on")),
		yesOrNo(f, "unpulled_is_nothing", f.Say("Hives and no pull count as no honey")),
	}}
	which := form.input("hive_count")
	for _, name := range counts {
		which.Options = append(which.Options, askOption{Value: name, Label: name})
	}
	sure := form.input("probability")
	for _, chance := range surenesses {
		sure.Options = append(sure.Options, askOption{Value: f.Typed(chance, 3), Label: f.Say("%s %%", message.Significant(100*chance, 3))})
	}
	return form
}

func yesOrNo(f locale.Voice, name, label string) askInput {
	return askInput{Name: name, Label: label, Optional: true, Options: []askOption{{Label: f.Say("no")}, {Value: "yes", Label: f.Say("yes")}}}
}

// costsForm asks what a visit to each yard costs, for yards that lie further off than others.
func costsForm(f locale.Voice, outfit []choice) *askForm {
	form := &askForm{figures: f, ID: "yards"}
	for _, y := range outfit[:min(len(outfit), mostCostInputs)] {
		form.Inputs = append(form.Inputs, askInput{Name: "visit-" + y.Value, Label: y.Name}.may(""))
	}
	return form
}

// yardsParams are the question that two forms ask; nil where something is wrong with it.
func yardsParams(form, costs *askForm) *openapi.GetYardsPlanParams {
	out := &openapi.GetYardsPlanParams{
		MarginKg: form.number("margin_kg"), Probability: form.number("probability"), PricePerKg: form.number("price_per_kg"),
		VisitCost: form.number("visit_cost"), HiveCount: form.chosen("hive_count"), MoreVisits: form.number("more_visits"),
		Unfinished: new(form.chosen("unfinished") != nil), UnpulledIsNothing: new(form.chosen("unpulled_is_nothing") != nil),
	}
	if per := form.chosen("per"); per != nil {
		out.Per = new(openapi.GetYardsPlanParamsPer(*per))
	}
	if out.PricePerKg != nil {
		// What was typed is of the outfit's own unit.
		*out.PricePerKg /= form.figures.ToMetric("kg", 1)
	}
	var each []string
	for _, in := range costs.Inputs {
		if v := costs.number(in.Name); v != nil {
			each = append(each, strings.TrimPrefix(in.Name, "visit-")+":"+strconv.FormatFloat(*v, 'f', -1, 64))
		}
	}
	if len(each) > 0 {
		out.VisitCosts = new(strings.Join(each, ","))
	}
	if !form.complete() || !costs.complete() {
		return nil
	}
	return out
}
