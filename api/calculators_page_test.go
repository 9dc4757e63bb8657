package api_test

import (
	"encoding/xml"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pullbook/api/apitest"
)

func TestThePageAnswersWhatAHoneyHouseAsksDailyAsTheCalculatorsDo(t *testing.T) {
	t.Parallel()
	h, tank := apitest.OpenWithTank(t, apitest.MetricOutfit)
	for _, c := range []struct {
		name, page string
		shows      []string
	}{
		{"refractometer correction", apitest.AskMoisture, []string{">16.78 %<", "± 0.11", ">1.4947", "AOAC 969.38B", "no laboratory result"}},
		{"dip of one of its tanks", "/calculators?ask=dip&tank=" + tank + apitest.DipInATank, []string{">866.6 kg<", "1,910.4 lb", "± 7.0 kg", "613.0 L", "White 1975"}},
		{"dip by measures", "/calculators?ask=dip&tank=lying_cylinder&diameter_cm=140&length_cm=250&dish_depth_cm=30" + apitest.DipInATank, []string{">2,832.5 kg<"}},
		{"warming a tank", apitest.AskWarming, []string{">45.0 °C<", "reaches 45.0 °C after", ">7.8 (7.7 to 8.6) h", "kWh", "226.3 °C", "scalds", "residual-current", "infants"}},
		{"hours until HMF", apitest.AskHMF, []string{">15.3 days<", "6.4 days", "36.3 days", "Work by", "nine honeys in ten"}},
		{"a limit that is passed", "/calculators?ask=hmf&hmf_mg_per_kg=41&hmf_limit_mg_per_kg=40&temperature_c=45", []string{">0.0 hours<", "passed at the start already"}},
		{"decimal commas", strings.ReplaceAll(apitest.AskHMF, "4.2", "4,2"), []string{">15.3 days<", `value="4,2"`}},
	} {
		response, body := h.Get(t, c.page)
		if response.StatusCode != http.StatusOK {
			t.Errorf("%s: %s", c.name, response.Status)
		}
		for _, text := range c.shows {
			if !strings.Contains(strings.ToLower(body), strings.ToLower(text)) {
				t.Errorf("%s does not show %q", c.name, text)
			}
		}
		if strings.Contains(body, "aria-invalid") {
			t.Errorf("%s: something is wrong with it", c.name)
		}
		if n := strings.Count(body, `class="answer"`); n != 1 {
			t.Errorf("%s: %d answers", c.name, n)
		}
	}
}

func TestTheFormsSayBesideTheInputWhatCannotBe(t *testing.T) {
	t.Parallel()
	h, tank := apitest.OpenWithTank(t, apitest.MetricOutfit)
	for _, c := range []struct{ name, page, input, says string }{
		{"nothing typed", "/calculators?ask=moisture&scale=brix_deg&reading=&sample_temperature_c=20", "moisture-reading", "This is needed."},
		{"no number", "/calculators?ask=moisture&scale=brix_deg&reading=dry&sample_temperature_c=20", "moisture-reading", "is not a number"},
		{"Brix on the honey scale", "/calculators?ask=moisture&scale=honey_scale_pct&reading=81&sample_temperature_c=20", "moisture-reading", "it looks like degrees Brix"},
		{"a warm sample in Fahrenheit", "/calculators?ask=moisture&scale=brix_deg&reading=81&sample_temperature_c=77", "moisture-sample_temperature_c", "77 F is 25.0 C"},
		{"a dip above the rim", "/calculators?ask=dip&tank=" + tank + strings.Replace(apitest.DipInATank, "64.5", "151", 1), "dip-dip_cm", "it is above the rim"},
		{"a negative dip", "/calculators?ask=dip&tank=" + tank + strings.Replace(apitest.DipInATank, "64.5", "-1", 1), "dip-dip_cm", "cannot be negative"},
		{"a box without a width", "/calculators?ask=dip&tank=box&length_cm=100&height_cm=90" + apitest.DipInATank, "dip-width_cm", "needs length_cm, width_cm, height_cm"},
		{"another outfit's tank", "/calculators?ask=dip&tank=0198b1a0-0006-7000-8000-000000000006" + apitest.DipInATank, "dip-tank", "This should be one of"},
		{"a thermostat in Fahrenheit", strings.Replace(apitest.AskWarming, "control_c=45", "control_c=113", 1), "warming-control_c", "113 F is 45.0 C"},
		{"thousands with a comma", strings.Replace(apitest.AskWarming, "mass_kg=1200", "mass_kg=1,200", 1), "warming-mass_kg", "Is that 1200 or 1.200? Write it without a mark between thousands."},
		{"no hours", strings.Replace(apitest.AskWarming, "hours=36", "hours=0", 1), "", "longer than nothing"},
		{"a temperature in Fahrenheit", strings.Replace(apitest.AskHMF, "temperature_c=45", "temperature_c=113", 1), "hmf-temperature_c", "113 F is 45.0 C"},
	} {
		response, body := h.Get(t, c.page)
		if response.StatusCode != http.StatusOK || !strings.Contains(body, c.says) {
			t.Errorf("%s: %s, and not %q", c.name, response.Status, c.says)
		}
		if strings.Contains(body, `class="answer"`) {
			t.Errorf("%s is answered", c.name)
		}
		marked := regexp.MustCompile(`id="([^"]+)"[^>]* aria-invalid="true" aria-describedby="([^"]+)"`).FindStringSubmatch(body)
		switch {
		case c.input == "" && (marked != nil || !strings.Contains(body, `role="alert"`)):
			t.Errorf("%s: marked is %q", c.name, marked)
		case c.input != "" && (marked == nil || marked[1] != c.input || !regexp.MustCompile(`id="`+marked[2]+`">[^<]*`+regexp.QuoteMeta(c.says)).MatchString(body)):
			t.Errorf("%s: marked is %q, want %s", c.name, marked, c.input)
		}
	}
}

func TestTheCalculatorsPageIsForWhoIsSignedIn(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	for _, path := range []string{apitest.AskHMF, "/charts/heat.svg?" + strings.SplitN(apitest.AskHMF, "?", 2)[1]} {
		if response, body := h.Get(t, path); response.StatusCode != http.StatusUnauthorized || strings.Contains(body, "15.3 days") {
			t.Errorf("%s: %s", path, response.Status)
		}
	}
}

func TestAnOutfitOfPoundsAsksAndReadsPoundsAndFahrenheit(t *testing.T) {
	t.Parallel()
	us := apitest.MetricOutfit
	us.Units = "us"
	h, tank := apitest.OpenWithTank(t, us)
	for _, c := range []struct {
		name, page string
		shows      []string
	}{
		// 86 F are 30 C; the tank holds what it holds in the metric question.
		{"dip", "/calculators?ask=dip&tank=" + tank + strings.NewReplacer("dip_cm=64.5", "dip_cm=25.393700787", "uncertainty_cm=0.5", "uncertainty_cm=0.196850394", "temperature_c=30", "temperature_c=86").Replace(apitest.DipInATank), []string{">1,910.4 lb<", "(866.6 kg), ± 15.4 lb", "161.9 gal"}},
		// 1200 kg are 2645.55 lb; 22, 45 and 18 C are 71.6, 113 and 64.4 F.
		{"warming", strings.NewReplacer("mass_kg=1200", "mass_kg=2645.5471", "start_temperature_c=22", "start_temperature_c=71.6",
			"control_c=45", "control_c=113", "ambient_c=18", "ambient_c=64.4", "area_m2=6", "area_m2=64.58346", "insulation_mm=50", "insulation_mm=1.968504",
			"wall_allowance_k=10", "wall_allowance_k=18").Replace(apitest.AskWarming), []string{">113.0 °F<", "reaches 113.0 °F after", ">7.8 (7.7 to 8.6) h"}},
		{"until a limit", strings.Replace(apitest.AskHMF, "temperature_c=45", "temperature_c=113", 1), []string{">15.3 days<"}},
	} {
		_, body := h.Get(t, c.page)
		for _, text := range c.shows {
			if !strings.Contains(body, text) {
				t.Errorf("%s does not show %q", c.name, text)
			}
		}
	}
	// By hand: 64.5 cm are 25.3937 in, 0.5 cm 0.19685 in; 140, 250 and 30 cm are
	// 55.1181, 98.4252 and 11.8110 in. 50 mm are 1.97 in, 6 m² 64.6 ft², 10 K 18 °F.
	inches := strings.NewReplacer("dip_cm=64.5", "dip_cm=25.393700787", "uncertainty_cm=0.5", "uncertainty_cm=0.196850394", "temperature_c=30", "temperature_c=86").Replace(apitest.DipInATank)
	for name, page := range map[string]string{
		"a tank of the outfit": "/calculators?ask=dip&tank=" + tank + inches,
		"measures in inches":   "/calculators?ask=dip&tank=lying_cylinder&diameter_cm=55.11811&length_cm=98.425197&dish_depth_cm=11.811024" + inches,
	} {
		_, body := h.Get(t, page)
		wants(t, name, body, map[string]string{"a tank of the outfit": "(866.6 kg), ± 15.4 lb", "measures in inches": "(2,832.5 kg)"}[name], `Dip <span class="note">in</span>`)
	}
	_, body := h.Get(t, "/calculators?ask=dip&tank="+tank+strings.Replace(inches, "25.393700787", "59.45", 1)) // 151 cm, and the rim is at 150
	wants(t, "above the rim", body, "Dip 59.45 in cannot be used: it must be from 0 to 59.06 in")
	_, body = h.Get(t, "/calculators")
	wants(t, "the forms", body, `name="dip_std_uncertainty_cm" value="0.2"`, `name="insulation_mm" value="2"`, `name="area_m2" value="65"`, `name="wall_allowance_k" value="18"`, `Wall hotter by <span class="note">°F</span>`)
	_, body = h.Get(t, strings.Replace(apitest.AskWarming, "control_c=45", "control_c=140", 1))
	wants(t, "the cautions", body, "Honey above 113 °F scalds", "at 140 °F burns in about five seconds")
	if strings.Contains(body, "45 °C") || strings.Contains(body, "45 C") {
		t.Error("a caution speaks of degrees Celsius")
	}
	if _, body := h.Get(t, "/calculators"); !strings.Contains(body, `name="mass_kg" value="2646"`) || !strings.Contains(body, `name="control_c" value="113"`) {
		t.Error("the forms do not start out in pounds and Fahrenheit")
	}
}

// The chart has the temperature, the band of HMF filled, its middle and, where
// there is one, the limit; it is drawn for the figures that the table has.
func TestTheChartDrawsTemperatureAndHMFWithItsBand(t *testing.T) {
	t.Parallel()
	h, _ := apitest.OpenWithTank(t, apitest.MetricOutfit)
	for _, c := range []struct {
		name, page string
		dashed     int
		says       []string
	}{{"warming", apitest.AskWarming, 0, []string{"hours", "HMF, mg/kg", "°C"}}, {"hmf", apitest.AskHMF, 1, []string{"days", "HMF, mg/kg", "°C"}}} {
		_, body := h.Get(t, c.page)
		source := regexp.MustCompile(`<img class="chart" src="([^"]+)" alt="[^"]{40,}"`).FindStringSubmatch(body)
		if source == nil {
			t.Fatalf("%s has no chart", c.name)
		}
		for _, form := range []string{"", "&form=narrow"} {
			response, svg := h.Get(t, strings.ReplaceAll(source[1], "&amp;", "&")+form)
			if response.StatusCode != http.StatusOK || response.Header.Get("Content-Type") != "image/svg+xml" {
				t.Fatalf("%s: the chart came as %s %s", c.name, response.Status, response.Header.Get("Content-Type"))
			}
			if err := wellFormed(svg); err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
			low := strings.ToLower(svg)
			if n := strings.Count(low, "fill:#a9c6c3"); n != 1 {
				t.Errorf("%s%s: %d bands", c.name, form, n)
			}
			if n := strings.Count(low, "stroke-dasharray"); n != c.dashed {
				t.Errorf("%s%s: %d limits", c.name, form, n)
			}
			for _, text := range c.says {
				if !strings.Contains(svg, text) {
					t.Errorf("%s%s does not say %q", c.name, form, text)
				}
			}
		}
	}
	if response, _ := h.Get(t, "/charts/heat.svg?ask=moisture"); response.StatusCode != http.StatusNotFound {
		t.Errorf("a chart of nothing: %s", response.Status)
	}
}

func wellFormed(document string) error {
	decoder := xml.NewDecoder(strings.NewReader(document))
	for {
		if _, err := decoder.Token(); err == io.EOF {
			return nil
		} else if err != nil {
			return fmt.Errorf("no XML: %w", err)
		}
	}
}

func TestEveryTemperatureThatIsTakenIsDrawn(t *testing.T) {
	t.Parallel()
	h, _ := apitest.OpenWithTank(t, apitest.MetricOutfit)
	for _, question := range []string{
		"hmf_mg_per_kg=0&hmf_limit_mg_per_kg=40&temperature_c=-40", "hmf_mg_per_kg=5&hmf_limit_mg_per_kg=40&temperature_c=4",
		"hmf_mg_per_kg=5&hmf_limit_mg_per_kg=40&temperature_c=100", "hmf_mg_per_kg=0&hmf_limit_mg_per_kg=1000&temperature_c=14",
		"hmf_mg_per_kg=39.999999&hmf_limit_mg_per_kg=40&temperature_c=100",
	} {
		if response, _ := h.Get(t, "/calculators?ask=hmf&"+question); response.StatusCode != http.StatusOK {
			t.Errorf("%s: %s", question, response.Status)
		}
		response, svg := h.Get(t, "/charts/heat.svg?ask=hmf&"+question)
		if response.StatusCode != http.StatusOK || strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") || wellFormed(svg) != nil {
			t.Errorf("%s: %s\n%.300s", question, response.Status, svg)
		}
	}
}

// Whatever is typed into the calculators, what is wrong with it is said in Spanish.
func TestTheCalculatorsRefuseInSpanish(t *testing.T) {
	t.Parallel()
	h, tank := apitest.OpenWithTank(t, apitest.MetricOutfit)
	measures := "/calculators?ask=dip&diameter_cm=140&length_cm=250&dish_depth_cm=30&width_cm=50&height_cm=80&tank="
	refused := 0
	for _, question := range []string{apitest.AskMoisture, strings.NewReplacer("refractive_index", "brix_deg", "1.4935", "81.2").Replace(apitest.AskMoisture), apitest.AskWarming, apitest.AskHMF, "/calculators?ask=dip&tank=" + tank + apitest.DipInATank,
		measures + "lying_cylinder" + apitest.DipInATank, measures + "upright_cylinder" + apitest.DipInATank, measures + "box" + apitest.DipInATank} {
		u, err := url.Parse(question)
		if err != nil {
			t.Fatal(err)
		}
		for name := range u.Query() {
			if name == "ask" || name == "tank" || name == "scale" || name == "compensated" {
				continue
			}
			for _, odd := range []string{"", "-1", "0", "0,0001", "150", "1e6", "99999", "seca"} {
				again := u.Query()
				again.Set(name, odd)
				_, body := h.Send(t, http.MethodGet, "/calculators?"+again.Encode(), nil, http.Header{"Accept-Language": {"es-ES"}})
				text, _ := visible(t, body)
				noEnglish(t, name+"="+odd, text, []string{"Settling tank"})
				refused += strings.Count(body, `aria-invalid="true"`)
			}
		}
	}
	if refused < 100 {
		t.Errorf("only %d figures were refused", refused)
	}
}
