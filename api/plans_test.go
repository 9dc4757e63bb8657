package api_test

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"pullbook/domain/optimum"
	"pullbook/openapi"
)

var searches sync.Mutex

// blendHouse is a house with two lots of three drums beside its own: dry honey of 17.0 % and wet of
// 19.4 %, read with the refractometer.
func blendHouse(t *testing.T) *shed {
	t.Helper()
	// A search takes a processor for seconds: the tests that search take turns, and the solver's code is
	// made before any of their requests waits for it.
	searches.Lock()
	t.Cleanup(searches.Unlock)
	if err := optimum.Ready(); err != nil {
		t.Fatal(err)
	}
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "movements", s.aMovement("mass_kg", 1500, "occurred_at", at(21, "13:00")))
	for _, lot := range []struct {
		code string
		pct  float64
	}{{"DRY", 17.0}, {"WET", 19.4}} {
		root := s.book(t, "lots", M{"id": id(), "occurred_at": at(21, "13:30"), "code": lot.code, "declares": M{"kind": []string{"trifolium"}}}).ID
		for n := range 3 {
			drum := s.book(t, "fills", M{"id": id(), "occurred_at": at(21, "14:00"), "lot_id": root, "tank_id": s.large, "container_kind_id": s.drum,
				"container": fmt.Sprintf("%s-%d", lot.code, n), "tare_kg": 20, "gross_kg": 320}).ID
			s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "15:00"), "on": M{"kind": "container", "id": drum}, "instrument_id": s.blue, "moisture_pct": lot.pct})
		}
	}
	return s
}

func (s *shed) blend(t *testing.T, query string) openapi.BlendPlan {
	t.Helper()
	return as[openapi.BlendPlan](t, s.get(t, "plans/blend?on=2026-08-21&"+query))
}

// Pearson's square: 17.0 and 19.4 % come to at most 18.2 % in equal parts. With what a reading may be off,
// of three drums two have to be dry. Where another lot counts ten kilograms, three dry drums cost less:
// 900 kg x (18.2 - 17.0)/81.8 = 13.2 kg of water that might have been in them, and 4.4 and another lot.
func TestABlendOfDrumsKeepsToItsMoisture(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	if usual := s.blend(t, "kg=890&most_kg=910&moisture_most_pct=18.2&kind=trifolium"); len(usual.Blends) != 1 || strings.Join(usual.Blends[0].Sources, " ") != "DRY" || math.Abs(usual.Blends[0].Mixed[0].Turns[0].At-17.85) > 0.01 {
		t.Errorf("%+v, want three drums of DRY up to a reading of 17.85 %%, and nothing without them", usual.Blends)
	}
	p := s.blend(t, "kg=890&most_kg=910&moisture_most_pct=18.2&kind=trifolium&source_kg=1")
	if len(p.Blends) == 0 || p.Impossible != nil {
		t.Fatalf("no blend: %+v", p)
	}
	best := p.Blends[0]
	slices.Sort(best.Sources)
	if strings.Join(best.Sources, " ") != "DRY WET" || best.Kg != 900 || !best.Proved {
		t.Errorf("the best blend is %v kg of %v, want 900 kg of DRY and WET", best.Kg, best.Sources)
	}
	dry := 0
	for _, take := range best.Takes {
		if take.Source == "DRY" {
			dry++
		}
		if !take.Whole || take.Kg != 300 {
			t.Errorf("%+v, want a whole drum of 300 kg", take)
		}
	}
	if m := best.Mixed[0]; dry != 2 || m.Expected < 17.79 || m.Expected > 17.81 || m.Probability < 0.95 {
		t.Errorf("%d dry drums of 3 come to %v %% with %v, want 2 and 17.8 %%", dry, m.Expected, m.Probability)
	}
	if len(p.LeftOut) != 0 || len(p.Cautions) == 0 {
		t.Errorf("left out %+v, cautions %v", p.LeftOut, p.Cautions)
	}
}

func TestABlendThatCannotBeSaysWhatWouldHaveToChange(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	p := s.blend(t, "kg=1200&most_kg=1300&moisture_most_pct=17.2&kind=trifolium")
	if len(p.Blends) != 0 || p.Impossible == nil || len(p.Impossible.Alone) != 1 {
		t.Fatalf("%+v, want no blend, and one change that would do", p)
	}
	// Three dry drums and a wet one: (3 x 17.0 + 19.4)/4 = 17.6 %, and what the readings may be off.
	if c := p.Impossible.Alone[0]; c.Parameter != "moisture" || c.To < 17.6 || c.To > 18.2 {
		t.Errorf("%+v, want moisture of somewhat more than 17.6 %%", c)
	}
	if p := s.blend(t, "kg=9000&moisture_most_pct=20"); p.Impossible == nil || !strings.Contains(p.Impossible.Says, "comes to") || len(p.Impossible.Alone) != 0 {
		t.Errorf("more than there is: %+v", p.Impossible)
	}
}

// Held honey stays where it is, and nothing is made up of what nobody measured.
func TestWhatMayNotGoIntoABlendIsSaid(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	lots := as[[]M](t, s.get(t, "lots"))
	for _, l := range lots {
		if l["code"] == "WET" {
			s.book(t, "lot-statuses", M{"id": id(), "occurred_at": at(21, "17:00"), "lot_id": l["id"], "status": "held", "why": "finding_unresolved", "note": "smells of smoke"})
		}
	}
	p := s.blend(t, "kg=600&most_kg=650&moisture_most_pct=18&kind=trifolium&rule_sets=eu-honey")
	if len(p.Blends) != 0 || p.Impossible == nil || len(p.Impossible.Alone) != 1 || p.Impossible.Alone[0].Parameter != "diastase" {
		t.Errorf("%+v, %+v: want diastase, which nobody measured, to keep it from being sure enough", p.Blends, p.Impossible)
	}
	for _, l := range lots {
		if l["code"] == "DRY" {
			s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "18:00"), "on": M{"kind": "lot", "id": l["id"]}, "laboratory": "Fern Valley", "containers_sampled": 3,
				"measured": []M{{"quantity": "diastase_gothe", "value": 18, "std_uncertainty": 1, "method": "Phadebas"}}})
		}
	}
	p = s.blend(t, "kg=600&most_kg=650&moisture_most_pct=18&kind=trifolium&rule_sets=eu-honey")
	if len(p.Blends) == 0 || len(p.Blends[0].Sources) != 1 || p.Blends[0].Sources[0] != "DRY" {
		t.Fatalf("%+v, want two drums of DRY", p.Blends)
	}
	if len(p.LeftOut) == 0 || p.LeftOut[0].Source != "WET" || !strings.Contains(p.LeftOut[0].Why, "held") {
		t.Errorf("left out: %+v, want WET, which is held", p.LeftOut)
	}
	if !slices.ContainsFunc(p.Looks, func(l openapi.BlendLimit) bool { return l.Parameter == "electrical_conductivity" }) {
		t.Errorf("to be looked at: %+v, want conductivity, which nobody measured", p.Looks)
	}
	if p := s.blend(t, "kg=600&most_kg=650&colour_most_mm_pfund=50"); len(p.Looks) != 1 || p.Looks[0].Parameter != "colour_pfund" {
		t.Errorf("to be looked at: %+v, want the colour, which nobody read", p.Looks)
	}
}

// Labels in the European Union say the countries of harvest in descending order, with the share of each by weight (Council
// Directive 2001/110/EC, Article 2, as Directive (EU) 2024/1438 has it): the book has them by its yards. A yard says its country
// once; honey of a yard that says none, and honey of which the book knows no yard, stand for themselves.
func TestABlendSaysTheCountriesOfItsYards(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	all := func(query string) openapi.BlendPlan {
		t.Helper()
		return s.blend(t, "kg=600&most_kg=650&kind=trifolium&"+query)
	}
	before := all("").Blends[0]
	if len(before.Countries) != 0 || len(before.Origins) == 0 || math.Abs(before.CountryNotSaid+before.CountryNotKnown-1) > 1e-9 {
		t.Fatalf("%+v: no yard says a country yet", before)
	}
	yard := before.Origins[0]
	says := func(country string) M {
		return M{"id": id(), "occurred_at": at(1, "9:00"), "name": yard.Yard, "country": country, "replaces": yard.ID, "reason": "its country"}
	}
	for _, wrong := range []string{"es", "UK", "ESP", "E"} {
		if r := s.post(t, "yards", says(wrong)); r.status != http.StatusUnprocessableEntity || !strings.Contains(string(r.raw), "/country") {
			t.Errorf("a yard in %s: %d %s", wrong, r.status, r.raw)
		}
	}
	s.book(t, "yards", says("PT"))
	after := all("countries=PT&countries_share=0.01").Blends[0]
	if len(after.Countries) != 1 || after.Countries[0].Country != "PT" || after.Countries[0].Share != yard.Share || *after.Origins[0].Country != "PT" || after.CountryNotKnown != before.CountryNotKnown {
		t.Errorf("%+v of %+v, want %v from PT", after.Countries, after.Origins, yard.Share)
	}
	if p := all("countries=ES&countries_share=0.01"); len(p.Blends) != 0 {
		t.Errorf("%+v: nothing is surely from Spain", p.Blends)
	}
	if p := all(fmt.Sprintf("countries=PT&countries_most=%v", yard.Share/2)); len(p.Blends) != 0 {
		t.Errorf("%+v: all honey is as much from Portugal", p.Blends)
	}
	text, _ := s.shows(t, "/plans/blend?ask=blend&kg=600&most_kg=650&kind=trifolium&countries=PT&countries_share=1&probability=0.95")
	wants(t, "the page", text, "By country", "PT", "By yard", yard.Yard, "the law of the market decides")
}

func TestABlendThatContradictsItselfIsRefused(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	for query, where := range map[string]string{
		"kg=0": "kg", "kg=-5": "kg", "kg=600&most_kg=500": "most_kg", "kg=600&probability=1": "probability", "kg=600&probability=0.2": "probability",
		"kg=600&colour_least_mm_pfund=60&colour_most_mm_pfund=50": "limits", "kg=600&kind=moonflower": "kind", "kg=600&kind=trifolium&kind_share=2": "kind_share",
		"kg=600&rule_sets=us-usda-colour": "grade", "kg=600&rule_sets=nowhere": "rule_sets", "kg=600&moisture_most_pct=101": "moisture_most_pct", "": "kg", "kg=600&most_sources=-1": "most_sources",
		"kg=600&countries=es": "countries", "kg=600&countries=ES,YU": "YU", "kg=600&countries_share=0.5": "countries", "kg=600&countries=ES&countries_share=2": "countries_share",
		"kg=600&countries=ES&countries_share=0.5&countries_most=0.4": "countries_most", "kg=600&hmf_given=-1": "hmf_given",
	} {
		r := s.send(t, http.MethodGet, "/v1/plans/blend?"+query, s.reader, nil)
		if p := as[problem](t, r); r.status != http.StatusUnprocessableEntity && r.status != http.StatusBadRequest || len(p.Errors) == 0 || !strings.Contains(fmt.Sprint(p.Errors[0]), where) {
			t.Errorf("%s: %d %s, want a word about %s", query, r.status, r.raw, where)
		}
	}
}

// Plans are worked out one after another: of many that are asked at once each is answered, or told to ask again.
func TestPlansThatAreAskedAtOnceAreAnsweredOrToldToAskAgain(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	var wg sync.WaitGroup
	var answered, busy atomic.Int32
	for n := range 12 {
		wg.Go(func() {
			switch r := s.send(t, http.MethodGet, fmt.Sprintf("/v1/plans/blend?kg=%d&most_kg=950&moisture_most_pct=18.2&on=2026-08-21", 600+n), s.reader, nil); r.status {
			case http.StatusOK:
				answered.Add(1)
			case http.StatusServiceUnavailable:
				busy.Add(1)
			default:
				t.Errorf("%d %s", r.status, r.raw)
			}
		})
	}
	wg.Wait()
	if answered.Load() == 0 || answered.Load()+busy.Load() != 12 {
		t.Errorf("%d answered, %d told to ask again, of 12", answered.Load(), busy.Load())
	}
}
