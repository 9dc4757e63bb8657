package honey

import "math"

// Content is what a tank holds by its dip.
type Content struct {
	Litres, Kilograms, StdUncertaintyKg float64
}

// Gauge returns what a tank holds at a dip: its litres times the density of
// honey of moisturePct (5 to 40) at temperatureC (0 to 80), the temperature in
// the tank. dipStdUncertaintyCm (0 to 100) is how well the dip is known; with the density's
// own uncertainty it makes StdUncertaintyKg. The tank itself is taken as
// measured truly.
func Gauge(tank Tank, dipCm, dipStdUncertaintyCm, moisturePct, temperatureC float64) (Content, error) {
	if err := uncertaintyRange("dip uncertainty", "cm", dipStdUncertaintyCm, 100); err != nil {
		return Content{}, err
	}
	litres, err := tank.Litres(dipCm)
	if err != nil {
		return Content{}, err
	}
	density, err := DensityKgPerL(moisturePct, temperatureC)
	if err != nil {
		return Content{}, err
	}
	perCm, err := litresPerCm(tank, dipCm)
	if err != nil {
		return Content{}, err
	}
	byDip := perCm * dipStdUncertaintyCm * density
	byDensity := litres * DensityStdUncertaintyKgPerL(moisturePct)
	return Content{Litres: litres, Kilograms: litres * density, StdUncertaintyKg: math.Hypot(byDip, byDensity)}, nil
}

// litresPerCm is the surface of the honey, from the volume half a centimetre
// below and above so far as the tank goes.
func litresPerCm(tank Tank, dipCm float64) (float64, error) {
	low, high := max(tank.LowestCm(), dipCm-0.5), min(tank.RimCm(), dipCm+0.5)
	below, err := tank.Litres(low)
	if err != nil {
		return 0, err
	}
	above, err := tank.Litres(high)
	if err != nil {
		return 0, err
	}
	return (above - below) / (high - low), nil
}

// DipForKilograms returns the dip at which a tank holds so many kilograms of
// honey of moisturePct at temperatureC: Gauge turned round.
func DipForKilograms(tank Tank, kilograms, moisturePct, temperatureC float64) (float64, error) {
	density, err := DensityKgPerL(moisturePct, temperatureC)
	if err != nil {
		return 0, err
	}
	lowest, err := tank.Litres(tank.LowestCm())
	if err != nil {
		return 0, err
	}
	full, err := tank.Litres(tank.RimCm())
	if err != nil {
		return 0, err
	}
	if least, most := lowest*density, full*density; !within(kilograms, least, most) {
		return 0, &RangeError{Quantity: "mass", Unit: "kg", Got: kilograms, Min: least, Max: most,
			Hint: massHint(kilograms, most)}
	}
	return tank.DipCm(max(lowest, min(full, kilograms/density)))
}

func massHint(kilograms, most float64) Hint {
	if kilograms > most {
		return Hint{Format: "it is more than the tank holds"}
	}
	return Hint{}
}
