package standard_test

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/standard"
)

func moistureOf(container, value, u, instrument string) standard.Result {
	return standard.Result{Parameter: "moisture", Value: value, Unit: "%", StdUncertainty: u, ContainerID: container, InstrumentID: instrument}
}

func estimateOf(t testing.TB, lot standard.Lot, parameter string) standard.Estimate {
	t.Helper()
	estimates := evidence(t, lot).Estimates(parameter)
	if len(estimates) != 1 {
		t.Fatalf("%d estimates, want one", len(estimates))
	}
	return estimates[0]
}

func near(a, b, within float64) bool { return math.Abs(a-b) <= within }

func TestVarianceComponentsAsPrinted(t *testing.T) {
	t.Parallel()
	rows := readTable(t, "testdata/variance-components.csv")
	var lot standard.Lot
	for _, row := range rows {
		for _, value := range strings.Fields(row["readings"]) {
			result := measured("proline", value)
			result.ContainerID = row["container"]
			lot.Results = append(lot.Results, result)
		}
	}
	e := estimateOf(t, lot, "proline")
	between, _ := strconv.ParseFloat(rows[0]["between_variance"], 64)
	within, _ := strconv.ParseFloat(rows[0]["within_variance"], 64)
	if !near(e.BetweenSD*e.BetweenSD, between, 0.006) || !near(e.WithinSD*e.WithinSD, within, 0.006) {
		t.Errorf("between %.3f, within %.3f; printed %.2f and %.2f", e.BetweenSD*e.BetweenSD, e.WithinSD*e.WithinSD, between, within)
	}
}

func TestOneInstrumentsErrorIsNotAveragedAway(t *testing.T) {
	t.Parallel()
	one := estimateOf(t, standard.Lot{Results: []standard.Result{
		moistureOf("D1", "17.8", "0.1", "refractometer 1"), moistureOf("D2", "17.8", "0.1", "refractometer 1"),
		moistureOf("D3", "17.8", "0.1", "refractometer 1"), moistureOf("D4", "17.8", "0.1", "refractometer 1"),
	}}, "moisture")
	if !near(one.StdUncertainty, 0.1, 1e-12) {
		t.Errorf("four equal readings by one refractometer: u = %g, want 0.1", one.StdUncertainty)
	}
	two := estimateOf(t, standard.Lot{Results: []standard.Result{
		moistureOf("D1", "17.8", "0.1", "refractometer 1"), moistureOf("D2", "17.8", "0.1", "refractometer 2"),
	}}, "moisture")
	if !near(two.StdUncertainty, 0.1/math.Sqrt2, 1e-12) {
		t.Errorf("two refractometers: u = %g, want 0.0707", two.StdUncertainty)
	}
}

func TestSpreadBetweenDrumsAndInstrumentAreKeptApart(t *testing.T) {
	t.Parallel()
	readings := []standard.Result{moistureOf("D1", "17.0", "0.1", "r"), moistureOf("D2", "18.0", "0.1", "r")}
	// By hand: the variance of 17.0 and 18.0 is 0.5; of the mean of 2, 0.25; with the instrument 0.26.
	open := estimateOf(t, standard.Lot{Results: readings}, "moisture")
	if !near(open.StdUncertainty, math.Sqrt(0.26), 1e-9) || !near(open.BetweenSD, math.Sqrt(0.5), 1e-9) || !near(open.InstrumentU, 0.1, 1e-12) {
		t.Errorf("u = %g, between %g, instrument %g", open.StdUncertainty, open.BetweenSD, open.InstrumentU)
	}
	// Two of four drums: half the variance of sampling is left. All drums: none.
	half := estimateOf(t, standard.Lot{Containers: []string{"D1", "D2", "D3", "D4"}, Results: readings}, "moisture")
	if !near(half.StdUncertainty, math.Sqrt(0.135), 1e-9) {
		t.Errorf("two of four drums: u = %g, want %g", half.StdUncertainty, math.Sqrt(0.135))
	}
	whole := estimateOf(t, standard.Lot{Containers: []string{"D1", "D2"}, Results: readings}, "moisture")
	if !near(whole.StdUncertainty, 0.1, 1e-9) || whole.HighestUnmeasuredKnown {
		t.Errorf("every drum measured: u = %g", whole.StdUncertainty)
	}
	if !half.HighestUnmeasuredKnown || half.HighestUnmeasured <= 17.5 {
		t.Errorf("the wettest unmeasured drum is expected at %g, above the mean of 17.5", half.HighestUnmeasured)
	}
}

func TestTheWettestContainerHasItsOwnUncertainty(t *testing.T) {
	t.Parallel()
	e := estimateOf(t, standard.Lot{Results: []standard.Result{
		moistureOf("D1", "17.0", "0.1", "r"), moistureOf("D1", "17.2", "0.1", "r"),
		moistureOf("D2", "18.4", "0.1", "r"), moistureOf("D2", "18.6", "0.1", "r"),
	}}, "moisture")
	wettest := slices.MaxFunc(e.Measured, func(a, b standard.ContainerValue) int { return a.High.Cmp(b.High) })
	// Each pair scatters with a variance of 0.02; the mean of two has 0.01, with the instrument 0.02.
	if wettest.ContainerID != "D2" || wettest.High.String() != "18.5" || !near(wettest.StdUncertainty, math.Sqrt(0.02), 1e-9) {
		t.Errorf("wettest %s at %s with u = %g", wettest.ContainerID, wettest.High, wettest.StdUncertainty)
	}
}

func TestTheMeanIsExactInDecimals(t *testing.T) {
	t.Parallel()
	// 17.8 three times is 17.8 and not 17.799999999999997.
	e := estimateOf(t, standard.Lot{Results: []standard.Result{
		moistureOf("D1", "17.8", "", ""), moistureOf("D2", "17.8", "", ""), moistureOf("D3", "17.8", "", ""),
	}}, "moisture")
	if e.High.String() != "17.8" || e.UncertaintyKnown {
		t.Errorf("mean %s", e.High)
	}
}

func TestTheMeanLiesAmongItsReadings(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		var lot standard.Lot
		least, most := math.Inf(1), math.Inf(-1)
		for i := range rapid.IntRange(1, 12).Draw(rt, "readings") {
			value := drawDecimal(rt, "value", 1500, 2200)
			f, _ := strconv.ParseFloat(value, 64)
			least, most = min(least, f), max(most, f)
			lot.Results = append(lot.Results, moistureOf(fmt.Sprint("D", i%5), value, "0.1", "r"))
		}
		e := estimateOf(t, lot, "moisture")
		if m := e.High.Float64(); m < least-1e-9 || m > most+1e-9 {
			rt.Fatalf("mean %g of readings from %g to %g", m, least, most)
		}
		if e.StdUncertainty < e.InstrumentU-1e-12 {
			rt.Fatalf("u = %g is below that of the instrument, %g", e.StdUncertainty, e.InstrumentU)
		}
	})
}

func TestTheLessFavourableOfDrumsAndCompositeStands(t *testing.T) {
	t.Parallel()
	composite := measured("moisture", "19.0")
	composite.CompositeOf = 4
	lot := standard.Lot{Results: []standard.Result{composite, moistureOf("D1", "20.4", "", ""), moistureOf("D2", "20.2", "", "")}}
	v := check(t, ruleSet(t, "eu-2001-110"), lot)
	_, outcome := verdictFor(v, "moisture", "")
	if outcome != standard.Fails {
		t.Errorf("drums at 20.3 and a composite at 19.0: %s", outcome)
	}
}
