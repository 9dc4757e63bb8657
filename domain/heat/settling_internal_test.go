package heat

import (
	"fmt"
	"math"
)

// FinestRisen returns the diameter in millimetres of the finest particle that
// rises the whole depth in some hours, the inverse of Settle for the middle
// honey.
func FinestRisen(particle Particle, depthM, hours, moisturePct, temperatureC float64) (float64, error) {
	if !(hours > 0) || math.IsInf(hours, 1) {
		return 0, fmt.Errorf("the honey stands for %g h: it must be longer than nothing", hours)
	}
	one, err := Settle(particle, depthM, 1, moisturePct, temperatureC)
	if err != nil {
		return 0, err
	}
	return math.Sqrt(one.Hours.Middle / hours), nil
}
