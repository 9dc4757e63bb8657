package pages

import (
	"net/url"
	"reflect"
	"slices"
	"testing"
	"time"

	"pullbook/api/locale"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// notAsked are parameters of plans that no page asks for, with why.
var notAsked = map[string]string{
	"AsOf":    "an address has it: whoever looks at an earlier book comes by a link",
	"KnownAt": "as_of says the same of a page",
	"On":      "a page plans from today on; an earlier day is looked at as of an entry of that day",
}

// asked fills in a form, the first option that says something of each choice, and else what is given.
func asked(t *testing.T, given url.Values, forms ...*askForm) {
	t.Helper()
	for _, form := range forms {
		sent := url.Values{"ask": {form.ID}}
		for _, in := range form.Inputs {
			value := "1"
			for _, o := range in.Options {
				if o.Value != "" {
					value = o.Value
				}
			}
			if given.Has(in.Name) {
				value = given.Get(in.Name)
			}
			sent.Set(in.Name, value)
		}
		form.fill(sent)
	}
}

// missing are the parameters that questions leave empty.
func missing(questions ...any) (out []string) {
	empty := map[string]int{}
	for _, q := range questions {
		v := reflect.ValueOf(q).Elem()
		for i := range v.NumField() {
			if v.Field(i).IsZero() {
				empty[v.Type().Field(i).Name]++
			}
		}
	}
	for name, n := range empty {
		if n == len(questions) && notAsked[name] == "" {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// Whatever a program can ask of a plan, a beekeeper can ask on its page.
func TestEachParameterOfAPlanIsAskedOnItsPage(t *testing.T) {
	t.Parallel()
	f := locale.NewVoice(locale.LanguageFor("en-US"), "metric", time.UTC)
	one := []choice{{Value: "a", Name: "A"}}
	lacks := func(plan string, questions ...any) {
		t.Helper()
		if out := missing(questions...); len(out) > 0 {
			t.Errorf("the page of %s does not ask for %v", plan, out)
		}
	}

	yards, costs := yardsForm(f, []string{"main flow"}), costsForm(f, one)
	asked(t, nil, yards, costs)
	lacks("yards", yardsParams(yards, costs))

	kinds := []standard.AttributeValue{{ID: "trifolium", Name: "white clover"}}
	blend, weights := blendForm(f, blendChoices{grades: []string{"A"}, kinds: kinds, containers: one, yards: one, countries: []string{"ES"}}), weightsForm(f, plan.UsualWeights())
	asked(t, url.Values{"rule_sets": {"eu-honey"}}, blend, weights)
	lacks("blends", blendParams(blend, weights))

	days := daysForm(f)
	asked(t, nil, days)
	lacks("days left", daysParams(days))

	sales := salesForm(f, []string{"EUR", "USD"})
	asked(t, nil, sales)
	lacks("sales", salesParams(sales, []string{"EUR", "USD"}))

	warmable := warmable{tanks: one, lots: one, rooms: one}
	tank, lot := planWarmingForm(f, warmable), planWarmingForm(f, warmable)
	asked(t, url.Values{"what": {ofTank + "a"}}, tank)
	asked(t, url.Values{"what": {ofLot + "a"}}, lot)
	lacks("warming", planWarmingParams(tank, time.Now()), planWarmingParams(lot, time.Now()))
}
