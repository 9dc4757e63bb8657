package ledger_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// refusals is what the book says of a reading on the settling tank, before it is
// stored.
func refusals(t rapid.TB, r *ledger.Reading) []fault.Field {
	t.Helper()
	o := ledgertest.NewOutfit()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	r.On = ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}
	e := &ledger.Entry{ID: o.Next(), Kind: ledger.KindReading, OccurredAt: ledgertest.At(1), RecordedAt: ledgertest.At(1), Body: r}
	err = errors.Join(b.Complete(e), b.Check(e, ledgertest.At(2)))
	var f *fault.Error
	if errors.As(err, &f) {
		return f.Fields
	}
	if err != nil {
		t.Fatal(err)
	}
	return nil
}

func says(fields []fault.Field, pointer, words string) *fault.Field {
	for i := range fields {
		if fields[i].Pointer == pointer && strings.Contains(fields[i].Message.String(), words) {
			return &fields[i]
		}
	}
	return nil
}

func measured(pairs ...any) (out []ledger.Measured) {
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, ledger.Measured{Quantity: pairs[i].(string), Value: pairs[i+1].(float64), Method: "HPLC"})
	}
	return out
}

func TestAFigureThatNoHoneyHasIsRefusedWithWhatWasMeant(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what     string
		measured []ledger.Measured
		pointer  string
		words    string
		meant    any
	}{
		{"a diastase of 900", measured("diastase_gothe", 900.0), "/measured/0/value", "from 0 to 200 can be recorded. Was 9 meant?", 9.0},
		{"a kilogram of HMF in a kilogram", measured("hmf_mg_per_kg", 1e6), "/measured/0/value", "HMF of 1000000 mg/kg cannot be of honey: from 0 to 5000", nil},
		{"a proline without its point", measured("proline_mg_per_kg", 45_000.0), "/measured/0/value", "Was 450 meant?", 450.0},
		{"113 where a temperature in Celsius is asked", measured("temperature_c", 113.0), "/measured/0/value", "113 °F is 45 °C", 45.0},
		{"an isotope ratio for a difference", measured("delta13c_difference_permil", -25.4), "/measured/0/value", "from -20 to 20", -2.54},
		{"the same quantity twice", measured("diastase_gothe", 15.0, "hmf_mg_per_kg", 8.0, "hmf_mg_per_kg", 12.0), "/measured/2/quantity", "HMF stands in this reading already, with 8", nil},
		{"sugars alone above 100 g in 100 g", measured("reducing_sugars_g_per_100g", 90.0, "sucrose_g_per_100g", 14.0), "/measured/0/value", "come to 104 g in 100 g", nil},
	} {
		f := says(refusals(t, &ledger.Reading{Measured: row.measured}), row.pointer, row.words)
		if f == nil {
			t.Errorf("%s: nothing at %s says %q in %v", row.what, row.pointer, row.words, refusals(t, &ledger.Reading{Measured: row.measured}))
			continue
		}
		if f.DidYouMean != row.meant {
			t.Errorf("%s: %v is said to be meant, want %v", row.what, f.DidYouMean, row.meant)
		}
	}
}

func TestSugarsAndWaterAreNoMoreThanTheHoney(t *testing.T) {
	t.Parallel()
	reading := func(moisture, sugars, sucrose float64) *ledger.Reading {
		r := ledgertest.Moisture(ledger.PlaceTank, ledger.ID{}, moisture)
		r.Measured = measured("fructose_plus_glucose_g_per_100g", sugars, "sucrose_g_per_100g", sucrose)
		return r
	}
	if f := refusals(t, reading(17.2, 75, 10)); says(f, "/measured/0/value", "come to") != nil {
		t.Errorf("102.2 g of 100 g may be the laboratory's scatter, but %v", f)
	}
	if f := refusals(t, reading(20, 78, 7)); says(f, "/measured/0/value", "come to 105 g in 100 g of honey") == nil {
		t.Errorf("105 g of 100 g were taken: %v", f)
	}
	// Reducing sugars count fructose and glucose, which are not counted twice.
	both := reading(17, 70, 2)
	both.Measured = append(both.Measured, measured("reducing_sugars_g_per_100g", 76.0)...)
	if f := refusals(t, both); len(f) > 0 {
		t.Errorf("an ordinary analysis with two sums of sugars is refused: %v", f)
	}
	// Maltose is counted beside fructose and glucose, and within the reducing sugars.
	malted := reading(17, 70, 2)
	malted.Measured = append(malted.Measured, measured("maltose_g_per_100g", 7.0, "reducing_sugars_g_per_100g", 77.0)...)
	if f := refusals(t, malted); len(f) > 0 {
		t.Errorf("an ordinary analysis with maltose is refused: %v", f)
	}
	full := reading(17, 76, 2)
	full.Measured = append(full.Measured, measured("maltose_g_per_100g", 12.0)...)
	if f := refusals(t, full); says(f, "/measured/0/value", "come to 107 g") == nil {
		t.Errorf("107 g of 100 g were taken: %v", f)
	}
}

// How White's mean honey of 490, and its extremes, would look as one reading each.
func TestPublishedHoneysAreTakenWithoutAWord(t *testing.T) {
	t.Parallel()
	for name, m := range map[string][]ledger.Measured{
		"mean":     measured("maltose_g_per_100g", 7.31, "reducing_sugars_g_per_100g", 76.75, "sucrose_g_per_100g", 1.31, "ash_g_per_100g", 0.169, "ph", 3.91, "fructose_to_glucose", 1.23, "free_acidity_meq_per_kg", 22.0),
		"least":    measured("maltose_g_per_100g", 2.74, "reducing_sugars_g_per_100g", 61.39, "sucrose_g_per_100g", 0.25, "ash_g_per_100g", 0.02, "ph", 3.42, "fructose_to_glucose", 0.76),
		"greatest": measured("maltose_g_per_100g", 15.98, "reducing_sugars_g_per_100g", 83.72, "sucrose_g_per_100g", 7.57, "ash_g_per_100g", 1.028, "ph", 6.1, "fructose_to_glucose", 1.86),
	} {
		if f := refusals(t, &ledger.Reading{Measured: m}); len(f) > 0 {
			t.Errorf("%s: %v", name, f)
		}
		o := ledgertest.NewOutfit()
		id := o.Write(10, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: o.Lot(9, "26-01")}, Measured: m})
		if flags := flagsOn(t, o, id); len(flags) > 0 {
			t.Errorf("%s: flagged %v", name, flags)
		}
	}
}

// Published honeys of stingless bees and dried ones (README of the ledger).
func TestMoistureIsRecordableFrom5To40(t *testing.T) {
	t.Parallel()
	usual := &ledger.Reading{Laboratory: "Fern Valley", Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 18}}
	refusals(t, usual)
	for _, pct := range []float64{5, 9.9, 12.9, 25.1, 31, 40} {
		r := &ledger.Reading{Laboratory: "Fern Valley", Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: pct}}
		if f := refusals(t, r); len(f) > 0 {
			t.Errorf("%g %% is refused: %v", pct, f)
		}
		if r.Moisture.Pct != pct {
			t.Errorf("a laboratory's %g %% is stored as %g", pct, r.Moisture.Pct)
		}
		if r.Moisture.StdUncertaintyPct <= usual.Moisture.StdUncertaintyPct {
			t.Errorf("%g %% is beyond the published table, and is taken to ± %g", pct, r.Moisture.StdUncertaintyPct)
		}
		o := ledgertest.NewOutfit()
		id := o.Write(10, ledgertest.Moisture(ledger.PlaceTank, o.Settling, pct))
		if flags := flagsOn(t, o, id); !slices.Contains(flags, ledger.MoistureUnusual) {
			t.Errorf("%g %% is not asked about: %v", pct, flags)
		}
	}
	for _, pct := range []float64{0, 4.9, 40.1, 60} {
		r := &ledger.Reading{Laboratory: "Fern Valley", Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: pct}}
		if f := refusals(t, r); says(f, "/moisture_pct", "No honey has a moisture of") == nil {
			t.Errorf("%g %% is not refused: %v", pct, f)
		}
	}
}

func flagsOn(t rapid.TB, o *ledgertest.Outfit, id ledger.ID) (codes []ledger.Code) {
	t.Helper()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range b.State().FlagsOn(id) {
		codes = append(codes, f.Code)
	}
	return codes
}

var everyQuantity = []string{"hmf_mg_per_kg", "diastase_gothe", "invertase_u_per_kg", "colour_mm_pfund", "conductivity_ms_per_cm", "free_acidity_meq_per_kg", "ph",
	"fructose_plus_glucose_g_per_100g", "fructose_to_glucose", "sucrose_g_per_100g", "maltose_g_per_100g", "insoluble_g_per_100g", "ash_g_per_100g", "proline_mg_per_kg", "yeast_per_g", "water_activity", "temperature_c"}

// Whatever figure: what cannot be is refused at its own field, what is unusual is
// stored and flagged, and what is usual is neither.
func TestAFigureIsImpossibleUnusualOrUsual(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		quantity := rapid.SampledFrom(everyQuantity).Draw(t, "quantity")
		least, most, low, high, _ := ledger.Plausible(quantity)
		v := rapid.Float64Range(least-(most-least)/4, most+(most-least)/4).Draw(t, "value")
		if rapid.Bool().Draw(t, "near the usual") {
			v = rapid.Float64Range(low-(high-low)/4, high+(high-low)/4).Draw(t, "value")
		}
		v = math.Round(v*1000) / 1000
		r := &ledger.Reading{Measured: measured(quantity, v)}
		refused := says(refusals(t, r), "/measured/0/value", "") != nil
		// A water activity of nothing is an end of the scale that is not on it, and sugars
		// of more than the honey are refused before the end of theirs.
		end := quantity == "water_activity" && v == 0
		if want := v < least || v > most || end; refused != want {
			t.Fatalf("%s of %g: refused is %t", quantity, v, refused)
		}
		if refused {
			return
		}
		o := ledgertest.NewOutfit()
		id := o.Write(10, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Measured: measured(quantity, v)})
		if flagged, want := slices.Contains(flagsOn(t, o, id), ledger.ResultUnusual), v < low || v > high; flagged != want {
			t.Fatalf("%s of %g: flagged is %t", quantity, v, flagged)
		}
	})
}

func TestHMFThatFallsAndDiastaseThatRisesAreFlagged(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		first, then []ledger.Measured
		flagged     bool
	}{
		{measured("hmf_mg_per_kg", 32.0), measured("hmf_mg_per_kg", 12.0), true},
		{measured("hmf_mg_per_kg", 32.0), measured("hmf_mg_per_kg", 25.0), false}, // as laboratories differ
		{measured("hmf_mg_per_kg", 12.0), measured("hmf_mg_per_kg", 32.0), false},
		{measured("diastase_gothe", 10.0), measured("diastase_gothe", 21.0), true},
		{measured("diastase_gothe", 21.0), measured("diastase_gothe", 10.0), false},
	} {
		o := ledgertest.NewOutfit()
		lot := o.Lot(5, "26-01")
		on := func(m []ledger.Measured) *ledger.Reading {
			return &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, Laboratory: "Fern Valley", Measured: m}
		}
		first := o.Write(100, on(row.first))
		second := o.Write(900, on(row.then))
		if got := slices.Contains(flagsOn(t, o, second), ledger.ResultUnlikeEarlier); got != row.flagged {
			t.Errorf("%v after %v: flagged is %t", row.then, row.first, got)
		}
		if len(flagsOn(t, o, first)) > 0 {
			t.Errorf("the earlier of the two is flagged")
		}
		// A correction of the first that makes the two go together cures it.
		o.Correct(first, 100, on(row.then))
		if slices.Contains(flagsOn(t, o, second), ledger.ResultUnlikeEarlier) {
			t.Errorf("the first says %v now, and the second is still flagged", row.then)
		}
	}
}

func TestFiguresOfOneReadingGoTogether(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		moisture float64
		measured []ledger.Measured
		flagged  bool
	}{
		{18, measured("density_kg_per_l", 1.414), false},
		{18, measured("density_kg_per_l", 1.36), true},
		{18, measured("water_activity", 0.57), false},
		{18, measured("water_activity", 0.73), true},
		{17, measured("flavour_points", 48.0, "defects_points", 38.0, "clarity_points", 9.0, "total_points", 95.0), false},
		{17, measured("flavour_points", 48.0, "defects_points", 38.0, "clarity_points", 9.0, "total_points", 59.0), true},
		{17, measured("fructose_plus_glucose_g_per_100g", 82.0, "sucrose_g_per_100g", 3.0), true},
		{17, measured("fructose_plus_glucose_g_per_100g", 72.0, "reducing_sugars_g_per_100g", 69.0), false},
		{17, measured("fructose_plus_glucose_g_per_100g", 72.1, "reducing_sugars_g_per_100g", 69.0), true},
		{17, measured("fructose_plus_glucose_g_per_100g", 70.0, "maltose_g_per_100g", 5.0, "reducing_sugars_g_per_100g", 71.0), true},
		{17, measured("maltose_g_per_100g", 3.0, "reducing_sugars_g_per_100g", 70.0), false},
		{17, measured("fructose_plus_glucose_g_per_100g", 72.0), false},
	} {
		o := ledgertest.NewOutfit()
		r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, row.moisture)
		r.Measured = row.measured
		id := o.Write(10, r)
		if got := slices.Contains(flagsOn(t, o, id), ledger.ResultsDisagree); got != row.flagged {
			t.Errorf("%g %% with %v: flagged is %t", row.moisture, row.measured, got)
		}
	}
}

// An uncertainty above the figure and above all that honey has of it meets any limit, or none.
func TestAnUncertaintyThatSaysNothingIsAskedBack(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		quantity        string
		value, u        float64
		asked           bool
		moisture, about float64
	}{
		{"diastase_gothe", 15, 150, true, 0, 0}, {"diastase_gothe", 15, 57, false, 0, 0}, {"diastase_gothe", 15, 57.1, true, 0, 0}, {"diastase_gothe", 100, 90, false, 0, 0},
		{"hmf_mg_per_kg", 0.5, 0.8, false, 0, 0}, {"hmf_mg_per_kg", 8, 800, true, 0, 0}, {"yeast_per_g", 1e8, 5e7, false, 0, 0}, {"yeast_per_g", 1e5, 2e8, true, 0, 0}, {"ph", 3.9, 39, true, 0, 0},
		{"", 0, 0, false, 17, 6.5}, {"", 0, 0, true, 17, 17},
	} {
		r := &ledger.Reading{Laboratory: "Fern Valley"}
		pointer := "/measured/0/std_uncertainty"
		if row.quantity != "" {
			r.Measured = []ledger.Measured{{Quantity: row.quantity, Value: row.value, StdUncertainty: &row.u, Method: "HPLC"}}
		} else {
			pointer = "/moisture_std_uncertainty_pct"
			r.Moisture = &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: row.moisture, StdUncertaintyAsSent: &row.about}
		}
		fields := refusals(t, r)
		if asked := says(fields, pointer, "more than honeys differ by") != nil; asked != row.asked {
			t.Errorf("%+v: asked back is %t: %v", row, asked, fields)
		}
	}
}

// The ends of what can be recorded of a refractometer are told as it shows them, and can both
// be recorded.
func TestWhatARefractometerCanShowIsToldAsItShowsIt(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		scale    string
		ends     [2]float64
		beyond   float64
		says, at string
	}{
		{ledger.ScaleRefractiveIndex, [2]float64{1.4387, 1.5256}, 1.9, "No honey has a refractive index of 1.9: 1.4387 to 1.5256 can be recorded.", "/refractive_index"},
		{ledger.ScaleBrix, [2]float64{58.6, 92.8}, 18, "No honey has degrees Brix of 18: 58.6 to 92.8 can be recorded.", "/brix_deg"},
	} {
		put := func(v float64) []fault.Field {
			twenty := 20.0
			return refusals(t, &ledger.Reading{Laboratory: "Fern Valley", Moisture: &ledger.MoistureReading{Scale: row.scale, AsRead: v, SampleC: &twenty}})
		}
		for _, end := range row.ends {
			if f := put(end); f != nil {
				t.Errorf("%s of %g: %v", row.scale, end, f)
			}
		}
		if f := put(row.beyond); says(f, row.at, row.says) == nil {
			t.Errorf("%s of %g: %v", row.scale, row.beyond, f)
		}
	}
}

func TestALogInFahrenheitIsFlagged(t *testing.T) {
	t.Parallel()
	for temperature, want := range map[float64]bool{35: false, 60: false, 86: true, -30: true} {
		o := ledgertest.NewOutfit()
		id := o.Write(10, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: o.HotRoom},
			Points: []ledger.TemperaturePoint{{At: ledgertest.At(8), TemperatureC: 25}, {At: ledgertest.At(10), TemperatureC: temperature}}})
		if got := fmt.Sprint(flagsOn(t, o, id)) == "[temperature_unusual]"; got != want {
			t.Errorf("a hot room at %g: flagged is %t", temperature, got)
		}
	}
}

// An uncertainty of zero is what was said, and not what was left out.
func TestAnUncertaintyOfZeroIsZero(t *testing.T) {
	t.Parallel()
	expected := func(u *float64) ledger.Belief {
		o := ledgertest.NewOutfit()
		harvested(o)
		o.Write(40, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Laboratory: "Fern Valley",
			Measured: []ledger.Measured{{Quantity: "hmf_mg_per_kg", Value: 20, Method: "HPLC", StdUncertainty: u}}})
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		belief, known := b.State().BeliefAt(o.Settling, ledgertest.At(40))
		if !known {
			t.Fatal("nothing is expected of the tank")
		}
		return belief
	}
	if hmf := expected(new(0.0)).HMF(); math.Abs(hmf.Mean-20) > 1e-6 || hmf.StandardDeviation() > 1e-6 {
		t.Errorf("20 mg/kg without any uncertainty leave %g ± %g", hmf.Mean, hmf.StandardDeviation())
	}
	if hmf := expected(nil).HMF(); hmf.StandardDeviation() < 0.5 {
		t.Errorf("20 mg/kg of which nobody says the uncertainty leave ± %g", hmf.StandardDeviation())
	}
	r := ledger.Reading{Measured: []ledger.Measured{{Quantity: "sucrose_g_per_100g", Value: 3, StdUncertainty: new(0.0)}, {Quantity: "ash_g_per_100g", Value: 0.2}}}
	results, _ := r.Results()
	if results[0].StdUncertainty != "0" || results[1].StdUncertainty != "" {
		t.Errorf("a standard is told of uncertainties %q and %q, want 0 and none", results[0].StdUncertainty, results[1].StdUncertainty)
	}
	o := ledgertest.NewOutfit()
	exact := o.SetUp(&ledger.Instrument{Name: "bench", Scale: "moisture", Compensates: true, StdUncertainty: new(0.0)})
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	of := func(instrument ledger.ID) float64 {
		x := &ledger.Reading{InstrumentID: instrument, Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.4}}
		if err := b.Complete(&ledger.Entry{ID: o.Next(), Body: x}); err != nil {
			t.Fatal(err)
		}
		return x.Moisture.StdUncertaintyPct
	}
	if got := of(exact); math.Abs(got-0.07) > 1e-6 { // the method's repeatability alone
		t.Errorf("an instrument without any error reads to ± %g, want ± 0.07", got)
	}
	if got := of(o.Refractometer); got < 0.2 {
		t.Errorf("an instrument of which nobody says the uncertainty reads to ± %g", got)
	}
}

func TestNotKnowingTheSamplesTemperatureCostsHalfAPoint(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	abbe := o.SetUp(&ledger.Instrument{Name: "Abbe", Scale: "refractive_index", StdUncertainty: new(0.0002)})
	scale := o.SetUp(&ledger.Instrument{Name: "drum scale", Scale: "kg"})
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	read := func(with ledger.ID, m *ledger.MoistureReading) (*ledger.Reading, error) {
		r := &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, InstrumentID: with, Moisture: m}
		e := &ledger.Entry{ID: o.Next(), Kind: ledger.KindReading, OccurredAt: ledgertest.At(1), Body: r}
		return r, errors.Join(b.Complete(e), b.Check(e, ledgertest.At(2)))
	}
	for _, row := range []struct {
		with    ledger.ID
		m       *ledger.MoistureReading
		flagged string
		sd      float64
	}{
		{abbe, &ledger.MoistureReading{Scale: ledger.ScaleRefractiveIndex, AsRead: 1.4940, SampleC: new(20.0)}, "[]", 0.11},
		{abbe, &ledger.MoistureReading{Scale: ledger.ScaleRefractiveIndex, AsRead: 1.4940}, "[sample_temperature_missing]", 0.46}, // 5 C of 0.09 points
		{o.Refractometer, &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.4}, "[]", 0.21},
		{o.Refractometer, &ledger.MoistureReading{Scale: ledger.ScaleBrix, AsRead: 81}, "[instrument_of_another_scale]", 0.22},
	} {
		r, err := read(row.with, row.m)
		if err != nil {
			t.Errorf("%+v is refused: %v", row.m, err)
			continue
		}
		if math.Abs(r.Moisture.StdUncertaintyPct-row.sd) > 0.015 {
			t.Errorf("%+v is good to ± %.3f, want ± %g", row.m, r.Moisture.StdUncertaintyPct, row.sd)
		}
		copied := *o
		r.On = ledger.Place{Kind: ledger.PlaceLot, ID: copied.Lot(0.5, "26-01")}
		id := copied.Write(1, r)
		if got := fmt.Sprint(flagsOn(t, &copied, id)); got != row.flagged {
			t.Errorf("%+v: flagged %s, want %s", row.m, got, row.flagged)
		}
	}
	_, err = read(scale, &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.4})
	var f *fault.Error
	if !errors.As(err, &f) || says(f.Fields, "/instrument_id", "drum scale is no refractometer") == nil {
		t.Errorf("a moisture off a balance: %v", err)
	}
}
