package heat_test

import (
	"testing"

	"pgregory.net/rapid"
	"pullbook/domain/heat"
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

// The core is the last to be warm, crystals and width make it later, and the wall is hotter.
func TestTheCoreOfAStandingContainerIsTheLastToBeWarm(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		s := heat.Standing{RadiusM: rapid.Float64Range(0.03, 0.5).Draw(rt, "radius"), HeightM: rapid.Float64Range(0.1, 1.2).Draw(rt, "height"),
			MoisturePct: rapid.Float64Range(15, 20).Draw(rt, "moisture"), FilmWPerM2K: rapid.Float64Range(5, 500).Draw(rt, "film")}
		room := rapid.Float64Range(30, 60).Draw(rt, "room")
		target := rapid.Float64Range(16, room-1).Draw(rt, "target")
		hours := func(s heat.Standing) heat.Warmed {
			w, err := s.HoursToWarm(15, room, target)
			if err != nil {
				rt.Fatal(err)
			}
			return w
		}
		w := hours(s)
		set, wide := s, s
		set.CrystalsPct, wide.RadiusM = 15, s.RadiusM*1.3
		switch {
		case !(w.HoursCore.Low < w.HoursCore.Middle && w.HoursCore.Middle < w.HoursCore.High):
			rt.Fatalf("the band %+v", w.HoursCore)
		case w.HoursMean.Middle >= w.HoursCore.Middle:
			rt.Fatalf("the mean is warm after %g h, the core after %g", w.HoursMean.Middle, w.HoursCore.Middle)
		case hours(set).HoursCore.Middle <= w.HoursCore.Middle:
			rt.Fatal("set honey is warm sooner")
		case hours(wide).HoursCore.Middle < w.HoursCore.Middle*(1-1e-9): // a flat pan is heated from its ends alone
			rt.Fatal("wider honey is warm sooner")
		case w.WallC < target || w.WallC > room:
			rt.Fatalf("the wall is at %g C with a core of %g C in a room of %g C", w.WallC, target, room)
		}
	})
}

func TestAStandingContainerThatCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	good := heat.Standing{RadiusM: 0.286, HeightM: 0.85, MoisturePct: 17.4, FilmWPerM2K: heat.FilmStillAir}
	for name, change := range map[string]func(*heat.Standing, *float64){
		"no radius":             func(s *heat.Standing, _ *float64) { s.RadiusM = 0 },
		"a drum of 28 m":        func(s *heat.Standing, _ *float64) { s.RadiusM = 28.6 },
		"all crystals":          func(s *heat.Standing, _ *float64) { s.CrystalsPct = 90 },
		"no air":                func(s *heat.Standing, _ *float64) { s.FilmWPerM2K = 0 },
		"as warm as the room":   func(_ *heat.Standing, target *float64) { *target = 45 },
		"colder than the start": func(_ *heat.Standing, target *float64) { *target = 10 },
	} {
		s, target := good, 40.0
		change(&s, &target)
		if w, err := s.HoursToWarm(15, 45, target); err == nil {
			t.Errorf("%s: %+v", name, w)
		}
	}
}
