package honey

// DensityKgPerL returns the density of liquid honey in kg/L.
//
// moisturePct 5 to 40, temperatureC 0 to 80; anything else is a *RangeError.
// At 20 C it is the specific gravity table of White 1975 and of the US grade
// standard (13 to 21 % moisture), linear between rows, times the density of
// water at 20 C. Outside the table it goes on with the slope of sucrose
// solutions of like strength (ICUMSA, 75 to 80 Brix). Temperature enters by a
// constant cubic expansion, ExpansionPerC. DensityStdUncertaintyKgPerL says
// how far to trust it.
func DensityKgPerL(moisturePct, temperatureC float64) (float64, error) {
	if err := liquidHoney(moisturePct, temperatureC); err != nil {
		return 0, err
	}
	return water20KgPerL * specificGravity20(moisturePct) * (1 - ExpansionPerC*(temperatureC-20)), nil
}

// DensityStdUncertaintyKgPerL is the standard uncertainty of DensityKgPerL
// for a honey of unknown flower: 0.003 kg/L within the table (DensityMoisture),
// 0.010 outside it and 0.020 drier than 10 or wetter than 30 %, which is where
// sucrose solutions of like strength (ICUMSA, from memory) part from the
// straight line by 0.007 (judgements from the differences between the sources
// in README.md, not published figures).
func DensityStdUncertaintyKgPerL(moisturePct float64) float64 {
	switch {
	case DensityMoisture.Covers(moisturePct):
		return 0.003
	case within(moisturePct, 10, 30):
		return 0.010
	}
	return 0.020
}

// DensityMoisture is the moisture that the specific gravity table covers, and
// DensityTemperature where the cubic expansion was quoted for.
var (
	DensityMoisture    = Range{Of: "moisture", Unit: "%", From: gravityFirstPct, To: gravityLastPct}
	DensityTemperature = Range{Of: "temperature", Unit: "C", From: 15, To: 50}
)

// ExpansionPerC is the cubic expansion of honey for one degree, relative to 20
// C: the middle of 0.00042 to 0.00045 between 20 and 50 C (from memory). The
// published limits of the US gallon, 11.6343 and 12.0571 lb, which are the
// ends of the gravity table weighed in air at 60 F, bear it out.
const ExpansionPerC = 0.00043

const (
	water20KgPerL    = 0.998203
	gravityFirstPct  = 13.0
	gravityLastPct   = 21.0
	gravityPerPctOut = -0.0065
)

// gravityRows holds the specific gravity 20/20 C for each whole percent of
// moisture from 13 to 21 (White 1975, from memory; README.md lists what
// supports it).
var gravityRows = [9]float64{1.4457, 1.4404, 1.4350, 1.4295, 1.4237, 1.4171, 1.4101, 1.4027, 1.3950}

func specificGravity20(moisturePct float64) float64 {
	place := moisturePct - gravityFirstPct
	last := len(gravityRows) - 1
	switch {
	case place < 0:
		return gravityRows[0] + gravityPerPctOut*place
	case place >= float64(last):
		return gravityRows[last] + gravityPerPctOut*(place-float64(last))
	}
	row := int(place)
	return gravityRows[row] + (place-float64(row))*(gravityRows[row+1]-gravityRows[row])
}
