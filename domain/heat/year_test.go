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
	closeTo(t, "warmest day, but for the 3 h between the middle of four readings and noon", y.WarmestDay, truth.WarmestDay, 1e-3)
	if y, ok := heat.LearnYear(log(183)); ok {
		t.Errorf("half a year taught %+v", y)
	}
}

// By hand: the wave crosses its mean a quarter of a year after its warmest, which of a January is
// half a month into the year: 15.21875 + 91.3125 = 106.53125 days from the beginning of 2000, and
// as many before a beginning of other years.
func TestTheWaveIsWhereTheCalendarHasIt(t *testing.T) {
	t.Parallel()
	y := heat.YearOfMonths(30, 10, 1)
	begins := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, days := range []float64{106.53125, 106.53125 - 365.25, 106.53125 + 4*365.25} {
		at := begins.Add(time.Duration(days * float64(24*time.Hour)))
		closeTo(t, "temperature at "+at.String(), y.TemperatureC(at), 20, 1e-9)
	}
}

// Nine months with a week of days in each are enough; eight, or weeks of six days, are not. The
// same five months of two years are five, on either side of the year 2000.
func TestNineMonthsOfAWeekEachTeachAYear(t *testing.T) {
	t.Parallel()
	truth := heat.YearOfMonths(27, 7, 7)
	log := func(year, from, to, days int) (points []heat.Point) {
		for month := from; month <= to; month++ {
			for day := range days {
				at := time.Date(year, time.Month(month), 11+day, 12, 0, 0, 0, time.UTC)
				points = append(points, heat.Point{At: at, TemperatureC: truth.TemperatureC(at)})
			}
		}
		return points
	}
	if y, ok := heat.LearnYear(log(2026, 3, 11, 7)); !ok || math.Abs(y.MeanC-17) > 1e-6 || math.Abs(y.SwingK-10) > 1e-6 {
		t.Errorf("nine weeks in nine months taught %+v, %v", y, ok)
	}
	for name, points := range map[string][]heat.Point{
		"eight months": log(2026, 3, 10, 7), "nine months of six days": log(2026, 3, 11, 6), "five months of two years": append(log(1999, 5, 9, 7), log(2000, 5, 9, 7)...),
	} {
		if y, ok := heat.LearnYear(points); ok {
			t.Errorf("%s taught %+v", name, y)
		}
	}
}

// The exposure over a part of the year is the integral of the rate along the wave.
func TestAPartOfAYearIsTheIntegralAlongItsWave(t *testing.T) {
	t.Parallel()
	r, y := heat.Default().HMF, heat.YearOfMonths(30, 10, 7)
	o := outlook(t, r, nil, y)
	begins := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	at := func(days float64) time.Time { return begins.Add(time.Duration(days * float64(24*time.Hour))) }
	for _, part := range [][2]float64{{50, 140}, {270, 360}} {
		want := adaptive(func(day float64) float64 { return r.PerDay(y.TemperatureC(at(day))) }, part[0], part[1], 1e-10, 10)
		closeTo(t, "HMF of a quarter", o.Exposure(heat.Middling, at(part[0]), at(part[1])), want, 1e-4)
	}
	level := heat.Year{MeanC: 20, ScatterK: 5}
	closeTo(t, "a day of 15 or 25 C", outlook(t, r, nil, level).Exposure(heat.Middling, at(10), at(11)), (r.PerDay(15)+r.PerDay(25))/2, 1e-9)
}

// A level year does what its temperature does; a swing of 10 K about 20 C does 2.10 times as
// much, by the Bessel function above: as much as 20 + ln(2.10)/0.1884 = 23.9 C.
func TestTheKineticMeanIsWarmerThanTheMean(t *testing.T) {
	t.Parallel()
	a := heat.Default().HMF.Arrhenius
	closeTo(t, "kinetic mean of a level year", heat.Year{MeanC: 20}.KineticMeanC(a), 20, 1e-9)
	closeTo(t, "kinetic mean of a swing of 10 K", heat.Year{MeanC: 20, SwingK: 10}.KineticMeanC(a), 23.9, 0.01)
}

// Readings a day apart are joined, over a longer silence the year stands in; a line of a log that
// crosses 40 C, where the band bends, is cut there.
func TestAnOutlookJoinsReadingsADayApart(t *testing.T) {
	t.Parallel()
	r := heat.Default().HMF
	level := heat.Year{MeanC: 20}
	log := func(hours float64, celsius ...float64) (points []heat.Point) {
		for i, c := range celsius {
			points = append(points, heat.Point{At: at(float64(i) * hours), TemperatureC: c})
		}
		return points
	}
	closeTo(t, "a day at 45 C", outlook(t, r, log(24, 45, 45), level).Exposure(heat.Middling, at(0), at(24)), r.PerDay(45), 1e-9)
	closeTo(t, "25 h between two readings of 45 C", outlook(t, r, log(25, 45, 45), level).Exposure(heat.Middling, at(0), at(25)), r.PerDay(20)*25/24, 1e-6)
	fast := func(c float64) float64 { return r.PerDayBand(c).High }
	want := (adaptive(fast, 39.5, 40, 1e-12, 10) + adaptive(fast, 40, 40.5, 1e-12, 10)) / 24
	closeTo(t, "an hour from 39.5 to 40.5 C", outlook(t, r, log(1, 39.5, 40.5), level).Exposure(heat.Fast, at(0), at(1)), want, 1e-7)
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
	if _, err := r.Outlook(nil, heat.Year{MeanC: -30, SwingK: 20}); err == nil {
		t.Error("a store of -50 C in winter was taken")
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
