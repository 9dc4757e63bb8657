package honey

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Worked by hand: (18 - 0.15 x 9.09) / 0.85 = 19.57; and the field's 4 to 6
// points (from memory) come with 30 to 40 % of crystals.
func TestTheLiquidGetsWetterAsGlucoseCrystallises(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ pct, crystals, low, high float64 }{
		{18, 0, 18, 18},
		{18, 15, 19.56, 19.58},
		{17, 33, 17 + 3.8, 17 + 6},
		{17, 40, 17 + 4, 17 + 6},
	} {
		got, err := LiquidMoisturePct(c.pct, c.crystals)
		if err != nil || !within(got, c.low, c.high) {
			t.Errorf("%.0f %% with %.0f %% crystals: liquid %.3f %% (%v), want %.2f to %.2f", c.pct, c.crystals, got, err, c.low, c.high)
		}
	}
}

func TestNoWaterIsLostToGranulation(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		pct := rapid.Float64Range(10, 30).Draw(t, "moisture")
		crystals := rapid.Float64Range(0.1, 45).Draw(t, "crystals")
		liquid, err := LiquidMoisturePct(pct, crystals)
		if err != nil {
			t.Fatal(err)
		}
		water := liquid*(1-crystals/100) + crystals/100*GlucoseMonohydrateWaterPct
		if math.Abs(water-pct) > 1e-9 || liquid <= pct {
			t.Fatalf("%.4f %% of water became %.4f, the liquid %.4f", pct, water, liquid)
		}
	})
}

// Rape sets within weeks, acacia stays liquid for years; figures of honeys as
// published in reviews (from memory): rape 38.3 of fructose and 40.5 of glucose,
// lime 37.5 and 31.9, acacia 42.7 and 26.5 g in 100 g.
func TestRapeSetsFastAndAcaciaStaysLiquid(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		honey             string
		fructose, glucose float64
		want              Tendency
	}{
		{"rape", 38.3, 40.5, GranulatesFast},
		{"lime", 37.5, 31.9, GranulatesInTime},
		{"acacia", 42.7, 26.5, GranulatesSlowly},
	} {
		both := Sugars{FructosePlusGlucosePct: c.fructose + c.glucose, FructoseToGlucose: c.fructose / c.glucose}
		if got := GranulationTendency(both, 17.5); got != c.want {
			t.Errorf("%s with both figures: %d, want %d", c.honey, got, c.want)
		}
		if got := GranulationTendency(Sugars{FructoseToGlucose: c.fructose / c.glucose}, 17.5); got != c.want {
			t.Errorf("%s by fructose to glucose: %d, want %d", c.honey, got, c.want)
		}
	}
	if got := GranulationTendency(Sugars{FructosePlusGlucosePct: 70}, 17.5); got != TendencyNotKnown {
		t.Errorf("a sum alone says %d", got)
	}
}

// Glucose to water of 1.7 and 2.1: 17 % of water with 28.9 and 35.7 g of glucose.
func TestGlucoseToWaterPartsAtItsPublishedFigures(t *testing.T) {
	t.Parallel()
	of := func(glucose float64) Tendency {
		return GranulationTendency(Sugars{FructosePlusGlucosePct: 2 * glucose, FructoseToGlucose: 1}, 17)
	}
	for glucose, want := range map[float64]Tendency{28.8: GranulatesSlowly, 29.0: GranulatesInTime, 35.6: GranulatesInTime, 35.8: GranulatesFast} {
		if got := of(glucose); got != want {
			t.Errorf("%.1f g of glucose: %d, want %d", glucose, got, want)
		}
	}
	// At the printed ends: 34 and 42 g beside 20 % of water.
	for sum, want := range map[float64]Tendency{68: GranulatesInTime, 84: GranulatesFast} {
		if got := GranulationTendency(Sugars{FructosePlusGlucosePct: sum, FructoseToGlucose: 1}, 20); got != want {
			t.Errorf("%.0f g of glucose beside 20 %% of water: %d, want %d", sum/2, got, want)
		}
	}
	// Where the water is not known, fructose to glucose is left.
	if got := GranulationTendency(Sugars{FructosePlusGlucosePct: 70, FructoseToGlucose: 1.6}, 0); got != GranulatesSlowly {
		t.Errorf("acacia whose water is not known: %d", got)
	}
	// At the printed ends of fructose to glucose.
	for ratio, want := range map[float64]Tendency{1.11: GranulatesFast, 1.12: GranulatesInTime, 1.33: GranulatesInTime, 1.34: GranulatesSlowly} {
		if got := GranulationTendency(Sugars{FructoseToGlucose: ratio}, 17); got != want {
			t.Errorf("fructose to glucose %.2f: %d, want %d", ratio, got, want)
		}
	}
}

func TestAStoreDecidesWhichHoneyGranulates(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		tendency Tendency
		celsius  float64
		want     bool
	}{
		{TendencyNotKnown, 14, true}, {TendencyNotKnown, 10, true}, {TendencyNotKnown, 18, true}, {TendencyNotKnown, 9, false}, {TendencyNotKnown, 20, false},
		{GranulatesSlowly, 14, false}, {GranulatesInTime, 14, true}, {GranulatesInTime, 20, false},
		{GranulatesFast, 20, true}, {GranulatesFast, 5, true}, {GranulatesFast, 25, true}, {GranulatesFast, 26, false},
	} {
		if got := c.tendency.LikelyAt(c.celsius); got != c.want {
			t.Errorf("tendency %d at %.0f C: %t", c.tendency, c.celsius, got)
		}
	}
}
