package feeds

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pullbook/api/locale"
	"pullbook/api/wire"
	"pullbook/domain/units"
)

// A weight typed in pounds with up to two decimals is the same weight when it comes back, whichever
// way it came in; and whatever weight comes out in pounds is the book's to the gram.
func TestPoundsComeBackAsTyped(t *testing.T) {
	t.Parallel()
	us := &view{us: true}
	rapid.Check(t, func(t *rapid.T) {
		typed := float64(rapid.Int64Range(1, 10_000_000).Draw(t, "hundredths of a pound")) / 100
		kg := typed * units.KilogramsPerPound // as the recording page and a sheet have it
		byForm := locale.RoundTo(typed/(1/units.KilogramsPerPound), 6)
		for _, grams := range []int64{wire.Grams(kg), wire.Grams(byForm)} {
			if got := us.mass(grams); got != typed {
				t.Fatalf("%v lb come back as %v lb", typed, got)
			}
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		grams := rapid.Int64Range(-1_000_000_000, 1_000_000_000).Draw(t, "grams")
		shown := locale.RoundTo(us.mass(grams), massPlaces)
		if again := int64(math.Round(shown * locale.GramsPerPound)); again != grams {
			t.Fatalf("%d g come out as %v lb, which are %d g", grams, shown, again)
		}
	})
}

// A temperature typed in degrees Fahrenheit with up to two decimals comes back as typed, from a form and
// from a sheet; one of a logger in sixteenths of a degree Celsius comes back as it was.
func TestTemperaturesComeBackAsTyped(t *testing.T) {
	t.Parallel()
	written := func(v *view, celsius float64) float64 {
		out := &figure{}
		v.putTemperature(out, celsius)
		return out.value
	}
	rapid.Check(t, func(t *rapid.T) {
		typed := float64(rapid.Int64Range(-4000, 40_000).Draw(t, "hundredths of a degree")) / 100
		for _, celsius := range []float64{units.Celsius(typed), locale.RoundTo(units.Celsius(typed), 6), locale.RoundTo(units.Celsius(typed), 3)} {
			if got := written(&view{us: true}, celsius); got != typed {
				t.Fatalf("%v °F, kept as %v °C, come back as %v °F", typed, celsius, got)
			}
		}
		if got := written(&view{}, typed); got != typed {
			t.Fatalf("%v °C come back as %v °C", typed, got)
		}
		sixteenths := float64(rapid.Int64Range(-640, 2000).Draw(t, "sixteenths of a degree")) / 16
		if got := written(&view{}, sixteenths); got != sixteenths {
			t.Fatalf("%v °C come back as %v °C", sixteenths, got)
		}
	})
}

// figure keeps the figure that a feed writes.
type figure struct {
	cells
	value float64
}

func (f *figure) decimal(value float64, places int) { f.value = locale.RoundTo(value, places) }
