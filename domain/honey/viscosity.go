package honey

import "math"

// ViscosityPaS returns the dynamic viscosity of liquid honey in Pa s.
//
// moisturePct 13 to 22, temperatureC 10 to 75; anything else is a *RangeError.
func ViscosityPaS(moisturePct, temperatureC float64) (float64, error) {
	if err := moistureRange(moisturePct, 13, 22); err != nil {
		return 0, err
	}
	if err := temperatureRange(temperatureC, 10, 75); err != nil {
		return 0, err
	}
	return math.Exp(-1.72777 + 932.864/(temperatureC+273.15-213) - 0.42072*moisturePct), nil
}
