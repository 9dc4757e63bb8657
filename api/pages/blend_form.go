package pages

import (
	"slices"

	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

// blendChoices are what a blend may be asked to keep to, taken from a book.
type blendChoices struct {
	sets   []ledger.Resolved
	grades []string
	// kinds are those that a lot here declares.
	kinds []standard.AttributeValue
	// containers are kinds of container, yards the outfit's, by their ids; countries are those that yards say.
	containers, yards []choice
	countries         []string
}

func (p *pages) blendChoices(b *ledger.Book) (c blendChoices, err error) {
	if c.sets, err = reports.EveryRuleSet(b, reports.OnDay(p.Service, b, nil)); err != nil {
		return c, err
	}
	for _, set := range c.sets {
		if set.Form == standard.FormLimits {
			continue
		}
		for _, grade := range set.Grades {
			if !slices.Contains(c.grades, grade) {
				c.grades = append(c.grades, grade)
			}
		}
	}
	c.containers, c.yards = choicesOf(b, ledger.KindContainerKind), choicesOf(b, ledger.KindYard)
	b.InForceOf(ledger.KindYard, func(_ ledger.ID, e *ledger.Entry) bool {
		if code := e.Body.(*ledger.Yard).Country; code != "" && !slices.Contains(c.countries, code) {
			c.countries = append(c.countries, code)
		}
		return true
	})
	slices.Sort(c.countries)
	declared := map[string]bool{}
	b.InForceOf(ledger.KindLot, func(root ledger.ID, e *ledger.Entry) bool {
		if len(b.Here(root)) > 0 {
			for _, kind := range e.Body.(*ledger.Lot).Declares["kind"] {
				declared[kind] = true
			}
		}
		return true
	})
	for _, a := range standard.Attributes() {
		for _, v := range a.Values {
			if a.ID == "kind" && declared[v.ID] {
				c.kinds = append(c.kinds, v)
			}
		}
	}
	return c, nil
}

// choicesOf are the things of a kind, by their ids.
func choicesOf(b *ledger.Book, kind ledger.Kind) (out []choice) {
	b.InForceOf(kind, func(root ledger.ID, _ *ledger.Entry) bool {
		out = append(out, choice{Value: root.String(), Name: b.Name(root)})
		return true
	})
	return out
}

// usualProbabilities are those that a form offers.
var usualProbabilities = []float64{0.5, 0.8, 0.9, plan.DefaultProbability, 0.99, 0.999}

// blendForm asks for a blend.
func blendForm(f locale.Voice, c blendChoices) *askForm {
	form := &askForm{figures: f, ID: "blend", Button: f.Say("Find the blend"), Inputs: []askInput{
		emptyInUnit(f, "kg", "kg", f.Say("Honey wanted")).may(f.Say("Or say how many containers it is to fill.")),
		askInput{Name: "containers", Label: f.Say("Containers to fill")}.may(""),
		{Name: "container_kind", Label: f.Say("of this kind"), Options: []askOption{{Label: locale.Missing}}},
		emptyInUnit(f, "kg", "most_kg", f.Say("At most")).may(f.Say("Containers go whole. Left empty, a drum more will do.")),
		{Name: "rule_sets", Label: f.Say("Keep to"), Options: []askOption{{Label: f.Say("the limits below alone")}}},
		{Name: "grade", Label: f.Say("Grade"), Optional: true, Options: []askOption{{Label: locale.Missing}}},
		askInput{Name: "moisture_most_pct", Label: f.Say("Moisture at most"), Unit: "%"}.may(""),
		askInput{Name: "hmf_most_mg_per_kg", Label: f.Say("HMF at most"), Unit: "mg/kg"}.may(""),
		askInput{Name: "colour_least_mm_pfund", Label: f.Say("Colour at least"), Unit: "mm Pfund"}.may(""),
		askInput{Name: "colour_most_mm_pfund", Label: f.Say("Colour at most"), Unit: "mm Pfund"}.may(""),
		{Name: "kind", Label: f.Say("Kind of honey"), Options: []askOption{{Label: f.Say("any")}}},
		askInput{Name: "kind_share", Label: f.Say("Share of that kind at least"), Unit: "%"}.may(f.Say("Left empty, all of it.")),
		{Name: "yards", Label: f.Say("From the yard"), Options: []askOption{{Label: f.Say("any")}}},
		askInput{Name: "yards_share", Label: f.Say("Share from that yard at least"), Unit: "%"}.may(f.Say("Left empty, all of it.")),
		{Name: "countries", Label: f.Say("From the country"), Options: []askOption{{Label: f.Say("any")}}},
		askInput{Name: "countries_share", Label: f.Say("Share from that country at least"), Unit: "%"}.may(f.Say("Left empty, all of it; none where a most is given.")),
		askInput{Name: "countries_most", Label: f.Say("and at most"), Unit: "%"}.may(f.Say("Honey whose country nobody said counts as if it were from there.")),
		askInput{Name: "most_sources", Label: f.Say("Lots and tanks at most")}.may(f.Say("Fewer make a recall smaller.")),
		{Name: "probability", Label: f.Say("How sure each limit is to be kept"), Value: f.Typed(plan.DefaultProbability, 3)},
	}}
	offer := func(name, value, label string) {
		in := form.input(name)
		in.Options = append(in.Options, askOption{Value: value, Label: label})
	}
	for _, set := range c.sets {
		value := set.Family
		if set.Own() {
			value = set.Root.String()
		}
		offer("rule_sets", value, nameOfSet(f, set))
	}
	for _, grade := range c.grades {
		offer("grade", grade, standard.SayGrade(grade).In(f))
	}
	for _, kind := range c.kinds {
		offer("kind", kind.ID, f.Say("declared|"+kind.Name))
	}
	for _, kind := range c.containers {
		offer("container_kind", kind.Value, kind.Name)
	}
	for _, yard := range c.yards {
		offer("yards", yard.Value, yard.Name)
	}
	for _, code := range c.countries {
		offer("countries", code, code)
	}
	for _, chance := range usualProbabilities {
		offer("probability", f.Typed(chance, 3), f.Say("%s %%", message.Significant(100*chance, 3)))
	}
	return form
}

// blendParams are the question that two forms ask; nil where something is wrong with it.
func blendParams(form, weights *askForm) *openapi.GetBlendPlanParams {
	out := &openapi.GetBlendPlanParams{
		Kg: form.number("kg"), ContainerKind: form.chosen("container_kind"), Yards: form.chosen("yards"), MostKg: form.number("most_kg"), MoistureMostPct: form.number("moisture_most_pct"), HmfMostMgPerKg: form.number("hmf_most_mg_per_kg"),
		ColourLeastMmPfund: form.number("colour_least_mm_pfund"), ColourMostMmPfund: form.number("colour_most_mm_pfund"),
		Probability: form.number("probability"),
		RuleSets:    form.chosen("rule_sets"), Grade: form.chosen("grade"), Kind: form.chosen("kind"),
	}
	share := func(name string) *float64 {
		if percent := form.number(name); percent != nil {
			return new(*percent / 100)
		}
		return nil
	}
	out.KindShare, out.YardsShare = share("kind_share"), share("yards_share")
	if out.Countries = form.chosen("countries"); out.Countries != nil {
		out.CountriesShare, out.CountriesMost = share("countries_share"), share("countries_most")
	}
	out.MostSources, out.Containers = form.whole("most_sources", 1000), form.whole("containers", 10000)
	weigh(weights, out)
	if !form.complete() || !weights.complete() {
		return nil
	}
	return out
}
