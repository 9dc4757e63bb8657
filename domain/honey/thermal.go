package honey

// SpecificHeatKJPerKgK returns the specific heat of liquid honey in kJ/(kg K).
//
// moisturePct 10 to 30, temperatureC 0 to 80; anything else is a *RangeError.
func SpecificHeatKJPerKgK(moisturePct, temperatureC float64) (float64, error) {
	if err := moistureRange(moisturePct, 10, 30); err != nil {
		return 0, err
	}
	if err := temperatureRange(temperatureC, 0, 80); err != nil {
		return 0, err
	}
	return 2.26 + 0.0236*(moisturePct-17.4) + 0.0062*(temperatureC-20), nil
}

// ThermalConductivityWPerMK returns the thermal conductivity of liquid honey
// in W/(m K).
//
// moisturePct 10 to 30, temperatureC 0 to 80; anything else is a *RangeError.
func ThermalConductivityWPerMK(moisturePct, temperatureC float64) (float64, error) {
	if err := moistureRange(moisturePct, 10, 30); err != nil {
		return 0, err
	}
	if err := temperatureRange(temperatureC, 0, 80); err != nil {
		return 0, err
	}
	t := temperatureC
	return (0.326775 + 0.0010412*t - 0.00000337*t*t) * (0.796 + 0.009346*moisturePct), nil
}
