package heat_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
	"pullbook/domain/heat"
)

// Horwitz, J. AOAC 1980: RSD % = 2^(1 - 0.5 log10 C). Worked by hand: 9.18 %
// or 3.67 mg/kg at 40 mg/kg, 10.64 % or 1.60 mg/kg at 15.
func TestSpreadBetweenLaboratoriesFollowsHorwitz(t *testing.T) {
	t.Parallel()
	closeTo(t, "SD at 40 mg/kg", heat.HMFLabSD(40), 3.67, 0.002)
	closeTo(t, "SD at 15 mg/kg", heat.HMFLabSD(15), 1.60, 0.005)
	closeTo(t, "SD at 0 mg/kg", heat.HMFLabSD(0), 0.5, 0)
	closeTo(t, "SD at 1 mg/kg", heat.HMFLabSD(1), 0.5, 0)
}

// storedThreeTimes is a honey stored at 35 C with results after 0, 60 and 120
// days, which forms HMF at a factor of the middle honey.
func storedThreeTimes(t testing.TB, factor, sd float64) ([]heat.LabResult, heat.History) {
	h := kept(t, 35, 120*24)
	perDay := heat.Default().HMFRate(35) * factor
	return []heat.LabResult{{at(0), 4, sd}, {at(60 * 24), 4 + 60*perDay, sd}, {at(120 * 24), 4 + 120*perDay, sd}}, h
}

func TestSharpResultsFindTheFactorOfAHoney(t *testing.T) {
	t.Parallel()
	for _, factor := range []float64{0.4, 1, 2.2} {
		results, h := storedThreeTimes(t, factor, 0.05)
		n, err := heat.Default().Narrow(results, h)
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, "factor", n.Factor.Middle, factor, 0.005)
		if n.SDLog > 0.01 {
			t.Errorf("factor %g: standard deviation %g of the logarithm from sharp results", factor, n.SDLog)
		}
		closeTo(t, "rate of this honey at 35 C", n.Kinetics.HMFRate(35), factor*heat.Default().HMFRate(35), 0.005)
		closeTo(t, "rate of diastase, of which nothing was learnt", n.Kinetics.DiastaseRate(35), heat.Default().DiastaseRate(35), 0)
	}
}

// By hand: with errors s of both results and a rise between them of r, the spread of the
// logarithm is sqrt(2) s/r, as far as s/r is small and the prior is wide beside it.
func TestResultsMaySpeakMuchMoreSharplyThanThePrior(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	h := kept(t, 35, 120*24)
	n, err := k.Narrow([]heat.LabResult{{h.Start(), 4, 0.02}, {h.End(), 44, 0.02}}, h)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "spread", n.SDLog, math.Sqrt2*0.02/40, 1e-3)
	closeTo(t, "factor", n.Factor.Middle, 40/(120*k.HMFRate(35)), 1e-5)
}

// A honey whose rate is known to one in a hundred learns next to nothing from rough results.
func TestAHoneyThatIsKnownStaysAsItIs(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	k.HMF.LogSD = 0.01
	results, h := storedThreeTimes(t, 2, 8)
	n, err := k.Narrow(results, h)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "factor", n.Factor.Middle, 1, 5e-3)
	closeTo(t, "spread", n.SDLog, 0.01, 1e-3)
}

func TestRoughResultsShrinkTowardsTheMiddleHoney(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	results, h := storedThreeTimes(t, 2, 8)
	n, err := k.Narrow(results, h)
	if err != nil {
		t.Fatal(err)
	}
	if !(n.Factor.Middle > 1.05 && n.Factor.Middle < 2) || !(n.SDLog < k.HMF.LogSD) {
		t.Errorf("factor %.3f with SD %.3f, expected between 1 and 2 and narrower than %.3f", n.Factor.Middle, n.SDLog, k.HMF.LogSD)
	}
	before, err := k.Forecast(heat.State{}, h)
	if err != nil {
		t.Fatal(err)
	}
	after, err := n.Kinetics.Forecast(heat.State{}, h)
	if err != nil {
		t.Fatal(err)
	}
	if was, is := before.HMFMgPerKg.High/before.HMFMgPerKg.Low, after.HMFMgPerKg.High/after.HMFMgPerKg.Low; is >= was {
		t.Errorf("the band was %.2f wide and is %.2f", was, is)
	}
}

// panels are Gauss and Legendre's twenty points in each of so many equal parts of a stretch.
func panels(n int, from, to float64) (at, weight []float64) {
	var points, weights [20]float64
	width := (to - from) / float64(n)
	quad.Legendre{}.FixedLocations(points[:], weights[:], 0, width)
	for i := range n {
		for j, x := range points {
			at, weight = append(at, from+float64(i)*width+x), append(weight, weights[j])
		}
	}
	return at, weight
}

// With two results the posterior has a closed integrand; it is integrated here
// by Gauss and Legendre's rule instead of the sum in the code.
func TestNarrowingAgreesWithQuadrature(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	prior := k.HMF.LogSD
	logs, weights := panels(300, -12*prior, 12*prior)
	rapid.Check(t, func(rt *rapid.T) {
		first := rapid.Float64Range(1, 30).Draw(rt, "first")
		sd := rapid.Float64Range(0.3, 6).Draw(rt, "sd")
		second := math.Max(first+rapid.Float64Range(-4*sd, 60).Draw(rt, "rise"), 0)
		days := rapid.Float64Range(5, 300).Draw(rt, "days")
		h := kept(t, 35, days*24)
		n, err := k.Narrow([]heat.LabResult{{h.Start(), first, sd}, {h.End(), second, sd}}, h)
		if err != nil {
			rt.Fatal(err)
		}
		dose := k.HMF.Exposure(h)
		logDensity := func(u float64) float64 {
			off := (second - first - math.Exp(u)*dose) / (sd * math.Sqrt2)
			return -u*u/(2*prior*prior) - off*off/2
		}
		highest := math.Inf(-1)
		for _, u := range logs {
			highest = math.Max(highest, logDensity(u))
		}
		var mass, sum, squares float64
		for i, u := range logs {
			part := weights[i] * math.Exp(logDensity(u)-highest)
			mass, sum, squares = mass+part, sum+part*u, squares+part*u*u
		}
		mean := sum / mass
		variance := squares/mass - mean*mean
		if math.Abs(n.MeanLog-mean) > 1e-7 || math.Abs(n.SDLog*n.SDLog-variance) > 1e-7 {
			rt.Fatalf("mean %.8f sd %.8f, quadrature %.8f and %.8f", n.MeanLog, n.SDLog, mean, math.Sqrt(variance))
		}
	})
}

func TestResultsWithNoHeatBetweenThemTeachNothing(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	n, err := k.Narrow([]heat.LabResult{{at(0), 5, 0}, {at(24), 6, 0}}, kept(t, 8, 24))
	if err != nil {
		t.Fatal(err)
	}
	wantFlag(t, n.Flags, heat.FlagNothingLearnt)
	closeTo(t, "spread", n.SDLog, k.HMF.LogSD, 0.01)
}

func TestAFallOfHMFByChanceStaysAPositiveRate(t *testing.T) {
	t.Parallel()
	n, err := heat.Default().Narrow([]heat.LabResult{{at(0), 12, 1}, {at(60 * 24), 10, 1}}, kept(t, 30, 60*24))
	if err != nil {
		t.Fatal(err)
	}
	if !(n.Factor.Low > 0 && n.Factor.Middle < 0.7) {
		t.Errorf("HMF fell from 12 to 10 in 60 days at 30 C, the factor is %+v", n.Factor)
	}
}

func TestResultsThatNoHoneyExplainsAreFlagged(t *testing.T) {
	t.Parallel()
	for name, second := range map[string]float64{"a steep fall": 2, "a steep rise": 90} {
		n, err := heat.Default().Narrow([]heat.LabResult{{at(0), 30, 0.5}, {at(60 * 24), second, 0.5}}, kept(t, 30, 60*24))
		if err != nil {
			t.Fatal(err)
		}
		t.Log(name, n.Factor)
		wantFlag(t, n.Flags, heat.FlagUnlikeHoney)
	}
}

func TestNarrowingRefusesWhatTellsNothing(t *testing.T) {
	t.Parallel()
	h := kept(t, 35, 100)
	for _, c := range []struct {
		name, says string
		results    []heat.LabResult
	}{
		{"no result", "here are 0", nil},
		{"one result, long after the log", "two HMF results", []heat.LabResult{{at(5000), 5, 0}}},
		{"the same day twice", "result 2 (2026-07-01 06:00:00 +0000) is not later than result 1", []heat.LabResult{{at(0), 5, 0}, {at(0), 6, 0}}},
		{"turned round", "before its start", []heat.LabResult{{at(50), 5, 0}, {at(0), 6, 0}}},
		{"below nothing", "result 2: HMF", []heat.LabResult{{at(0), 5, 0}, {at(50), -6, 0}}},
		{"no history there", "usual temperature", []heat.LabResult{{at(0), 5, 0}, {at(500), 6, 0}}},
		{"uncertainty below nothing", "result 1: uncertainty", []heat.LabResult{{at(0), 5, -1}, {at(50), 6, 0}}},
	} {
		if _, err := heat.Default().Narrow(c.results, h); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, expected words on %q", c.name, err, c.says)
		}
	}
	k := heat.Default()
	k.HMF.LogSD = 0
	if _, err := k.Narrow([]heat.LabResult{{at(0), 5, 0}, {at(500), 6, 0}}, h); err == nil || !strings.Contains(err.Error(), "nothing left to learn") {
		t.Errorf("a honey without spread: %v", err)
	}
}
