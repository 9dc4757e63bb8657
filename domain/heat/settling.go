package heat

import (
	"fmt"

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
// below a Reynolds number of about 0.1, which honey never lets a sphere of
// millimetres reach. A clean bubble, whose surface slips, may rise up to half
// as fast again.
func StokesRiseMMPerHour(lighterByKgPerM3, diameterMM, viscosityPaS float64) float64 {
	d := diameterMM / 1000
	return lighterByKgPerM3 * gravity * d * d / (18 * viscosityPaS) * 1000 * 3600
}

// Settling is how long a tank must stand.
type Settling struct {
	RiseMMPerHour float64
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
	s.RiseMMPerHour = StokesRiseMMPerHour(density*1000-own, diameterMM, viscosity)
	hours := depthM * 1000 / s.RiseMMPerHour
	s.Hours = Band{hours / viscositySpan, hours, hours * viscositySpan}
	return s, nil
}
