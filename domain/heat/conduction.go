package heat

import (
	"math"

	"pullbook/domain/message"
)

// Standing is a full drum or pail that stands still in a warm room or a bath: heat reaches its
// core through the honey only. It is an upright cylinder, heated alike on its side and both ends.
type Standing struct {
	RadiusM, HeightM float64 // of the honey
	MoisturePct      float64
	// CrystalsPct is the part of the mass that has set. Its melting heat is spread over the
	// warming, because it melts little by little from the wall inwards.
	CrystalsPct float64
	// FilmWPerM2K is how well heat passes from the surroundings to the wall.
	FilmWPerM2K float64
}

// How well heat reaches a wall, in W/(m2 K): from memory, still air 5 to 10 with radiation,
// blown air 15 to 30, water 200 to 500.
const (
	FilmStillAir = 10.0
	FilmBlownAir = 25.0
	FilmWater    = 300.0
)

const (
	// MeltingKJPerKg is what a kilogram of glucose monohydrate takes up as it dissolves at 25 C
	// (105.1 in tables of food processing).
	MeltingKJPerKg = 105.1
	// helveyWPerMK is the conductivity of Helvey 1954, the highest published; the band begins there.
	helveyWPerMK = 0.54
	probesApart  = 0.10 // modern probes lie within so much of honey.ThermalConductivityWPerMK
	conductTerms = 100
	negligible   = 45.0 // e to the minus so much is nothing beside one
)

// Warmed is when a standing container is warm. Low is for the highest published conductivity,
// High for the lowest; stirring, or honey that flows once it is liquid, makes it sooner.
type Warmed struct {
	HoursCore, HoursMean Band
	// WallC is the honey at the side when the core is at the target, in the middle honey.
	WallC float64
}

// HoursToWarm returns when the core and the mean of a container come to a target.
//
// RadiusM 0.01 to 1, HeightM 0.02 to 3, MoisturePct and temperatures as
// honey.ThermalConductivityWPerMK takes them, CrystalsPct 0 to 40, FilmWPerM2K 1 to 1000; the
// target lies between the start and the room.
func (s Standing) HoursToWarm(startC, roomC, targetC float64) (Warmed, error) {
	if err := s.check(); err != nil {
		return Warmed{}, err
	}
	if !(startC < targetC && targetC < roomC) {
		return Warmed{}, message.Errorf("the target %s must lie between the start %s and the room %s: the core never quite comes to the room's temperature", message.Celsius(targetC), message.Celsius(startC), message.Celsius(roomC))
	}
	conductivity, heatPerM3K, err := s.properties((startC+roomC)/2, targetC-startC)
	if err != nil {
		return Warmed{}, err
	}
	left := (targetC - roomC) / (startC - roomC)
	var w Warmed
	for _, c := range []struct {
		k          float64
		core, mean *float64
	}{
		{helveyWPerMK, &w.HoursCore.Low, &w.HoursMean.Low}, {conductivity, &w.HoursCore.Middle, &w.HoursMean.Middle},
		{conductivity * (1 - probesApart), &w.HoursCore.High, &w.HoursMean.High},
	} {
		b := s.conduct(c.k, heatPerM3K)
		*c.core, *c.mean = b.hoursTo(left, b.core), b.hoursTo(left, b.mean)
		if c.core == &w.HoursCore.Middle {
			w.WallC = roomC + (startC-roomC)*b.wall(*c.core)
		}
	}
	return w, nil
}

// body is a short cylinder: what is left of its difference to the surroundings is that of an
// endless cylinder times that of a slab (Carslaw and Jaeger; the series of heat textbooks).
type body struct {
	cylinder, slab         []term
	perHourSide, perHourUp float64 // Fourier number an hour
}

// term is one of a series: coefficient, its part in the mean, its part at the surface.
type term struct{ root, core, mean, wall float64 }

func (s Standing) conduct(k, heatPerM3K float64) *body {
	half, hourly := s.HeightM/2, k/heatPerM3K*3600
	return &body{
		cylinder: cylinderTerms(s.FilmWPerM2K * s.RadiusM / k), slab: slabTerms(s.FilmWPerM2K * half / k),
		perHourSide: hourly / (s.RadiusM * s.RadiusM), perHourUp: hourly / (half * half),
	}
}

func series(terms []term, fourier float64, of func(term) float64) float64 {
	sum := 0.0
	for _, t := range terms {
		x := t.root * t.root * fourier
		if x > negligible {
			break // the roots grow
		}
		sum += of(t) * math.Exp(-x)
	}
	return sum
}

func atCore(t term) float64 { return t.core }
func onMean(t term) float64 { return t.mean }
func atWall(t term) float64 { return t.wall }

func (b *body) core(hours float64) float64 {
	return series(b.cylinder, b.perHourSide*hours, atCore) * series(b.slab, b.perHourUp*hours, atCore)
}

func (b *body) mean(hours float64) float64 {
	return series(b.cylinder, b.perHourSide*hours, onMean) * series(b.slab, b.perHourUp*hours, onMean)
}

// wall is the side at half height.
func (b *body) wall(hours float64) float64 {
	return series(b.cylinder, b.perHourSide*hours, atWall) * series(b.slab, b.perHourUp*hours, atCore)
}

// hoursTo is when a falling share comes to what may be left.
func (b *body) hoursTo(left float64, share func(float64) float64) float64 {
	low, high := 0.0, 1.0
	for share(high) > left {
		low, high = high, 2*high
	}
	for range 60 {
		if middle := (low + high) / 2; share(middle) > left {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// cylinderTerms solves z J1(z) = Bi J0(z).
func cylinderTerms(biot float64) []term {
	f := func(z float64) float64 { return z*math.J1(z) - biot*math.J0(z) }
	return terms(f, func(z float64) term {
		j0, j1 := math.J0(z), math.J1(z)
		c := 2 / z * j1 / (j0*j0 + j1*j1)
		return term{z, c, 2 * c * j1 / z, c * j0}
	})
}

// slabTerms solves z sin z = Bi cos z.
func slabTerms(biot float64) []term {
	f := func(z float64) float64 { return z*math.Sin(z) - biot*math.Cos(z) }
	return terms(f, func(z float64) term {
		c := 4 * math.Sin(z) / (2*z + math.Sin(2*z))
		return term{z, c, c * math.Sin(z) / z, c * math.Cos(z)}
	})
}

// terms finds the first roots of a function whose roots lie more than a step apart.
func terms(f func(float64) float64, of func(float64) term) []term {
	const step = 0.1
	var out []term
	at := f(1e-6)
	for z := 1e-6; len(out) < conductTerms; z += step {
		from, next := at, f(z+step)
		if at = next; from*next > 0 {
			continue
		}
		low, high := z, z+step
		for range 45 {
			middle := (low + high) / 2
			if y := f(middle); from*y <= 0 {
				high = middle
			} else {
				low, from = middle, y
			}
		}
		out = append(out, of((low+high)/2))
	}
	return out
}
