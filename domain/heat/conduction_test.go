package heat_test

import (
	"testing"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

// Published and trade times of standing containers in warm rooms: the band reaches them, and
// where it does not the row says so. A drum in a room of 45 to 50 C takes two to four days, a
// bath a day to a day and a half (both from memory); a bucket in a cabinet of 45 to 50 C about two days.
func TestStandingContainersAgainstPublishedTimes(t *testing.T) {
	t.Parallel()
	drum := heat.Standing{RadiusM: 0.286, HeightM: 0.85, MoisturePct: 17.4, CrystalsPct: 15, FilmWPerM2K: heat.FilmStillAir}
	bath := drum
	bath.FilmWPerM2K = heat.FilmWater
	bucket := heat.Standing{RadiusM: 0.145, HeightM: 0.35, MoisturePct: 17.4, CrystalsPct: 15, FilmWPerM2K: heat.FilmStillAir}
	for _, c := range []struct {
		name         string
		s            heat.Standing
		room, target float64
		low, high    float64
		reaches      bool
	}{
		{"drum in a room", drum, 47.5, 40, 48, 96, true},
		{"drum in a bath", bath, 47.5, 40, 24, 36, false}, // conduction alone takes longer: honey flows once it is liquid
		{"bucket in a cabinet", bucket, 47.5, 40, 24, 48, true},
	} {
		w, err := c.s.HoursToWarm(15, c.room, c.target)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: published %g to %g h, core %.0f / %.0f / %.0f h", c.name, c.low, c.high, w.HoursCore.Low, w.HoursCore.Middle, w.HoursCore.High)
		if got := w.HoursCore.Low <= c.high && w.HoursCore.High >= c.low; got != c.reaches {
			t.Errorf("%s: the band %+v reaches %g to %g h: %v", c.name, w.HoursCore, c.low, c.high, got)
		}
	}
}

// The core is the last to be warm, crystals and width make it later, and the wall is hotter: in
// still air and in a bath, for a jar, a pail, a drum, a flat pan and a tall tube.
func TestTheCoreOfAStandingContainerIsTheLastToBeWarm(t *testing.T) {
	t.Parallel()
	hours := func(s heat.Standing, room, target float64) heat.Warmed {
		w, err := s.HoursToWarm(15, room, target)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	for i, c := range []struct{ radius, height, film, room, target float64 }{
		{0.035, 0.09, heat.FilmWater, 50, 49}, {0.145, 0.35, heat.FilmStillAir, 30, 16}, {0.286, 0.85, heat.FilmBlownAir, 47.5, 40},
		{0.5, 0.1, heat.FilmStillAir, 60, 30}, {0.03, 1.2, heat.FilmWater, 35, 34.9},
	} {
		s := heat.Standing{RadiusM: c.radius, HeightM: c.height, MoisturePct: 15 + float64(i), FilmWPerM2K: c.film}
		w := hours(s, c.room, c.target)
		set, wide := s, s
		set.CrystalsPct, wide.RadiusM = 15, s.RadiusM*1.3
		if !(w.HoursCore.Low < w.HoursCore.Middle && w.HoursCore.Middle < w.HoursCore.High) || !(w.HoursMean.Low < w.HoursMean.Middle && w.HoursMean.Middle < w.HoursMean.High) {
			t.Errorf("%+v: the bands %+v and %+v", c, w.HoursCore, w.HoursMean)
		}
		if w.HoursMean.Middle >= w.HoursCore.Middle {
			t.Errorf("%+v: the mean is warm after %g h, the core after %g", c, w.HoursMean.Middle, w.HoursCore.Middle)
		}
		if hours(set, c.room, c.target).HoursCore.Middle <= w.HoursCore.Middle {
			t.Errorf("%+v: set honey is warm sooner", c)
		}
		if hours(wide, c.room, c.target).HoursCore.Middle < w.HoursCore.Middle*(1-1e-9) { // a flat pan is heated from its ends alone
			t.Errorf("%+v: wider honey is warm sooner", c)
		}
		if w.WallC < c.target || w.WallC > c.room {
			t.Errorf("%+v: the wall is at %g C", c, w.WallC)
		}
	}
}

// A drum as high as wide, of a Biot number of 10 both ways, by the first term of the tables of
// Heisler and Groeber (from memory): slab 1.42887 and 1.26196, cylinder 2.17950 and 1.56769. In a
// room of 45 C it begins at 15 C and comes to 44.4 C, so that 0.02 of the difference is left:
// at the core Fo = ln(1.26196*1.56769/0.02)/(1.42887^2 + 2.17950^2) = 0.67645. The mean is less by
// sin(1.42887)/1.42887 * 2 J1(2.17950)/2.17950 = 0.69282 * 0.51252, with J1 = 0.55852 between
// 0.5683 at 2.1 and 0.5560 at 2.2: Fo = 0.52399. The side is J0(2.17950) = 0.1219, between 0.1666 and 0.1104, of what is
// left at the core: 44.927 C. Fifteen in a hundred crystals take 15.765 kJ/kg over 29.4 K.
func TestAStandingDrumIsWarmWhenTheHeatTablesSay(t *testing.T) {
	t.Parallel()
	conductivity, _ := honey.ThermalConductivityWPerMK(17, 30)
	specific, _ := honey.SpecificHeatKJPerKgK(17, 30)
	density, _ := honey.DensityKgPerL(17, 20)
	hours := func(fourier, k, specific float64) float64 {
		return fourier * 0.25 * 0.25 * specific * 1000 * density * 1000 / k / 3600
	}
	for _, c := range []struct {
		name string
		k    float64
		of   func(heat.Band) float64
	}{
		{"the best of published conductivities", 0.54, func(b heat.Band) float64 { return b.Low }},
		{"the middle conductivity", conductivity, func(b heat.Band) float64 { return b.Middle }},
		{"a tenth less", conductivity * 0.9, func(b heat.Band) float64 { return b.High }},
	} {
		s := heat.Standing{RadiusM: 0.25, HeightM: 0.5, MoisturePct: 17, FilmWPerM2K: 10 * c.k / 0.25}
		w, err := s.HoursToWarm(15, 45, 44.4)
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, c.name+": core, h", c.of(w.HoursCore), hours(0.67645, c.k, specific), 1e-4)
		closeTo(t, c.name+": mean, h", c.of(w.HoursMean), hours(0.52399, c.k, specific), 5e-4)
		if c.k == conductivity {
			closeTo(t, "side below the room, K", 45-w.WallC, 0.02*0.1219*30, 5e-3)
		}
		s.CrystalsPct = 15
		set, err := s.HoursToWarm(15, 45, 44.4)
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, c.name+": core of set honey, h", c.of(set.HoursCore), hours(0.67645, c.k, specific+15.765/29.4), 1e-4)
	}
}

func TestAStandingContainerThatCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	good := heat.Standing{RadiusM: 0.286, HeightM: 0.85, MoisturePct: 17.4, FilmWPerM2K: heat.FilmStillAir}
	for name, change := range map[string]func(*heat.Standing, *float64){
		"no radius":             func(s *heat.Standing, _ *float64) { s.RadiusM = 0 },
		"a drum of 28 m":        func(s *heat.Standing, _ *float64) { s.RadiusM = 28.6 },
		"no height":             func(s *heat.Standing, _ *float64) { s.HeightM = 0 },
		"all crystals":          func(s *heat.Standing, _ *float64) { s.CrystalsPct = 90 },
		"no air":                func(s *heat.Standing, _ *float64) { s.FilmWPerM2K = 0 },
		"moisture as a share":   func(s *heat.Standing, _ *float64) { s.MoisturePct = 0.174 },
		"as warm as the room":   func(_ *heat.Standing, target *float64) { *target = 45 },
		"colder than the start": func(_ *heat.Standing, target *float64) { *target = 10 },
		"as cold as the start":  func(_ *heat.Standing, target *float64) { *target = 15 },
	} {
		s, target := good, 40.0
		change(&s, &target)
		if w, err := s.HoursToWarm(15, 45, target); err == nil || w != (heat.Warmed{}) {
			t.Errorf("%s: %+v, %v", name, w, err)
		}
	}
}
