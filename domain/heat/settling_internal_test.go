package heat

import (
	"fmt"
	"math"
)

// FinestRisen returns the diameter in millimetres of the finest particle that
// rises the whole depth in some hours, the inverse of Settle for the middle
// honey by Stokes' law alone.
func FinestRisen(particle Particle, depthM, hours, moisturePct, temperatureC float64) (float64, error) {
	if !(hours > 0) || math.IsInf(hours, 1) {
		return 0, fmt.Errorf("the honey stands for %g h: it must be longer than nothing", hours)
	}
	const fine = 0.01 // of millimetres, well within Stokes' law
	one, err := Settle(particle, depthM, fine, moisturePct, temperatureC)
	if err != nil {
		return 0, err
	}
	return fine * math.Sqrt(one.Hours.Middle/hours), nil
}
