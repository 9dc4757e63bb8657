package heat_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
	"pullbook/domain/heat"
)

// fastDays is how soon the fast honey has formed so much HMF.
func fastDays(t *testing.T, k heat.Kinetics, r record) float64 {
	t.Helper()
	hours, err := k.HoursUntilHMF(0, r.figure(t, "hmf_mg_per_kg"), r.figure(t, "temperature_c"))
	if err != nil {
		t.Fatal(err)
	}
	return hours.Low / 24
}

// On the unsafe side is a forecast that comes later than what was published: the fast honey
// is as early as the earliest time of every window from 10 to 80 C, and one kJ/mol less on
// either side would leave one out.
func TestTheFastHoneyIsAsEarlyAsEveryPublishedTime(t *testing.T) {
	t.Parallel()
	less := func(colder, hotter float64) heat.Kinetics {
		k := heat.Default()
		k.HMF.Covered.ColderKJPerMol -= colder
		k.HMF.Covered.HotterKJPerMol -= hotter
		return k
	}
	late := func(k heat.Kinetics, c float64) bool {
		for _, r := range published(t, "hmf-time-to-threshold.csv") {
			days := r.figure(t, "days_low")
			if r.figure(t, "temperature_c") == c && days > 0 && fastDays(t, k, r) > days {
				return true
			}
		}
		return false
	}
	for _, c := range []float64{10, 20, 30, 40, 50, 60, 70, 80} {
		if late(less(0, 0), c) {
			t.Errorf("at %g C a published time is earlier than the fast honey", c)
		}
	}
	if !late(less(1, 0), 20) || !late(less(0, 1), 80) {
		t.Error("a narrower band would reach the published times at 20 and 80 C as well")
	}
}

// By hand: at 20 C the band is that of 40 C, a factor exp(1.645*0.525) = 2.371, times
// exp(1.645 * 8000/8.31446 * (1/293.15 - 1/313.15)) = 1.412.
func TestTheBandWidensAwayFromTheTemperaturesThatExperimentsCovered(t *testing.T) {
	t.Parallel()
	factor := func(c float64) float64 {
		b := heat.Default().HMF.PerDayBand(c)
		closeTo(t, "slow over middle against middle over fast", b.Middle/b.Low, b.High/b.Middle, 1e-9)
		return b.High / b.Middle
	}
	closeTo(t, "factor at 50 C", factor(50), 2.371, 1e-3)
	closeTo(t, "factor at 20 C", factor(20), 2.371*1.412, 1e-3)
	for _, away := range [][]float64{{40, 30, 20, 10, 0, -18}, {60, 70, 80, 90, 100}} {
		for i := 1; i < len(away); i++ {
			if factor(away[i]) <= factor(away[i-1]) {
				t.Errorf("the band is no wider at %g C than at %g C", away[i], away[i-1])
			}
		}
	}
	exact := heat.Default().HMF
	exact.LogSD = 0
	if b := exact.PerDayBand(20); b.Low != b.Middle || b.High != b.Middle {
		t.Errorf("an uncertainty of nothing gives the band %+v", b)
	}
}

// The ends of the band over any history are the integrals of the ends of the rate.
func TestTheBandOverAHistoryIsTheIntegralOfItsEnds(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	rapid.Check(t, func(rt *rapid.T) {
		celsius := drawTemperatures(rt)
		f, err := k.Forecast(heat.State{}, logged(t, 3600e9, celsius...))
		if err != nil {
			rt.Fatal(err)
		}
		var low, high float64
		for i := 1; i < len(celsius); i++ {
			at := func(x float64) heat.Band { return k.HMF.PerDayBand(celsius[i-1] + x*(celsius[i]-celsius[i-1])) }
			for cuts, j := bends(celsius[i-1], celsius[i]), 1; j < len(cuts); j++ {
				low += adaptive(func(x float64) float64 { return at(x).Low }, cuts[j-1], cuts[j], 1e-12, 30) / 24
				high += adaptive(func(x float64) float64 { return at(x).High }, cuts[j-1], cuts[j], 1e-12, 30) / 24
			}
		}
		near(rt, "slow end", f.HMFMgPerKg.Low, low)
		near(rt, "fast end", f.HMFMgPerKg.High, high)
	})
}

// A question turned round gives its answer back, also beyond what is covered.
func TestTheHighestTemperatureFormsJustTheLimit(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	for _, hours := range []float64{0.2, 3, 48, 1000, 20_000} {
		band, err := k.HighestTemperatureForHMF(hours, 5, 40)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct{ celsius, rate float64 }{
			{band.Low, k.HMF.PerDayBand(band.Low).High}, {band.Middle, k.HMF.PerDayBand(band.Middle).Middle}, {band.High, k.HMF.PerDayBand(band.High).Low},
		} {
			if c.celsius < heat.HottestC {
				closeTo(t, "HMF formed", c.rate*hours/24, 35, 1e-9)
			}
		}
	}
}

// The kinds' rates are those of the experiments over the middle forecast, and move it by half
// of the one paper, two thirds of two.
func TestAKindOfHoneyMovesTheMiddleByWhatPapersFound(t *testing.T) {
	t.Parallel()
	logs := map[heat.Kind][]float64{}
	for _, r := range published(t, "hmf-experiments.csv") {
		kinds := map[string][]heat.Kind{"raw rape": {"brassica"}, "citrus and eucalyptus": {"citrus", "eucalyptus"}, "chestnut": {"castanea_sativa"}}[r["honey"]]
		c, start := (r.figure(t, "temperature_low_c")+r.figure(t, "temperature_high_c"))/2, r.figure(t, "hmf_start")
		for _, kind := range kinds {
			logs[kind] = append(logs[kind], math.Log((r.figure(t, "hmf_end_low")-start)/(heat.Default().HMFRate(c)*r.figure(t, "hours")/24)))
		}
	}
	if len(logs) != 4 {
		t.Fatalf("%d kinds in the experiments", len(logs))
	}
	for kind, found := range logs {
		sum := 0.0
		for _, l := range found {
			sum += l
		}
		k := heat.Default().For(kind)
		closeTo(t, string(kind), k.HMFRate(20)/heat.Default().HMFRate(20), math.Exp(sum/float64(len(found)+1)), 2e-3)
		fast, unknown := k.HMF.PerDayBand(20).High, heat.Default().HMF.PerDayBand(20).High
		if fast < unknown*(1-1e-9) {
			t.Errorf("declared as %s a honey is let keep longer: fast end %g, unknown %g", kind, fast, unknown)
		}
		if sum < 0 {
			closeTo(t, "fast end of a slow kind, as of an unknown honey, "+string(kind), fast, unknown, 1e-9)
		}
	}
	if k := heat.Default().For("castanea_sativa", "blossom"); k != heat.Default() {
		t.Errorf("of chestnut and another blossom the other counts: %g a day at 20 C", k.HMFRate(20))
	}
	if heat.Default().For() != heat.Default() {
		t.Error("a honey of which no kind is declared is not the unknown one")
	}
}

// bends are where on a straight line, from 0 to 1, the band bends, with both ends: an
// integral across a bend is worked out too coarsely near the end of a line.
func bends(fromC, toC float64) []float64 {
	cuts := []float64{0}
	for _, c := range []float64{40, 60} {
		if x := (c - fromC) / (toC - fromC); x > 0 && x < 1 {
			cuts = append(cuts, x)
		}
	}
	slices.Sort(cuts)
	return append(cuts, 1)
}
