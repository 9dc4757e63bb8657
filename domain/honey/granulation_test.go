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
