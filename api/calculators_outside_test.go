package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
)

// What a calculator answers, against what others have printed; domain/honey and
// domain/heat hold the whole tables.
func TestCalculatorsAgainstPrintedFigures(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	for _, c := range []struct {
		source, question, field string
		low, high               float64
	}{
		{"AOAC 969.38B, row 1.4940", "moisture?refractive_index=1.4940", "moisture_pct", 16.995, 17.005},
		{"AOAC 969.38B, 0.00023 of index a degree: 1.49285 at 25 C is 1.4940 at 20 C", "moisture?refractive_index=1.49285&sample_temperature_c=25", "moisture_pct", 16.995, 17.005},
		{"AOAC 969.38B, row 17.0 %", "refractive-index?moisture_pct=17", "refractive_index", 1.49395, 1.49405},
		{"US standards 1985, least weight of a US gallon at 68 F, 18.6 % moisture: 11 lb 12 oz (from memory)", "density?moisture_pct=18.6&temperature_c=20", "lb_per_us_gallon", 11.70, 11.80},
		{"the gallon: 231 cubic inches of 2.54 cm", "dip?form=box&length_cm=100&width_cm=100&height_cm=100&dip_cm=37.85411784&moisture_pct=17", "volume_l", 378.5411, 378.5412},
		{"US standards 1985, table I: white from over 17 to 34 mm", "colour?colour_mm_pfund=34", "class/over_mm_pfund", 17, 17},
		{"A Practical Manual of Beekeeping, table 3: 30 mg/kg at 40 C in 20 to 50 days", "hours-until-hmf?hmf_mg_per_kg=0&hmf_limit_mg_per_kg=30&temperature_c=40", "hours/middle", 20 * 24, 50 * 24},
		{"White, Kushnir and Subers 1964: diastase halves at 50 C in 5.38 days", "hours-until-diastase?diastase_gothe=20&diastase_limit_gothe=10&temperature_c=50", "hours/middle", 5.0 * 24, 5.8 * 24},
		{"Bogdanov (from memory): 40 mg/kg at 50 C in 5 to 10 days, so ten days are too hot at 55 C", "highest-temperature-for-hmf?hours=240&hmf_mg_per_kg=0", "temperature_c/middle", 45, 55},
		{"glucose monohydrate, 18.015 of 198.17: (18 - 0.10 x 9.0907) / 0.90", "granulation?moisture_pct=18&crystals_pct=10", "liquid_moisture_pct", 18.9898, 18.9900},
	} {
		value := as[any](t, o.get(t, "calculators/"+c.question))
		for name := range strings.SplitSeq(c.field, "/") {
			value = value.(M)[name]
		}
		if x, ok := value.(float64); !ok || x < c.low || x > c.high {
			t.Errorf("%s: %s is %v, want %v to %v", c.source, c.question, value, c.low, c.high)
		}
	}
}

func TestACalculatorTurnedRoundGivesTheQuestionBack(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	number := func(question, field string) float64 {
		return as[M](t, o.get(t, "calculators/"+question))[field].(float64)
	}
	for _, moisture := range []float64{13.4, 15, 17.26, 18.6, 21, 24.4} {
		index := number(fmt.Sprintf("refractive-index?moisture_pct=%v&sample_temperature_c=31", moisture), "refractive_index")
		if back := number(fmt.Sprintf("moisture?refractive_index=%v&sample_temperature_c=31", index), "moisture_pct"); back < moisture-0.005 || back > moisture+0.005 {
			t.Errorf("%v %% reads %v at 31 C, which is %v %%", moisture, index, back)
		}
	}
	tanks := []string{
		"form=upright_cylinder&diameter_cm=110&height_cm=150", "form=lying_cylinder&diameter_cm=140&length_cm=250&dish_depth_cm=30",
		"form=box&length_cm=120&width_cm=80&height_cm=90", "form=cone_bottom&diameter_cm=100&height_cm=150&cone_depth_cm=50", "form=dip_table&dip_table_cm=0,10,40,100&dip_table_l=0,55,310,840",
	}
	for _, tank := range tanks {
		for _, dip := range []float64{2, 37.5, 88} {
			question := fmt.Sprintf("%s&moisture_pct=17.8&temperature_c=33", tank)
			kilograms := number(fmt.Sprintf("dip?%s&dip_cm=%v", question, dip), "mass_kg")
			if back := number(fmt.Sprintf("dip-for-mass?%s&mass_kg=%v", question, kilograms), "dip_cm"); back < dip-0.001 || back > dip+0.001 {
				t.Errorf("%s: %v cm hold %v kg, which stand at %v cm", tank, dip, kilograms, back)
			}
		}
	}
}

func TestAnyTokenMayAskACalculatorAndNobodyWithout(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	const question = "/v1/calculators/density?moisture_pct=17.2"
	for role, token := range map[string]string{"manager": o.manager, "crew": o.crew, "reader": o.reader} {
		if r := o.send(t, http.MethodGet, question, token, nil); r.status != http.StatusOK {
			t.Errorf("%s: %d %s", role, r.status, r.raw)
		}
	}
	for _, e := range calculatorExamples(t) {
		if r := o.sendWith(t, e.method, e.path+e.query, http.Header{}, e.body); r.status != http.StatusUnauthorized {
			t.Errorf("%s without a token: %d", e.path, r.status)
		}
	}
}

func TestEveryAnswerNamesItsFormulasAndWarnsWhereSomebodyCouldBeHurt(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	type answer struct {
		Formulas []struct{ Of, Name, Source string }
		Cautions []string
	}
	for _, e := range calculatorExamples(t) {
		got := as[answer](t, e.ask(t, o))
		if len(got.Formulas) == 0 {
			t.Errorf("%s %s names no formula", e.path, e.name)
		}
		for _, f := range got.Formulas {
			if f.Of == "" || f.Name == "" || f.Source == "" {
				t.Errorf("%s %s: %+v", e.path, e.name, f)
			}
		}
	}
	for _, c := range []struct{ question, warns string }{
		{"calculators/moisture?refractive_index=1.494", "no laboratory result"},
		{"calculators/hours-until-hmf?hmf_mg_per_kg=4&temperature_c=60", "scalds"},
		{"calculators/hours-until-hmf?hmf_mg_per_kg=4&temperature_c=20", "infants"},
		{"calculators/highest-temperature-for-hmf?hours=48&hmf_mg_per_kg=4", "residual-current"},
		{"calculators/viscosity?moisture_pct=17&temperature_c=60", "scalds"},
		{"calculators/granulation?moisture_pct=19&crystals_pct=20", "burst"},
	} {
		if got := as[answer](t, o.get(t, c.question)); !strings.Contains(strings.Join(got.Cautions, " "), c.warns) {
			t.Errorf("%s does not warn of %q: %q", c.question, c.warns, got.Cautions)
		}
	}
}

// Each answer about a property of honey says what its formulas rest on, and flags a
// figure beyond it; the answer is then known less well.
func TestACalculatorSaysWhereItsFormulasEnd(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	for _, c := range []struct {
		question, sure, beyond string
		uncertainty            string // the field that is wider beyond
	}{
		{"density?%s", "moisture_pct=17", "moisture_pct=24", "std_uncertainty_kg_per_l"},
		{"moisture?%s&compensated=true", "honey_scale_pct=17", "honey_scale_pct=29", "std_uncertainty_pct"},
		{"moisture?%s", "brix_deg=81", "brix_deg=66", "std_uncertainty_pct"},
		{"moisture?%s", "refractive_index=1.4940", "refractive_index=1.4600", "std_uncertainty_pct"},
		{"refractive-index?%s", "moisture_pct=17", "moisture_pct=30", "std_uncertainty"},
		{"water-activity?%s", "moisture_pct=17", "moisture_pct=38", "std_uncertainty"},
		{"viscosity?%s&temperature_c=30", "moisture_pct=17", "moisture_pct=21.8", ""},
		{"viscosity?%s", "moisture_pct=17&temperature_c=30", "moisture_pct=17&temperature_c=74", ""},
		{"specific-heat?%s", "moisture_pct=17", "moisture_pct=35", ""},
		{"thermal-conductivity?%s", "moisture_pct=17", "moisture_pct=6", ""},
		{"granulation?crystals_pct=10&%s", "moisture_pct=17", "moisture_pct=33", ""},
		{"colour?%s", "absorbance_635nm=0.2", "absorbance_635nm=0.05", ""},
		{"dip?form=box&length_cm=100&width_cm=100&height_cm=100&dip_cm=40&%s", "moisture_pct=17", "moisture_pct=22", "std_uncertainty_kg"},
		{"dip?form=box&length_cm=100&width_cm=100&height_cm=100&dip_cm=40&%s", "moisture_pct=17&temperature_c=30", "moisture_pct=17&temperature_c=70", ""},
	} {
		sure := as[M](t, o.get(t, "calculators/"+fmt.Sprintf(c.question, c.sure)))
		beyond := as[M](t, o.get(t, "calculators/"+fmt.Sprintf(c.question, c.beyond)))
		if len(sure["valid_for"].([]any)) == 0 || !allCovered(sure) || flagged(sure, "beyond-range") {
			t.Errorf("%s with %s: %v, %v", c.question, c.sure, sure["valid_for"], sure["flags"])
		}
		if allCovered(beyond) || !flagged(beyond, "beyond-range") {
			t.Errorf("%s with %s is not said to lie beyond: %v, %v", c.question, c.beyond, beyond["valid_for"], beyond["flags"])
		}
		if c.uncertainty != "" && beyond[c.uncertainty].(float64) <= sure[c.uncertainty].(float64) {
			t.Errorf("%s with %s is known to %v, with %s to %v", c.question, c.beyond, beyond[c.uncertainty], c.sure, sure[c.uncertainty])
		}
	}
}

func allCovered(answer M) bool {
	for _, r := range answer["valid_for"].([]any) {
		if !r.(M)["covers"].(bool) {
			return false
		}
	}
	return true
}

func flagged(answer M, code string) bool {
	for _, f := range answer["flags"].([]any) {
		if f.(M)["code"] == code {
			return true
		}
	}
	return false
}
