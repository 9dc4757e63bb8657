package heat_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"
	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

func TestRiseByStokesAsWorkedByHand(t *testing.T) {
	t.Parallel()
	lighter := map[string]float64{"bubble": 1420, "wax": 460}
	for _, r := range published(t, "stokes-rise-times.csv") {
		rise := heat.StokesRiseMMPerHour(lighter[r["particle"]], r.figure(t, "diameter_mm"), r.figure(t, "viscosity_pa_s"))
		closeTo(t, r["particle"]+" of "+r["diameter_mm"]+" mm at "+r["temperature_c"]+" C, mm/h", rise, r.figure(t, "rise_mm_per_h"), 0.005)
		closeTo(t, "hours to rise a metre", 1000/rise, r.figure(t, "hours_to_rise_1_m"), 0.005)
	}
	closeTo(t, "bubble of 0.1 mm in 6.9 Pa s, mm/h", heat.StokesRiseMMPerHour(1420, 0.1, 6.9), 4.04, 0.005)
	closeTo(t, "wax of 0.5 mm in 6.9 Pa s, mm/h", heat.StokesRiseMMPerHour(460, 0.5, 6.9), 32.7, 0.005)
}

// The published table takes 1420 kg/m3 throughout; warm honey is a little
// lighter, so the whole chain may differ from it by a few percent for wax.
func TestSettlingOfCloverHoneyAgreesWithTheTable(t *testing.T) {
	t.Parallel()
	for _, r := range published(t, "stokes-rise-times.csv") {
		s, err := heat.Settle(heat.Particle(r["particle"]), 1, r.figure(t, "diameter_mm"), r.figure(t, "moisture_pct"), r.figure(t, "temperature_c"))
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, r["particle"]+" of "+r["diameter_mm"]+" mm at "+r["temperature_c"]+" C, hours", s.Hours.Middle, r.figure(t, "hours_to_rise_1_m"), 0.05)
	}
}

func TestSettlingIsFasterForWarmWetAndCoarse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		c := rapid.Float64Range(15, 55).Draw(rt, "C")
		w := rapid.Float64Range(14, 21).Draw(rt, "moisture")
		d := rapid.Float64Range(0.05, 1).Draw(rt, "mm")
		hours := func(c, w, d float64) float64 {
			s, err := heat.Settle(heat.Bubble, 1.5, d, w, c)
			if err != nil {
				rt.Fatal(err)
			}
			return s.Hours.Middle
		}
		base := hours(c, w, d)
		if hours(c+2, w, d) >= base || hours(c, w+0.5, d) >= base || hours(c, w, d*1.1) >= base {
			rt.Fatalf("%g h at %g C, %g %%, %g mm and not faster when warmer, wetter or coarser", base, c, w, d)
		}
		if s, err := heat.Settle(heat.Bubble, 1.5, d, w, c); err == nil && len(s.Flags) > 0 {
			return // the inverse is that of Stokes' law
		}
		finest, err := heat.FinestRisen(heat.Bubble, 1.5, base, w, c)
		if err != nil {
			rt.Fatal(err)
		}
		if math.Abs(finest/d-1) > 1e-9 {
			rt.Fatalf("in that time the finest is %g mm, expected %g", finest, d)
		}
	})
}

// Stokes' law needs a Reynolds number well below 1: the coarsest bubble in the
// thinnest honey of the calculator is the worst case that a honey house meets.
func TestStokesLawHoldsForMillimetresInHoney(t *testing.T) {
	t.Parallel()
	s, err := heat.Settle(heat.Bubble, 1, 1, 20, 50)
	if err != nil {
		t.Fatal(err)
	}
	viscosity, err := honey.ViscosityPaS(20, 50)
	if err != nil {
		t.Fatal(err)
	}
	if reynolds := 1400 * s.RiseMMPerHour / 3.6e6 * 0.001 / viscosity; reynolds > 0.1 {
		t.Errorf("Reynolds number %g", reynolds)
	}
}

func TestSettlingRefusesWhatDoesNotRise(t *testing.T) {
	t.Parallel()
	for name, err := range map[string]error{
		"negative depth":           second(heat.Settle(heat.Bubble, -1, 0.1, 17, 35)),
		"no depth":                 second(heat.Settle(heat.Bubble, 0, 0.1, 17, 35)),
		"a bubble of a centimetre": second(heat.Settle(heat.Bubble, 1, 10, 17, 35)),
		"moisture as a fraction":   second(heat.Settle(heat.Bubble, 1, 0.1, 0.17, 35)),
		"95 F":                     second(heat.Settle(heat.Bubble, 1, 0.1, 17, 95)),
		"a bee's leg":              second(heat.Settle("leg", 1, 0.1, 17, 35)),
		"no time":                  second(heat.FinestRisen(heat.Wax, 1, 0, 17, 35)),
		"no depth to rise":         second(heat.FinestRisen(heat.Wax, 0, 5, 17, 35)),
	} {
		if err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

func TestMoltenWaxIsFlagged(t *testing.T) {
	t.Parallel()
	s, err := heat.Settle(heat.Wax, 1, 0.5, 17, 65)
	if err != nil {
		t.Fatal(err)
	}
	wantFlag(t, s.Flags, heat.FlagMeltedWax)
}

func TestHoldingTimesThatKillYeasts(t *testing.T) {
	t.Parallel()
	for _, r := range published(t, "yeast-kill-times.csv") {
		k, err := heat.YeastKill(r.figure(t, "temperature_c"))
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]float64{"measured": k.LeastMinutes, "advised": k.AdvisedMinutes}[r["kind"]]
		closeTo(t, r["kind"]+" minutes at "+r["temperature_c"]+" C", got, r.figure(t, "minutes"), 1e-9)
	}
}

func TestHotterKillsYeastsSoonerAndAdviceIsNeverShorter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		c := rapid.Float64Range(51.7, 71).Draw(rt, "C")
		k, err := heat.YeastKill(c)
		if err != nil {
			rt.Fatal(err)
		}
		hotter, err := heat.YeastKill(c + 0.1)
		if err != nil {
			rt.Fatal(err)
		}
		if !(hotter.LeastMinutes < k.LeastMinutes && hotter.AdvisedMinutes < k.AdvisedMinutes && k.LeastMinutes <= k.AdvisedMinutes) {
			rt.Fatalf("%+v at %g C, %+v just above", k, c, hotter)
		}
	})
	for _, c := range []float64{45, 51.6, 72, 145, math.NaN()} {
		if _, err := heat.YeastKill(c); err == nil {
			t.Errorf("%g C was taken", c)
		}
	}
}
