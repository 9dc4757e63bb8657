package heat_test

import (
	"math"
	"strconv"
	"testing"

	"pullbook/domain/heat"
	"pullbook/domain/publishedtest"
)

type record map[string]string

func published(t *testing.T, name string) (rows []record) {
	t.Helper()
	for _, row := range publishedtest.Rows(t, "../../testdata/"+name) {
		rows = append(rows, row)
	}
	return rows
}

func (r record) figure(t *testing.T, column string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("%s: %v", column, err)
	}
	return f
}

const sheet = "Sheffield association sheet 2014"

// hmfMidpoints are the geometric middles of the windows from 20 to 70 C. The
// rows at 10 and 80 C are left out because the sources contradict each other
// there by a factor of three; the sheet is left out because it contradicts all
// others at 20 and 30 C.
func hmfMidpoints(t *testing.T) []heat.RatePoint {
	var points []heat.RatePoint
	for _, r := range published(t, "hmf-time-to-threshold.csv") {
		c := r.figure(t, "temperature_c")
		if r["source"] == sheet || c < 20 || c > 70 {
			continue
		}
		days := math.Sqrt(r.figure(t, "days_low") * r.figure(t, "days_high"))
		points = append(points, heat.RatePoint{TemperatureC: c, PerDay: r.figure(t, "hmf_mg_per_kg") / days})
	}
	return points
}

// hmfEnds are both ends of every window from 20 to 70 C, the single figures of
// the sheet once.
func hmfEnds(t *testing.T) []heat.RatePoint {
	var points []heat.RatePoint
	for _, r := range published(t, "hmf-time-to-threshold.csv") {
		c := r.figure(t, "temperature_c")
		if c < 20 || c > 70 {
			continue
		}
		add := func(column string) {
			points = append(points, heat.RatePoint{TemperatureC: c, PerDay: r.figure(t, "hmf_mg_per_kg") / r.figure(t, column)})
		}
		add("days_low")
		if r["days_high"] != r["days_low"] {
			add("days_high")
		}
	}
	return points
}

func enzymeRates(t *testing.T, column string) []heat.RatePoint {
	var points []heat.RatePoint
	for _, r := range published(t, "enzyme-half-life.csv") {
		points = append(points, heat.RatePoint{TemperatureC: r.figure(t, "temperature_c"), PerDay: math.Ln2 / r.figure(t, column) * 24})
	}
	return points
}

func TestDefaultParametersAreTheFitOfThePublishedTimes(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	for _, c := range []struct {
		name        string
		points      []heat.RatePoint
		inCode      heat.Reaction
		worstFactor float64
	}{
		{"HMF", hmfMidpoints(t), k.HMF, 1.95},
		{"diastase", enzymeRates(t, "diastase_h"), k.Diastase, 1.09},
		{"invertase", enzymeRates(t, "invertase_h"), k.Invertase, 1.12},
	} {
		fit, err := heat.FitArrhenius(c.points)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %d points, %.7g per day at 50 C, Ea %.7g kJ/mol, residual SD %.4f, worst factor %.3f",
			c.name, len(c.points), fit.Rate.PerDay(50), fit.Rate.ActivationEnergyKJPerMol(), fit.ResidualSD, fit.WorstFactor)
		for i, r := range fit.Residuals {
			t.Logf("  %5.1f C  %12.5g per day  measured/fitted %.3f", c.points[i].TemperatureC, c.points[i].PerDay, math.Exp(r))
		}
		closeTo(t, c.name+" rate at 50 C", c.inCode.PerDay(50), fit.Rate.PerDay(50), 1e-6)
		closeTo(t, c.name+" activation energy", c.inCode.ActivationEnergyKJPerMol(), fit.Rate.ActivationEnergyKJPerMol(), 1e-6)
		if fit.WorstFactor > c.worstFactor {
			t.Errorf("%s: a point is off the line by a factor of %.3f, more than the %.2f that the README states", c.name, fit.WorstFactor, c.worstFactor)
		}
	}
	t.Logf("spread of HMF among honeys: %.4f", heat.RootMeanSquareOfLogs(k.HMF.Arrhenius, hmfEnds(t)))
	closeTo(t, "spread of HMF among honeys", k.HMF.LogSD, heat.RootMeanSquareOfLogs(k.HMF.Arrhenius, hmfEnds(t)), 1e-3)
}

// How much hangs on which windows are used: the README states both figures.
func TestActivationEnergyOfHMFHardlyHangsOnTheChoiceOfWindows(t *testing.T) {
	t.Parallel()
	for withSheet, kJPerMol := range map[bool]float64{false: 137.9, true: 135.1} {
		var points []heat.RatePoint
		for _, r := range published(t, "hmf-time-to-threshold.csv") {
			low, high := r.figure(t, "days_low"), r.figure(t, "days_high")
			if low == 0 || (r["source"] == sheet && !withSheet) {
				continue
			}
			points = append(points, heat.RatePoint{TemperatureC: r.figure(t, "temperature_c"), PerDay: r.figure(t, "hmf_mg_per_kg") / math.Sqrt(low*high)})
		}
		fit, err := heat.FitArrhenius(points)
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, "activation energy over all windows", fit.Rate.ActivationEnergyKJPerMol(), kJPerMol, 0.0005)
	}
}

// Two groups of authors apart in place and time agree on the activation energy
// of HMF: 134.6 here after White, 135.4 to 139.6 kJ/mol in Thai honeys.
func TestFittedActivationEnergyOfHMFAgreesWithAnIndependentSeries(t *testing.T) {
	t.Parallel()
	closeTo(t, "activation energy", heat.Default().HMF.ActivationEnergyKJPerMol(), 135.4, 0.02)
}

func TestAFitRefusesRatesThatNoReactionHas(t *testing.T) {
	t.Parallel()
	for name, points := range map[string][]heat.RatePoint{
		"two rates are no series":       {{20, 1}, {30, 2}},
		"all at one temperature":        {{20, 1}, {20, 2}, {20, 3}},
		"falling with temperature":      {{20, 3}, {30, 2}, {40, 1}},
		"the same at all temperatures":  {{20, 1}, {30, 1}, {40, 1}},
		"a rate of nothing":             {{20, 0}, {30, 1}, {40, 2}},
		"Fahrenheit among the Celsius":  {{20, 1}, {30, 2}, {113, 3}},
		"a rate that is not a number":   {{20, math.NaN()}, {30, 1}, {40, 2}},
		"a temperature that is no such": {{20, 1}, {30, 1}, {math.NaN(), 2}},
	} {
		if fit, err := heat.FitArrhenius(points); err == nil {
			t.Errorf("%s: fitted Ea %.3g", name, fit.Rate.ActivationEnergyKJPerMol())
		}
	}
}

func closeTo(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s is %.8g, expected %.8g within %g of it", what, got, want, relative)
	}
}
