package pages

import (
	"math"
	"net/url"
	"testing"
	"time"

	"pullbook/api/locale"
)

// A pound of honey that brings 2 makes a kilogram bring 2/0.45359237, and a margin of 10 lb is 4.5359237 kg; what
// visits cost yard by yard goes by the yards' ids.
func TestYardsAreAskedAboutInTheOutfitsUnits(t *testing.T) {
	t.Parallel()
	f := locale.NewVoice(locale.LanguageFor("en-US"), "us", time.UTC)
	form, costs := yardsForm(f, []string{"after winter"}), costsForm(f, []choice{{Value: "a", Name: "Alder"}, {Value: "b", Name: "Birch"}})
	sent := url.Values{"ask": {"yards"}, "probability": {"0.9"}, "price_per_kg": {"2"}, "margin_kg": {"10"}, "visit-b": {"12.5"}, "per": {"super"}, "unfinished": {"yes"}}
	form.fill(sent)
	costs.fill(sent)
	p := yardsParams(form, costs)
	if p == nil {
		t.Fatalf("%+v, %+v", form, costs)
	}
	if math.Abs(*p.PricePerKg-4.409245) > 1e-5 || math.Abs(*p.MarginKg-4.5359237) > 1e-6 || *p.VisitCosts != "b:12.5" || *p.Per != "super" || !*p.Unfinished || *p.UnpulledIsNothing || p.VisitCost != nil {
		t.Errorf("%+v: price %v, margin %v, costs %v", p, *p.PricePerKg, *p.MarginKg, *p.VisitCosts)
	}
}
