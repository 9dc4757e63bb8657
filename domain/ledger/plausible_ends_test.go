package ledger_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/standard"
)

// The ends of what can be are recorded, and the ends of what is usual are not asked about.
func TestTheEndsOfARangeAreInIt(t *testing.T) {
	t.Parallel()
	for _, quantity := range everyQuantity {
		least, most, low, high, _ := ledger.Plausible(quantity)
		for _, v := range []float64{least, most} {
			if f := refusals(t, &ledger.Reading{Measured: measured(quantity, v)}); len(f) > 0 && !(quantity == "water_activity" && v == 0) {
				t.Errorf("%s of %g is refused: %v", quantity, v, f)
			}
		}
		for _, v := range []float64{low, high} {
			o := ledgertest.NewOutfit()
			id := o.Write(10, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Measured: measured(quantity, v)})
			if slices.Contains(flagsOn(t, o, id), ledger.ResultUnusual) {
				t.Errorf("%s of %g is asked about", quantity, v)
			}
		}
	}
}

// What is said of a figure that cannot be, in its unit, and which other it may be.
func TestAFigureIsSaidInItsUnitWithWhatWasMeant(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		quantity string
		v        float64
		words    string
		meant    any
	}{
		{"hmf_mg_per_kg", 20_000, "HMF of 20000 mg/kg cannot be of honey: from 0 to 5000 can be recorded. Was 20 meant?", 20.0}, // in µg/kg
		{"invertase_u_per_kg", -5, "cannot be below 0", nil},
		{"fructose_to_glucose", 7, "of 7 cannot be of honey: from 0.2 to 5 can be recorded. Was 0.7 meant?", 0.7},
		{"fructose_to_glucose", 20, "Was 2 meant?", 2.0},
		{"diastase_gothe", 250, "from 0 to 200 can be recorded. Was 25 meant?", 25.0},
		{"density_kg_per_l", 0.5, "Density of 0.5 kg/L cannot be of honey: from 1 to 2 can be recorded.", nil},
		{"density_kg_per_l", 1420, "No honey has a density of 1420 kg/L; this looks like kg/m3.", 1.42},
		{"temperature_c", -50, "Temperature of -50 °C cannot be of honey: from -40 to 95 can be recorded. Was -5 meant?", -5.0},
		{"temperature_c", 300, "Temperature of 300 °C cannot be of honey: from -40 to 95 can be recorded. Was 30 meant?", 30.0},
		{"ph", -1, "No honey has a pH of -1: the scale goes from 0 to 14.", nil},
		{"ph", 0, "pH of 0 cannot be of honey: from 2 to 9 can be recorded.", nil},
		{"ph", 14, "pH of 14 cannot be of honey: from 2 to 9 can be recorded.", nil},
		{"ph", 15, "No honey has a pH of 15: the scale goes from 0 to 14.", nil},
		{"water_activity", 57, "A water activity is above 0 and at most 1; 57 looks like percent.", 0.57},
		{"water_activity", 100, "A water activity is above 0 and at most 1; 100 looks like percent.", 1.0},
		{"water_activity", 101, "A water activity is above 0 and at most 1, not 101.", nil},
		{"water_activity", -0.5, "A water activity is above 0 and at most 1, not -0.5.", nil},
		{"conductivity_ms_per_cm", 450, "No honey conducts 450 mS/cm; this looks like µS/cm", 0.45},
	} {
		r := &ledger.Reading{Measured: measured(row.quantity, row.v)}
		f := refusals(t, r)
		if len(f) != 1 || !strings.Contains(f[0].Message.String(), row.words) || f[0].DidYouMean != row.meant {
			t.Errorf("of %s of %g is said %v", row.quantity, row.v, f)
		}
	}
}

// Whoever sends a reading learns of all that is wrong with it, each once.
func TestAllThatIsWrongWithAReadingIsToldOnce(t *testing.T) {
	t.Parallel()
	pointers := func(r *ledger.Reading) (out []string) {
		for _, f := range refusals(t, r) {
			out = append(out, f.Pointer)
		}
		slices.Sort(out)
		return out
	}
	looked := func(words ...string) (out []ledger.Observed) {
		for i := 0; i < len(words); i += 2 {
			out = append(out, ledger.Observed{What: words[i], Word: words[i+1]})
		}
		return out
	}
	withoutMethod := ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 8}
	wet := ledgertest.Moisture(ledger.PlaceTank, ledger.ID{}, 17).Moisture
	for what, c := range map[string]struct {
		r    *ledger.Reading
		want string
	}{
		"a figure twice, and one that cannot be":     {&ledger.Reading{Measured: measured("hmf_mg_per_kg", 8.0, "hmf_mg_per_kg", 12.0, "diastase_gothe", 900.0)}, "/measured/1/quantity /measured/2/value"},
		"two answers twice":                          {&ledger.Reading{Observed: looked("fermentation", "absent", "fermentation", "present", "liquid_mark", "no", "liquid_mark", "no")}, "/observed/1/what /observed/3/what"},
		"a word that answers nothing":                {&ledger.Reading{Moisture: wet, Observed: looked("fermentation", "maybe")}, "/observed/0/word"},
		"no method, and a word that answers nothing": {&ledger.Reading{Measured: []ledger.Measured{withoutMethod}, Observed: looked("fermentation", "maybe")}, "/measured/0/method /observed/0/word"},
		"no method, and a figure that cannot be":     {&ledger.Reading{Measured: append([]ledger.Measured{withoutMethod}, measured("diastase_gothe", 900.0)...)}, "/measured/0/method /measured/1/value"},
		"a share of more than the whole":             {&ledger.Reading{Measured: measured("named_pollen_pct", 120.0)}, "/measured/0/value"},
		"nothing":                                    {&ledger.Reading{Moisture: wet, Measured: measured("hmf_mg_per_kg", 8.0), Observed: looked("fermentation", "absent")}, ""},
	} {
		if got := strings.Join(pointers(c.r), " "); got != c.want {
			t.Errorf("%s: told at %q, not at %q: %v", what, got, c.want, refusals(t, c.r))
		}
	}
}

// A laboratory measures no less than it can, and analyses nothing after its result.
func TestALaboratorysResultFitsItsCertificate(t *testing.T) {
	t.Parallel()
	quantified := func(v, least float64) *ledger.Reading {
		m := measured("hmf_mg_per_kg", v)
		m[0].LimitOfQuantification = &least
		return &ledger.Reading{Laboratory: "Fern Valley", Measured: m}
	}
	analysed := func(on string) *ledger.Reading {
		r := &ledger.Reading{Laboratory: "Fern Valley", Measured: measured("hmf_mg_per_kg", 8.0)}
		r.AnalysedOn = standard.Date(on)
		return r
	}
	for what, c := range map[string]struct {
		r       *ledger.Reading
		refused bool
	}{
		"less than can be measured":       {quantified(0.4, 0.5), true},
		"just what can be measured":       {quantified(0.5, 0.5), false},
		"analysed a day ahead of a clock": {analysed("2026-07-02"), false}, // clocks and days differ by a day at most
		"analysed two days later":         {analysed("2026-07-03"), true},
	} {
		if f := refusals(t, c.r); (len(f) > 0) != c.refused {
			t.Errorf("%s: %v", what, f)
		}
	}
}

// Sugars, water, ash and what does not dissolve are parts of the honey, each counted once:
// up to 103 g of 100 g are the laboratory's scatter.
func TestEachPartOfTheHoneyCounts(t *testing.T) {
	t.Parallel()
	for what, c := range map[string]struct {
		moisture float64
		measured []ledger.Measured
		refused  bool
	}{
		"103 g":                      {17, measured("fructose_plus_glucose_g_per_100g", 80.0, "sucrose_g_per_100g", 6.0), false},
		"with trehalulose":           {25, measured("fructose_plus_glucose_g_per_100g", 40.0, "trehalulose_g_per_100g", 45.0), true},
		"with ash and what is solid": {20, measured("fructose_plus_glucose_g_per_100g", 75.0, "insoluble_g_per_100g", 5.0, "ash_g_per_100g", 4.0), true},
	} {
		r := ledgertest.Moisture(ledger.PlaceTank, ledger.ID{}, c.moisture)
		r.Measured = c.measured
		if f := refusals(t, r); (says(f, "/measured/0/value", "come to") != nil || says(f, "/measured/1/value", "come to") != nil) != c.refused {
			t.Errorf("%s: %v", what, f)
		}
	}
}

// What is unusual is asked about in its unit.
func TestAnUnusualFigureIsAskedAboutInItsUnit(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		quantity string
		v        float64
		unit     string
	}{{"ph", 8, "pH"}, {"fructose_to_glucose", 3, "ratio"}, {"temperature_c", 80, "C"}, {"density_kg_per_l", 1.2, "kg/L"}, {"hmf_mg_per_kg", 300, "mg/kg"}} {
		o := ledgertest.NewOutfit()
		id := o.Write(10, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Measured: measured(c.quantity, c.v)})
		if f := flagOf(t, o, id, ledger.ResultUnusual); f == nil || f.Unit != c.unit {
			t.Errorf("%s of %g: asked about is %+v", c.quantity, c.v, f)
		}
	}
}

// A moisture that cannot be may be of another scale, or have its point in the wrong place.
func TestAMoistureThatCannotBeIsSaidWithWhatItMayBe(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		scale string
		v     float64
		words string
		meant any
	}{
		{ledger.ScaleMoisture, 73, "looks like degrees Brix", nil},
		{ledger.ScaleMoisture, 86, "looks like degrees Brix", nil},
		{ledger.ScaleMoisture, 1.47, "looks like a refractive index", nil},
		{ledger.ScaleMoisture, 1.51, "looks like a refractive index", nil},
		{ledger.ScaleMoisture, 130, "did you mean 13?", 13.0},
		{ledger.ScaleMoisture, 250, "did you mean 25?", 25.0},
		{ledger.ScaleMoisture, 1.72, "did you mean 17.2?", 17.2},
		{ledger.ScaleMoisture, 60, "5 to 40 can be recorded", nil},
		{ledger.ScaleBrix, 7.85, "did you mean 78.5?", 78.5},
		{ledger.ScaleRefractiveIndex, 14.94, "did you mean 1.494?", 1.494},
	} {
		f := refusals(t, &ledger.Reading{Laboratory: "Fern Valley", Moisture: &ledger.MoistureReading{Scale: c.scale, AsRead: c.v, Compensated: true}})
		if len(f) == 0 || !strings.Contains(f[0].Message.String(), c.words) || f[0].DidYouMean != c.meant {
			t.Errorf("of %g is said %v", c.v, f)
		}
	}
}

// A moisture that no formula converts is said with what can be: 5 to 40 %. By Wedmore's
// equation from the table's ends these are indices of 1.43867 and 1.52568 at 20 C, and at 40 C
// 0.0046 less (0.00023 a degree, AOAC 969.38).
func TestAMoistureThatCannotBeConvertedIsSaidWithWhatCanBe(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		scale    string
		v, warmC float64
		words    string
	}{
		{ledger.ScaleMoisture, 60, 20, "No honey has a moisture of 60: 5 to 40 can be recorded."},
		{ledger.ScaleRefractiveIndex, 1.6, 20, "No honey has a refractive index of 1.6: 1.4387 to 1.5256 can be recorded."},
		{ledger.ScaleRefractiveIndex, 1.6, 40, "No honey has a refractive index of 1.6: 1.4341 to 1.521 can be recorded."},
		// Nothing is converted of a sample at 60 C.
		{ledger.ScaleMoisture, 45, 60, "No honey has a moisture of 45: 5 to 40 can be recorded."},
		{ledger.ScaleRefractiveIndex, 1.6, 60, "No honey has a refractive index of 1.6: 1.4387 to 1.5256 can be recorded."},
	} {
		f := refusals(t, &ledger.Reading{Laboratory: "Fern Valley", Moisture: &ledger.MoistureReading{Scale: c.scale, AsRead: c.v, SampleC: &c.warmC}})
		if len(f) != 1 || f[0].Message.String() != c.words {
			t.Errorf("of %g at %g C is said %v", c.v, c.warmC, f)
		}
	}
}

// A figure that honey can have is not what is wrong with a sample too warm or too cold for the
// correction, also where it is the driest or the wettest of its scale, or the same figure.
func TestASampleTooWarmForTheCorrectionIsWhatIsWrong(t *testing.T) {
	t.Parallel()
	for scale, ends := range map[string][]float64{
		ledger.ScaleMoisture:        {5, 17, 40},
		ledger.ScaleRefractiveIndex: {1.4387, 1.46, 1.49, 1.5256}, // 1.46 is of 31 %
		ledger.ScaleBrix:            {58.6, 70, 81, 92.8},
	} {
		for _, v := range ends {
			for _, sampleC := range []float64{60, 5} {
				f := refusals(t, &ledger.Reading{Laboratory: "Fern Valley", Moisture: &ledger.MoistureReading{Scale: scale, AsRead: v, SampleC: &sampleC}})
				if len(f) != 1 || f[0].Pointer != "/sample_temperature_c" || f[0].Sent != sampleC || !strings.Contains(f[0].Message.String(), "must be from 10 °C to 40 °C") {
					t.Errorf("%s of %g at %g C: %v", scale, v, sampleC, f)
				}
			}
		}
	}
}
