package honey

// DensityKgPerL returns the density of liquid honey.
//
// moisturePct 10 to 30, temperatureC 0 to 80; anything else is a *RangeError.
func DensityKgPerL(moisturePct, temperatureC float64) (float64, error) {
	if err := moistureRange(moisturePct, 10, 30); err != nil {
		return 0, err
	}
	if err := temperatureRange(temperatureC, 0, 80); err != nil {
		return 0, err
	}
	return density20KgPerL(moisturePct) * (1 - expansionPerC*(temperatureC-20)), nil
}

const expansionPerC = 0.00043

var specificGravityRows = [9]float64{1.4457, 1.4404, 1.4350, 1.4295, 1.4237, 1.4171, 1.4101, 1.4027, 1.3950}

const (
	water20KgPerL           = 0.998203
	specificGravityPerPoint = -0.0065
)

func density20KgPerL(moisturePct float64) float64 {
	switch last := len(specificGravityRows) - 1; {
	case moisturePct < 13:
		return water20KgPerL * (specificGravityRows[0] + specificGravityPerPoint*(moisturePct-13))
	case moisturePct >= 21:
		return water20KgPerL * (specificGravityRows[last] + specificGravityPerPoint*(moisturePct-21))
	}
	i := int(moisturePct - 13)
	part := moisturePct - 13 - float64(i)
	return water20KgPerL * (specificGravityRows[i] + part*(specificGravityRows[i+1]-specificGravityRows[i]))
}
