package honey

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func specificHeat(t *testing.T, pct, temperatureC float64) float64 {
	t.Helper()
	value, err := SpecificHeatKJPerKgK(pct, temperatureC)
	if err != nil {
		t.Fatal(err)
	}
	return value
}

func conductivity(t *testing.T, pct, temperatureC float64) float64 {
	t.Helper()
	value, err := ThermalConductivityWPerMK(pct, temperatureC)
	if err != nil {
		t.Fatal(err)
	}
	return value
}

// Hits and misses of the published specific heats: the one measured at 17.4 %
// is met, the figure for 17 % is 6 % above the model, the range for liquid
// honey (14 to 20 % taken) overlaps it and goes 8 % beyond its top.
func TestPublishedSpecificHeatsAgainstTheModel(t *testing.T) {
	t.Parallel()
	for _, row := range publishedTable(t, "thermal-properties.csv") {
		low, high := number(t, row, "value_low"), number(t, row, "value_high")
		switch property := row["property"]; {
		case strings.HasPrefix(property, "specific heat, 0.54"):
			if got := specificHeat(t, 17.4, 20); math.Abs(got-low) > 0.005 {
				t.Errorf("%s: model %.4f, published %.2f", property, got, low)
			}
		case strings.HasPrefix(property, "specific heat, 0.57"):
			if miss := low / specificHeat(t, 17, 20); !within(miss, 1.05, 1.07) {
				t.Errorf("%s: published over model %.3f, recorded 1.06", property, miss)
			}
		case strings.HasPrefix(property, "specific heat, liquid"), strings.HasPrefix(property, "specific heat, teaching"):
			if got := specificHeat(t, 17.4, 20); !within(got, low-0.01, high) {
				t.Errorf("%s: model %.3f at 17.4 %%, published %.3f to %.3f", property, got, low, high)
			}
			if miss := high / specificHeat(t, 20, 20); !within(miss, 1.07, 1.10) {
				t.Errorf("%s: top over model at 20 %% is %.3f", property, miss)
			}
		case strings.HasPrefix(property, "specific heat, granulated"):
			if low <= specificHeat(t, 21, 60) {
				t.Errorf("granulated honey, which must also melt, takes less (%.2f) than liquid", low)
			}
		}
	}
}

// At 0 % solids the sucrose formula is water, 4.187; as it stands it gives
// 2.24 for the solids of 17.4 % honey at 20 C, 1 % under the measured figure.
func TestTheSucroseFormulaAloneIsWithin1PercentOfMeasuredHoney(t *testing.T) {
	t.Parallel()
	if water := sucroseHeat(0, 20); math.Abs(water-4.187) > 0.001 {
		t.Errorf("water comes out at %.4f", water)
	}
	if got := sucroseHeat(82.6, 20); math.Abs(got/2.26-1) > 0.011 {
		t.Errorf("17.4 %% comes out at %.4f", got)
	}
}

// Modern probes and syrups: 0.32 to 0.38 from 20 to 60 C, from memory. Helvey
// and the handbooks that follow him stand 1.5 to 1.7 times above: a miss that
// is kept, because water itself is 0.60 and honey is four fifths sugar.
func TestPublishedConductivitiesAgainstRiedel(t *testing.T) {
	t.Parallel()
	for _, row := range publishedTable(t, "thermal-properties.csv") {
		low, high := number(t, row, "value_low"), number(t, row, "value_high")
		switch property := row["property"]; {
		case strings.Contains(property, "modern probes"):
			for _, temperature := range []float64{20, 40, 60} {
				if got := conductivity(t, 17, temperature); !within(got, low, high) {
					t.Errorf("at %.0f C the model gives %.3f, published %.2f to %.2f", temperature, got, low, high)
				}
			}
		case strings.Contains(property, "spread"):
			for _, temperature := range []float64{0, 30, 60} {
				if got := conductivity(t, 17, temperature); !within(got, low, high) {
					t.Errorf("at %.0f C the model gives %.3f, outside %.2f to %.2f", temperature, got, low, high)
				}
			}
		case strings.HasPrefix(property, "thermal conductivity"):
			pct, temperature := 17.0, 20.0
			if row["moisture_pct"] != "" {
				pct = number(t, row, "moisture_pct")
			}
			if row["temperature_C"] != "" {
				temperature = number(t, row, "temperature_C")
			}
			if miss := low / conductivity(t, pct, temperature); !within(miss, 1.45, 1.75) {
				t.Errorf("%s at %.0f %%: published over model %.2f, recorded 1.45 to 1.75", property, pct, miss)
			}
		}
	}
}

// Pure water, IAPWS: 0.598 at 20 C, 0.631 at 40 C, 0.654 at 60 C.
func TestRiedelsFormulaMeetsWater(t *testing.T) {
	t.Parallel()
	for temperature, want := range map[float64]float64{20: 0.598, 40: 0.631, 60: 0.654} {
		if got := riedelConductivity(100, temperature); math.Abs(got/want-1) > 0.01 {
			t.Errorf("water at %.0f C: %.4f, IAPWS %.3f", temperature, got, want)
		}
	}
}

// Choi and Okos 1986, from memory: conductivity by volume fractions of water
// and carbohydrate. The two models differ by 3 to 5 %.
func TestRiedelsFormulaMeetsTheAdditiveFoodModel(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ pct, temperatureC float64 }{{14, 20}, {17, 20}, {17, 50}, {21, 40}} {
		temperature := c.temperatureC
		water := c.pct / (997.18 + 0.0031439*temperature - 0.0037574*temperature*temperature)
		sugar := (100 - c.pct) / (1599.1 - 0.31046*temperature)
		kWater := 0.57109 + 0.0017625*temperature - 6.7036e-6*temperature*temperature
		kSugar := 0.20141 + 0.0013874*temperature - 4.3312e-6*temperature*temperature
		want := (water*kWater + sugar*kSugar) / (water + sugar)
		if got := conductivity(t, c.pct, temperature); math.Abs(got/want-1) > 0.055 {
			t.Errorf("%.0f %% at %.0f C: Riedel %.4f, Choi and Okos %.4f", c.pct, temperature, got, want)
		}
	}
}

func TestSpecificHeatAndConductivityRiseWithMoistureAndWarmth(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		dry := rapid.Float64Range(10, 29.9).Draw(rt, "dry")
		wet := rapid.Float64Range(dry+0.01, 30).Draw(rt, "wet")
		cold := rapid.Float64Range(0, 79.9).Draw(rt, "cold")
		hot := rapid.Float64Range(cold+0.01, 80).Draw(rt, "hot")
		if cp := specificHeat(t, dry, cold); specificHeat(t, wet, cold) <= cp || specificHeat(t, dry, hot) <= cp {
			rt.Fatal("specific heat does not rise")
		}
		if k := conductivity(t, dry, cold); conductivity(t, wet, cold) <= k || conductivity(t, dry, hot) <= k {
			rt.Fatal("conductivity does not rise")
		}
	})
}
