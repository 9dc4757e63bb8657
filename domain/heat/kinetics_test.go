package heat_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
	"pullbook/domain/heat"
)

var midsummer = time.Date(2026, 7, 1, 6, 0, 0, 0, time.UTC)

func kept(t testing.TB, celsius, hours float64) heat.History {
	t.Helper()
	h, err := heat.FromSetPoints([]heat.SetPoint{{From: midsummer, To: midsummer.Add(time.Duration(hours * float64(time.Hour))), TemperatureC: celsius}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func logged(t testing.TB, step time.Duration, celsius ...float64) heat.History {
	t.Helper()
	var points []heat.Point
	for i, c := range celsius {
		points = append(points, heat.Point{At: midsummer.Add(time.Duration(i) * step), TemperatureC: c})
	}
	h, err := heat.FromPoints(points, nil)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func arrhenius(t testing.TB, perDay, atC, kJPerMol float64) heat.Arrhenius {
	t.Helper()
	a, err := heat.NewArrhenius(perDay, atC, kJPerMol)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// thai is the published rate of HMF in three Thai honey types, with the gas
// constant rounded to 8.314 as in the hand calculation it is compared with.
func thai(t testing.TB) heat.Arrhenius {
	return arrhenius(t, 3.47e22*math.Exp(-135400/(8.314*323.15)), 50, 135.4*8.314462618/8.314)
}

// halfLifeHours returns the time in which a first-order reaction halves.
func halfLifeHours(r heat.Reaction, temperatureC float64) float64 {
	return math.Ln2 / r.PerDay(temperatureC) * 24
}

type failer interface{ Fatal(...any) }

// advanced returns what a forecast says of the middle honey after a history.
func advanced(t failer, k heat.Kinetics, s heat.State, h heat.History) heat.State {
	f, err := k.Forecast(s, h)
	if err != nil {
		t.Fatal(err)
	}
	return heat.State{HMFMgPerKg: f.HMFMgPerKg.Middle, DiastaseDN: f.DiastaseDN.Middle, Invertase: f.Invertase.Middle}
}

func TestHalfLivesFrom10To80C(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	for _, r := range published(t, "enzyme-half-life.csv") {
		c := r.figure(t, "temperature_c")
		closeTo(t, "half-life of diastase at "+r["temperature_c"]+" C", halfLifeHours(k.Diastase, c), r.figure(t, "diastase_h"), 0.09)
		closeTo(t, "half-life of invertase at "+r["temperature_c"]+" C", halfLifeHours(k.Invertase, c), r.figure(t, "invertase_h"), 0.11)
	}
	closeTo(t, "half-life of diastase at 45 C in days (derived by hand from the table)", halfLifeHours(k.Diastase, 45)/24, 12.72, 0.02)
}

func TestRatesOfThaiHoneysAsPublished(t *testing.T) {
	t.Parallel()
	for _, r := range published(t, "hmf-thai-rates.csv") {
		closeTo(t, "mg/kg per day at "+r["temperature_c"]+" C", thai(t).PerDay(r.figure(t, "temperature_c")), r.figure(t, "mg_per_kg_per_day"), 0.0005)
	}
}

func TestWorkedExamplesAtConstantTemperature(t *testing.T) {
	t.Parallel()
	for _, r := range published(t, "heat-worked.csv") {
		k := heat.Default()
		k.HMF.Arrhenius = thai(t)
		start := r.figure(t, "start")
		s := heat.State{HMFMgPerKg: start, DiastaseDN: start, Invertase: start}
		h := kept(t, r.figure(t, "temperature_c"), r.figure(t, "hours"))
		end := advanced(t, k, s, h)
		got := map[string]float64{"diastase": end.DiastaseDN, "invertase": end.Invertase, "hmf-thai": end.HMFMgPerKg}[r["reaction"]]
		closeTo(t, r["reaction"]+" after "+r["hours"]+" h at "+r["temperature_c"]+" C", got, r.figure(t, "expected"), r.figure(t, "relative_tolerance"))
	}
}

func TestMiddleHoneyLiesInThePublishedWindows(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	inside, windows := 0, 0
	for _, r := range published(t, "hmf-time-to-threshold.csv") {
		c := r.figure(t, "temperature_c")
		if r["source"] == sheet || c < 30 || c > 60 {
			continue
		}
		hours, err := k.HoursUntilHMF(0, r.figure(t, "hmf_mg_per_kg"), c)
		if err != nil {
			t.Fatal(err)
		}
		windows++
		if d := hours.Middle / 24; d < r.figure(t, "days_low") || d > r.figure(t, "days_high") {
			t.Errorf("%s: %s mg/kg at %.0f C takes %.3g days, the window is %s to %s", r["source"], r["hmf_mg_per_kg"], c, d, r["days_low"], r["days_high"])
		} else {
			inside++
		}
	}
	if windows != 12 {
		t.Errorf("%d windows from 30 to 60 C were compared (%d inside), the file should hold 12", windows, inside)
	}
}

func TestActivationEnergyOfNothingIsAnError(t *testing.T) {
	t.Parallel()
	for _, ea := range []float64{0, -135, math.NaN(), math.Inf(1), 135_400} {
		if _, err := heat.NewArrhenius(1, 50, ea); err == nil || !strings.Contains(err.Error(), "activation energy") {
			t.Errorf("an activation energy of %g kJ/mol gave %v", ea, err)
		}
	}
	for _, rate := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := heat.NewArrhenius(rate, 50, 135); err == nil {
			t.Errorf("a rate of %g per day was taken", rate)
		}
	}
	if _, err := heat.NewArrhenius(1, 50, 500); err != nil {
		t.Errorf("500 kJ/mol, the most that is said to be taken: %v", err)
	}
	if _, err := heat.NewArrhenius(1, 122, 135); err == nil || !strings.Contains(err.Error(), "Fahrenheit") {
		t.Errorf("a reference at 122 gave %v", err)
	}
}

func TestRateAndTemperatureAreInverse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(-20, 95).Draw(t, "C")
		k := heat.Default()
		for _, a := range []heat.Arrhenius{k.HMF.Arrhenius, k.Diastase.Arrhenius, k.Invertase.Arrhenius} {
			if back := a.TemperatureC(a.PerDay(c)); math.Abs(back-c) > 1e-8 {
				t.Fatalf("%.10g C came back as %.10g", c, back)
			}
		}
	})
}

// adaptive integrates by Gauss-Legendre of gonum with 10 and 20 points,
// halving until they agree.
func adaptive(f func(float64) float64, from, to, tolerance float64, depth int) float64 {
	coarse := quad.Fixed(f, from, to, 10, quad.Legendre{}, 0)
	fine := quad.Fixed(f, from, to, 20, quad.Legendre{}, 0)
	if depth == 0 || math.Abs(fine-coarse) <= tolerance*math.Abs(fine) {
		return fine
	}
	middle := (from + to) / 2
	return adaptive(f, from, middle, tolerance, depth-1) + adaptive(f, middle, to, tolerance, depth-1)
}

func drawTemperatures(t *rapid.T) []float64 {
	return rapid.SliceOfN(rapid.OneOf(
		rapid.Float64Range(heat.ColdestC, heat.HottestC),
		rapid.Float64Range(20, 45),
		rapid.SampledFrom([]float64{20, 35, 35.0625, 45, 63}),
	), 2, 12).Draw(t, "temperatures")
}

func TestIntegralAgreesWithAdaptiveQuadrature(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	worst := 0.0
	rapid.Check(t, func(rt *rapid.T) {
		celsius := drawTemperatures(rt)
		step := time.Duration(rapid.IntRange(1, 20*3600).Draw(rt, "seconds")) * time.Second
		h := logged(t, step, celsius...)
		for name, a := range map[string]heat.Arrhenius{"HMF": k.HMF.Arrhenius, "diastase": k.Diastase.Arrhenius, "invertase": k.Invertase.Arrhenius} {
			want := 0.0
			for i := 1; i < len(celsius); i++ {
				from, to := celsius[i-1], celsius[i]
				want += step.Hours() / 24 * adaptive(func(x float64) float64 { return a.PerDay(from + x*(to-from)) }, 0, 1, 1e-12, 12)
			}
			got := a.Exposure(h)
			worst = math.Max(worst, math.Abs(got/want-1))
			if math.Abs(got-want) > 1e-7*want {
				rt.Fatalf("%s over %v: %.12g, quadrature %.12g", name, celsius, got, want)
			}
		}
	})
	t.Logf("largest relative error %.2g", worst)
}

func TestExposureAddsUpOverASplitHistory(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	rapid.Check(t, func(rt *rapid.T) {
		h := logged(t, 3*time.Hour, drawTemperatures(rt)...)
		cut := h.Start().Add(time.Duration(rapid.Float64Range(0, 1).Draw(rt, "cut") * float64(h.End().Sub(h.Start()))))
		before, err := h.Between(h.Start(), cut)
		if err != nil {
			rt.Fatal(err)
		}
		after, err := h.Between(cut, h.End())
		if err != nil {
			rt.Fatal(err)
		}
		whole, parts := k.HMF.Exposure(h), k.HMF.Exposure(before)+k.HMF.Exposure(after)
		if math.Abs(whole-parts) > 1e-7*whole {
			rt.Fatalf("whole %.12g, in two parts %.12g", whole, parts)
		}
		s := heat.State{HMFMgPerKg: 5, DiastaseDN: 20, Invertase: 100}
		once, twice := advanced(t, k, s, h), advanced(t, k, advanced(t, k, s, before), after)
		if math.Abs(once.DiastaseDN-twice.DiastaseDN) > 1e-6*20 || math.Abs(once.Invertase-twice.Invertase) > 1e-6*100 {
			rt.Fatalf("whole %+v, in two parts %+v", once, twice)
		}
	})
}

func TestWarmerOrLongerIsNeverBetter(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	rapid.Check(t, func(rt *rapid.T) {
		celsius := rapid.SliceOfN(rapid.Float64Range(-20, 90), 2, 10).Draw(rt, "C")
		warmer := make([]float64, len(celsius))
		for i := range celsius {
			warmer[i] = celsius[i] + rapid.Float64Range(0.01, 9).Draw(rt, "warmer by")
		}
		s := heat.State{HMFMgPerKg: 3, DiastaseDN: 20, Invertase: 100}
		cool := advanced(t, k, s, logged(t, time.Hour, celsius...))
		warm := advanced(t, k, s, logged(t, time.Hour, warmer...))
		longer := advanced(t, k, s, logged(t, 2*time.Hour, celsius...))
		for _, worse := range []heat.State{warm, longer} {
			if worse.HMFMgPerKg < cool.HMFMgPerKg || worse.DiastaseDN > cool.DiastaseDN || worse.Invertase > cool.Invertase {
				rt.Fatalf("%+v after %v, %+v after more heat", cool, celsius, worse)
			}
		}
	})
}

func TestForecastIsABandThatWidensWithHeat(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	s := heat.State{HMFMgPerKg: 5, DiastaseDN: 20, Invertase: 100}
	f, err := k.Forecast(s, kept(t, 45, 72))
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string]heat.Band{"HMF": f.HMFMgPerKg, "diastase": f.DiastaseDN, "invertase": f.Invertase} {
		if !(b.Low < b.Middle && b.Middle < b.High) {
			t.Errorf("%s: %+v is no band", name, b)
		}
	}
	ratio := (f.HMFMgPerKg.High - 5) / (f.HMFMgPerKg.Low - 5)
	if ratio < 4 || ratio > 7 {
		t.Errorf("a fast honey forms %.2f times the HMF of a slow one, the published windows differ by about 2.4 either way", ratio)
	}
	if len(f.Flags) != 0 {
		t.Errorf("three days at 45 C lie inside the published times but gave %v", f.Flags)
	}
}

func TestForecastSaysWhenItExtrapolates(t *testing.T) {
	t.Parallel()
	for _, c := range []float64{4, 92} {
		f, err := heat.Default().Forecast(heat.State{}, kept(t, c, 2))
		if err != nil {
			t.Fatal(err)
		}
		wantFlag(t, f.Flags, heat.FlagExtrapolated)
	}
}

func TestForecastRefusesAStateThatNoHoneyHas(t *testing.T) {
	t.Parallel()
	for _, s := range []heat.State{{HMFMgPerKg: -1}, {DiastaseDN: -1}, {Invertase: -0.1}, {HMFMgPerKg: math.NaN()}, {DiastaseDN: 900}} {
		if _, err := heat.Default().Forecast(s, kept(t, 40, 1)); err == nil {
			t.Errorf("%+v was taken", s)
		}
	}
	if _, err := heat.Default().Forecast(heat.State{}, heat.History{}); err == nil {
		t.Error("an empty history was forecast over")
	}
}

func wantFlag(t testing.TB, flags []heat.Flag, name heat.FlagName) {
	t.Helper()
	for _, f := range flags {
		if f.Name == name && f.Detail != "" {
			return
		}
	}
	t.Errorf("flag %q is missing in %v", name, flags)
}

// aYear is a store's log of 52,560 readings, one every ten minutes, with the
// sway of day and season and the flicker of a sensor.
func aYear(t testing.TB) heat.History {
	const n = 52_560
	celsius := make([]float64, n)
	for i := range celsius {
		day := float64(i) / 144
		celsius[i] = 16 - 9*math.Cos(2*math.Pi*day/365) + 3*math.Sin(2*math.Pi*day) + 0.0625*float64(i*7919%5)
	}
	return logged(t, 10*time.Minute, celsius...)
}

func BenchmarkExposureOverAYear(b *testing.B) {
	h, k := aYear(b), heat.Default()
	b.ReportAllocs()
	for b.Loop() {
		k.HMF.Exposure(h)
	}
}

func BenchmarkForecastOverAYear(b *testing.B) {
	h, k := aYear(b), heat.Default()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := k.Forecast(heat.State{HMFMgPerKg: 5, DiastaseDN: 20, Invertase: 100}, h); err != nil {
			b.Fatal(err)
		}
	}
}

func TestIntegratingAYearAllocatesNothing(t *testing.T) {
	h, k := aYear(t), heat.Default()
	if n := testing.AllocsPerRun(5, func() { k.HMF.Exposure(h) }); n != 0 {
		t.Errorf("%.0f allocations for a year of readings", n)
	}
}
