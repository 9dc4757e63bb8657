package heat_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/heat"
)

// A meter read at both ends of a stretch says what integrating the stretch says.
func TestAMeterReadsWhatTheHistoryIntegratesTo(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		start := time.Date(2026, 8, 1, 0, 0, 0, 0, time.UTC)
		var points []heat.Point
		at := start
		for range rapid.IntRange(2, 30).Draw(t, "points") {
			points = append(points, heat.Point{At: at, TemperatureC: rapid.Float64Range(5, 70).Draw(t, "celsius")})
			at = at.Add(time.Duration(rapid.IntRange(1, 60).Draw(t, "hours")) * time.Hour)
		}
		usual := rapid.Float64Range(5, 40).Draw(t, "usual")
		h, err := heat.FromPoints(points, &usual)
		if err != nil {
			t.Fatal(err)
		}
		k := heat.Default()
		m, err := k.Meter(h, usual)
		if err != nil {
			t.Fatal(err)
		}
		span := int(h.End().Sub(start).Minutes())
		a := rapid.IntRange(0, span).Draw(t, "from")
		b := rapid.IntRange(a, span).Draw(t, "to")
		from, to := start.Add(time.Duration(a)*time.Minute), start.Add(time.Duration(b)*time.Minute)
		part, err := h.Between(from, to)
		if err != nil {
			t.Fatal(err)
		}
		hmf, diastase := m.Between(from, to)
		near(t, "HMF", hmf, k.HMF.Exposure(part))
		near(t, "diastase", diastase, k.Diastase.Exposure(part))
	})
}

func near(t *rapid.T, what string, got, want float64) {
	if math.Abs(got-want) > 1e-6*math.Max(1e-3, math.Abs(want)) {
		t.Errorf("%s: the meter reads %.12g, the integral is %.12g", what, got, want)
	}
}

// Beyond a log the nearest reading holds for a day, then the usual temperature counts; turned
// round, a meter runs back.
func TestAMeterGoesOnBeyondItsLog(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	m, err := k.Meter(kept(t, 40, 10), 20)
	if err != nil {
		t.Fatal(err)
	}
	before, after := midsummer.Add(-48*time.Hour), midsummer.Add(70*time.Hour)
	hmf, diastase := m.Between(before, after)
	closeTo(t, "HMF of 58 h at 40 C and 60 h at 20 C", hmf, (58*k.HMFRate(40)+60*k.HMFRate(20))/24, 1e-9)
	closeTo(t, "diastase of the same", diastase, (58*k.DiastaseRate(40)+60*k.DiastaseRate(20))/24, 1e-9)
	if back, up := m.Between(after, before); back != -hmf || up != -diastase {
		t.Errorf("turned round the meter reads %g and %g, expected %g and %g", back, up, -hmf, -diastase)
	}
}

// A line of a few kelvin is cut finely enough for eight figures.
func TestAMeterIsRightToEightFigures(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	m, err := k.Meter(logged(t, time.Hour, 20, 23), 20)
	if err != nil {
		t.Fatal(err)
	}
	hmf, _ := m.Between(midsummer.Add(time.Second), midsummer.Add(time.Hour-time.Second))
	want := adaptive(func(s float64) float64 { return k.HMFRate(20 + 3*s/3600) }, 1, 3599, 1e-13, 12) / 86400
	closeTo(t, "HMF", hmf, want, 2e-8)
}

// Where no temperature was kept, the usual one counts.
func TestAMeterWithoutALogGoesByTheUsualTemperature(t *testing.T) {
	t.Parallel()
	k := heat.Default()
	m, err := k.Meter(heat.History{}, 20)
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2026, 8, 1, 0, 0, 0, 0, time.UTC)
	hmf, _ := m.Between(from, from.AddDate(0, 0, 10))
	if want := 10 * k.HMFRate(20); math.Abs(hmf-want) > 1e-9 {
		t.Errorf("ten days at 20 C: %g mg/kg, want %g", hmf, want)
	}
}

func BenchmarkMeter(b *testing.B) {
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	points := make([]heat.Point, 52560)
	for i := range points {
		points[i] = heat.Point{At: start.Add(time.Duration(i) * 10 * time.Minute), TemperatureC: 25 + 10*math.Sin(float64(i)/144)}
	}
	h, err := heat.FromPoints(points, nil)
	if err != nil {
		b.Fatal(err)
	}
	m, err := heat.Default().Meter(h, 20)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for i := range b.N {
		at := start.Add(time.Duration(i%50000) * 10 * time.Minute)
		m.Between(at, at.Add(36*time.Hour))
	}
}
