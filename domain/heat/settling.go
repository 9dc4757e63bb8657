package heat

import (
	"fmt"
	"math"

	"pullbook/domain/honey"
)

// Particle is what rises in a settling tank.
type Particle string

// The particles.
const (
	Bubble Particle = "bubble"
	Wax    Particle = "wax"
)

const (
	gravity       = 9.80665 // m/s2
	airKgPerM3    = 1.2
	waxKgPerM3    = 960.0 // 950 to 975 published
	waxMeltsC     = 62.0  // beeswax melts at 62 to 64 C
	viscositySpan = 3.0   // honeys of one moisture differ by up to this factor
)

// StokesRiseMMPerHour returns how fast a small sphere rises:
// v = (difference of densities) g d^2 / (18 viscosity), Stokes 1851. It holds
// below a Reynolds number of about 0.1, which a bubble of millimetres passes in
// warm honey; Settle takes more drag there. A clean bubble, whose surface slips, may rise up to half
// as fast again.
func StokesRiseMMPerHour(lighterByKgPerM3, diameterMM, viscosityPaS float64) float64 {
	d := diameterMM / 1000
	return lighterByKgPerM3 * gravity * d * d / (18 * viscosityPaS) * 1000 * 3600
}

// stokesHoldsTo is the Reynolds number up to which Stokes' law is within 2 %.
const stokesHoldsTo = 0.1

// StokesReynolds is where Stokes' law holds; beyond it the drag of Schiller and Naumann is
// taken.
var StokesReynolds = honey.Range{Of: "Reynolds number", From: 0, To: stokesHoldsTo}

// riseWithDrag is the speed with the drag of Schiller and Naumann 1933 (from memory), 1 + 0.15
// Re^0.687 times that of Stokes, good to a Reynolds number of 800; and the Reynolds number. The
// speed is found by stepping, which settles because drag grows with it.
func riseWithDrag(honeyKgPerM3, lighterByKgPerM3, diameterMM, viscosityPaS float64) (mmPerHour, reynolds float64) {
	stokes := StokesRiseMMPerHour(lighterByKgPerM3, diameterMM, viscosityPaS)
	number := func(mmPerHour float64) float64 {
		return honeyKgPerM3 * mmPerHour / 3.6e6 * diameterMM / 1000 / viscosityPaS
	}
	if number(stokes) <= stokesHoldsTo {
		return stokes, number(stokes)
	}
	low, high := 0.0, stokes
	for range 60 {
		if middle := (low + high) / 2; middle*(1+0.15*math.Pow(number(middle), 0.687)) < stokes {
			low = middle
		} else {
			high = middle
		}
	}
	return high, number(high)
}

// Settling is how long a tank must stand.
type Settling struct {
	RiseMMPerHour float64
	// Reynolds is the Reynolds number of the rise in clover honey; Stokes' law holds to 0.1.
	Reynolds float64
	// Hours until the particle has risen the whole depth: Middle for clover
	// honey, Low and High for honeys three times thinner and thicker.
	Hours Band
	Flags []Flag
}

// Settle returns how long it takes until the finest particle asked for has
// risen from the bottom to the top.
//
// depthM above 0 to 20, diameterMM 0.005 to 5; moisture and temperature as
// honey.ViscosityPaS takes them. The honey must stand still at one temperature:
// warm walls stir it and filling starts the clock again.
func Settle(particle Particle, depthM, diameterMM, moisturePct, temperatureC float64) (Settling, error) {
	if !(depthM > 0 && depthM <= 20) {
		return Settling{}, &honey.RangeError{Quantity: "depth of the honey", Unit: "m", Got: depthM, Min: 0.001, Max: 20}
	}
	if err := checkRange("diameter of the particle", "mm", diameterMM, 0.005, 5); err != nil {
		return Settling{}, err
	}
	viscosity, err := honey.ViscosityPaS(moisturePct, temperatureC)
	if err != nil {
		return Settling{}, err
	}
	density, err := honey.DensityKgPerL(moisturePct, temperatureC)
	if err != nil {
		return Settling{}, err
	}
	var s Settling
	own := airKgPerM3
	switch particle {
	case Bubble:
	case Wax:
		own = waxKgPerM3
		if temperatureC >= waxMeltsC {
			s.Flags = []Flag{{FlagMeltedWax, fmt.Sprintf("wax is molten at %.4g C: drops rise faster than this and run together", temperatureC)}}
		}
	default:
		return Settling{}, fmt.Errorf("the particle %q is unknown: say %s or %s", particle, Bubble, Wax)
	}
	s.RiseMMPerHour, s.Reynolds = riseWithDrag(density*1000, density*1000-own, diameterMM, viscosity)
	if s.RiseMMPerHour < StokesRiseMMPerHour(density*1000-own, diameterMM, viscosity) {
		s.Flags = append(s.Flags, Flag{FlagBeyondStokes, fmt.Sprintf("the Reynolds number is %.2g, and Stokes' law alone would be past the %.2g up to which it holds: the drag of Schiller and Naumann is taken, and in a honey %.3g times thinner it is the more so", s.Reynolds, stokesHoldsTo, viscositySpan)})
	}
	hours := depthM * 1000 / s.RiseMMPerHour
	s.Hours = Band{hours / viscositySpan, hours, hours * viscositySpan}
	return s, nil
}
