package honey

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

func viscosity(t *testing.T, pct, temperatureC float64) float64 {
	t.Helper()
	value, err := ViscosityPaS(pct, temperatureC)
	if err != nil {
		t.Fatal(err)
	}
	return value
}

// The default curve is the least squares fit of ln eta to the clover and sweet
// clover points with T0 held at 213 K.
func TestTheViscosityCurveIsTheFitToMunrosCloverPoints(t *testing.T) {
	t.Parallel()
	var design, logs []float64
	for _, row := range publishedTable(t, "viscosity-points.csv") {
		if row["honey"] != "white clover" && row["honey"] != "sweet clover" {
			continue
		}
		kelvin := number(t, row, "temperature_C") + 273.15
		design = append(design, 1, 1/(kelvin-213), -number(t, row, "moisture_pct"))
		logs = append(logs, math.Log(number(t, row, "viscosity_Pa_s")))
	}
	if len(logs) != 14 {
		t.Fatalf("there are %d clover points, want 14", len(logs))
	}
	var fit mat.VecDense
	if err := fit.SolveVec(mat.NewDense(14, 3, design), mat.NewVecDense(14, logs)); err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{viscosityA, viscosityB, viscosityC} {
		if got := fit.AtVec(i); math.Abs(got/want-1) > 1e-4 {
			t.Errorf("coefficient %d fits as %.5f, the curve has %.5f", i, got, want)
		}
	}
}

// How far each published series may stand from the curve, data over model.
// Sage is thicker than clover throughout; the Russian series at 45 C is
// thicker the wetter the honey.
func TestPublishedViscositiesLieWithinTheirStatedFactorOfTheCurve(t *testing.T) {
	t.Parallel()
	bands := map[string][2]float64{
		"white clover":                     {1 / 1.35, 1.35},
		"sweet clover":                     {1 / 1.12, 1.12},
		"clover 16 % (rounded)":            {1 / 1.3, 1.1},
		"sage":                             {2.3, ViscositySpreadFactor},
		"Russian handbook series at 45 C,": {1 / 1.25, 1.7},
	}
	for _, row := range publishedTable(t, "viscosity-points.csv") {
		if row["moisture_pct"] == "" || number(t, row, "moisture_pct") > viscosityMaxPct {
			continue
		}
		for series, band := range bands {
			if !strings.HasPrefix(row["honey"], series) {
				continue
			}
			model := viscosity(t, number(t, row, "moisture_pct"), number(t, row, "temperature_C"))
			if ratio := number(t, row, "viscosity_Pa_s") / model; !within(ratio, band[0], band[1]) {
				t.Errorf("%s %s %% at %s C: data over model %.3f, band %.2f to %.2f",
					row["honey"], row["moisture_pct"], row["temperature_C"], ratio, band[0], band[1])
			}
		}
	}
}

// Published spans: Polish honeys of 14.7 to 18.0 % from 10 to 40 C, 1.76 to
// 252.6 Pa s (J. Food Eng. 75:43-49, 2006); Iranian honeys of 15.25 to 19.92 %
// from 10 to 30 C, 1.70 to 270.48 Pa s.
func TestPublishedSpansOfViscosityEndWithinTheSpread(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ pct, temperatureC, want float64 }{
		{18.0, 40, 1.76}, {14.7, 10, 252.6}, {19.92, 30, 1.70}, {15.25, 10, 270.48},
	} {
		if ratio := c.want / viscosity(t, c.pct, c.temperatureC); !within(ratio, 1/ViscositySpreadFactor, ViscositySpreadFactor) {
			t.Errorf("%.2f %% at %.0f C: data over model %.2f", c.pct, c.temperatureC, ratio)
		}
	}
}

// Portuguese rosemary honey of unstated moisture thins faster with warmth than
// clover: set equal at 30 C, the curve is 1.55 times too thick at 50 and 1.75
// times at 70. A miss, within the spread.
func TestRosemaryHoneyThinsFasterThanTheCurve(t *testing.T) {
	t.Parallel()
	points := map[float64]float64{}
	for _, row := range publishedTable(t, "viscosity-points.csv") {
		if strings.HasPrefix(row["honey"], "rosemary") {
			points[number(t, row, "temperature_C")] = number(t, row, "viscosity_Pa_s")
		}
	}
	for temperature, want := range map[float64]float64{50: 1.55, 70: 1.75} {
		model := viscosity(t, 17, temperature) / viscosity(t, 17, 30)
		if miss := model / (points[temperature] / points[30]); math.Abs(miss-want) > 0.03 {
			t.Errorf("at %.0f C the curve is %.2f times too thick, recorded %.2f", temperature, miss, want)
		}
	}
}

// A rule of the trade: a point of moisture is worth about 3.5 C.
func TestAPointOfMoistureIsWorthAbout35Degrees(t *testing.T) {
	t.Parallel()
	for _, temperature := range []float64{20, 25, 30} {
		wetter := viscosity(t, 18, temperature)
		if warmer := viscosity(t, 17, temperature+3.5); math.Abs(wetter/warmer-1) > 0.15 {
			t.Errorf("at %.0f C a point gives %.2f, 3.5 C give %.2f Pa s", temperature, wetter, warmer)
		}
	}
}

func TestHoneyThinsWithMoistureAndWarmth(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		dry := rapid.Float64Range(13, 21.9).Draw(rt, "dry")
		wet := rapid.Float64Range(dry+0.01, 22).Draw(rt, "wet")
		cold := rapid.Float64Range(10, 74.9).Draw(rt, "cold")
		hot := rapid.Float64Range(cold+0.01, 75).Draw(rt, "hot")
		thick := viscosity(t, dry, cold)
		if viscosity(t, wet, cold) >= thick || viscosity(t, dry, hot) >= thick {
			rt.Fatalf("honey of %.3f %% at %.3f C is no thicker than wetter or warmer", dry, cold)
		}
	})
}
