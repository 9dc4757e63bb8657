package heat_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
	"pullbook/domain/heat"
)

func outlook(t failer, r heat.Reaction, points []heat.Point, year heat.Year) *heat.Outlook {
	o, err := r.Outlook(points, year)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// By the modified Bessel function, known from its series: the mean of exp(x cos) over a period
// is I0(x). About 20 C the rate of HMF goes as exp(0.1884 K) near enough to say that a swing of
// 10 K does I0(1.884) = 2.10 times what 20 C all year does, and one of 14 K I0(2.64) = 3.6
// times; the curve of 1/T takes some of that away.
func TestOneUsualTemperatureIsTooKindByTwoToFourTimes(t *testing.T) {
	t.Parallel()
	r := heat.Default().HMF
	whole := func(swing float64) float64 {
		o := outlook(t, r, nil, heat.YearOfMonths(20+swing, 20-swing, 7))
		return o.Exposure(heat.Middling, midsummer, midsummer.Add(time.Duration(daysOfYear*24)*time.Hour))
	}
	level := whole(0)
	closeTo(t, "a level year against the rate", level, r.PerDay(20)*daysOfYear, 1e-3)
	closeTo(t, "a swing of 10 K", whole(10)/level, 2.10, 0.06)
	closeTo(t, "a swing of 14 K", whole(14)/level, 3.6, 0.12)
}

const daysOfYear = 365.25

// A year is warmest in the middle of its warmest month, on either half of the earth.
func TestTheYearOfMonthsIsWarmestInItsWarmestMonth(t *testing.T) {
	t.Parallel()
	for month := 1; month <= 12; month++ {
		y := heat.YearOfMonths(28, 6, month)
		closeTo(t, "warmest", y.TemperatureC(time.Date(2026, time.Month(month), 15, 12, 0, 0, 0, time.UTC)), 28, 2e-3)
		closeTo(t, "coldest", y.TemperatureC(time.Date(2027, time.Month(month+6), 15, 12, 0, 0, 0, time.UTC)), 6, 2e-2)
	}
}

// The wave is found again in a log of it, with the scatter of its days; half a year teaches none.
func TestAYearIsLearnedFromALogOfMostOfIt(t *testing.T) {
	t.Parallel()
	truth := heat.YearOfMonths(27, 7, 7)
	log := func(days int) []heat.Point {
		var points []heat.Point
		for i := range days * 4 {
			at := midsummer.Add(time.Duration(i) * 6 * time.Hour)
			points = append(points, heat.Point{At: at, TemperatureC: truth.TemperatureC(at) + 2*math.Sin(float64(i)*math.Pi/2)})
		}
		return points
	}
	y, ok := heat.LearnYear(log(330))
	if !ok {
		t.Fatal("eleven months taught nothing")
	}
	closeTo(t, "mean", y.MeanC, 17, 1e-2)
	closeTo(t, "swing", y.SwingK, 10, 1e-2)
	closeTo(t, "scatter", y.ScatterK, math.Sqrt2, 1e-2)
	closeTo(t, "warmest day", y.WarmestDay, truth.WarmestDay, 1e-2)
	if y, ok := heat.LearnYear(log(183)); ok {
		t.Errorf("half a year taught %+v", y)
	}
}

// drawLog is a log of some hours with silences of up to three days.
func drawLog(t *rapid.T) []heat.Point {
	var points []heat.Point
	at := midsummer
	for range rapid.IntRange(0, 12).Draw(t, "readings") {
		points = append(points, heat.Point{At: at, TemperatureC: rapid.Float64Range(-20, 75).Draw(t, "celsius")})
		at = at.Add(time.Duration(rapid.IntRange(1, 72*60).Draw(t, "minutes")) * time.Minute)
	}
	return points
}

func drawYear(t *rapid.T) heat.Year {
	return heat.YearOfMonths(rapid.Float64Range(15, 35).Draw(t, "warmest"), rapid.Float64Range(-15, 15).Draw(t, "coldest"), rapid.IntRange(1, 12).Draw(t, "month"))
}

// What happens until an instant and what happens after it add up, and the instant at which so
// much has happened is found again.
func TestAnOutlookAddsUpAndTurnsRound(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	rapid.Check(t, func(rt *rapid.T) {
		r := rapid.SampledFrom([]heat.Reaction{k.HMF, k.Diastase}).Draw(rt, "reaction")
		o := outlook(rt, r, drawLog(rt), drawYear(rt))
		hour := func(name string) time.Time {
			return midsummer.Add(time.Duration(rapid.IntRange(-1000, 30_000).Draw(rt, name)) * time.Hour)
		}
		a, b, c := hour("a"), hour("b"), hour("c")
		for _, pace := range heat.Paces {
			near(rt, "the whole against its parts", o.Exposure(pace, a, b)+o.Exposure(pace, b, c), o.Exposure(pace, a, c))
			if b.Before(a) {
				continue
			}
			x := o.Exposure(pace, a, b)
			at, ok := o.Reaches(pace, a, x)
			if !ok {
				rt.Fatalf("%s to %s: never reached", a, b)
			}
			near(rt, "exposure when it is reached", o.Exposure(pace, a, at), x)
		}
		band := o.Band(a, b)
		if a.Before(b) && !(0 < band.Low && band.Low < band.Middle && band.Middle < band.High) {
			rt.Fatalf("the band %+v", band)
		}
	})
}

// Where a log is, an outlook says what the integral over the history of the log says.
func TestAnOutlookFollowsTheLog(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	rapid.Check(t, func(rt *rapid.T) {
		celsius := drawTemperatures(rt)
		var points []heat.Point
		for i, c := range celsius {
			points = append(points, heat.Point{At: at(float64(i)), TemperatureC: c})
		}
		f, err := k.Forecast(heat.State{}, logged(t, time.Hour, celsius...))
		if err != nil {
			rt.Fatal(err)
		}
		b := outlook(rt, k.HMF, points, heat.Year{MeanC: 20}).Band(at(0), at(float64(len(celsius)-1)))
		near(rt, "slow", b.Low, f.HMFMgPerKg.Low)
		near(rt, "middle", b.Middle, f.HMFMgPerKg.Middle)
		near(rt, "fast", b.High, f.HMFMgPerKg.High)
	})
}

// In a freezer nothing is reached within a hundred years, and a year that no store has is refused.
func TestAnOutlookSaysWhatIsNeverReachedAndRefusesWhatNoStoreIs(t *testing.T) {
	t.Parallel()
	r := heat.Default().HMF
	if at, ok := outlook(t, r, nil, heat.Year{MeanC: -18}).Reaches(heat.Fast, midsummer, 40); ok {
		t.Errorf("frozen honey has formed 40 mg/kg by %s", at)
	}
	if _, err := r.Outlook(nil, heat.Year{MeanC: 90, SwingK: 20}); err == nil {
		t.Error("a store of 110 C in summer was taken")
	}
	if _, err := r.Outlook([]heat.Point{{At: midsummer, TemperatureC: 113}}, heat.Year{MeanC: 20}); err == nil {
		t.Error("a log of 113 C was taken")
	}
}

func BenchmarkOutlookOfAYear(b *testing.B) {
	h := aYear(b)
	var points []heat.Point
	for at := h.Start(); at.Before(h.End()); at = at.Add(10 * time.Minute) {
		points = append(points, heat.Point{At: at, TemperatureC: h.TemperatureC(at)})
	}
	r := heat.Default().HMF
	for b.Loop() {
		if _, err := r.Outlook(points, heat.Year{MeanC: 20}); err != nil {
			b.Fatal(err)
		}
	}
}
