package honey

// SpecificHeatKJPerKgK returns the specific heat of liquid honey in kJ/(kg K).
//
// moisturePct 5 to 40, temperatureC 0 to 80; anything else is a *RangeError.
// It is the measured 2.26 at 17.4 % and 20 C (0.54 cal/g/C), carried to other
// moistures and temperatures by the formula for pure sucrose solutions of the
// Sugar Technologists Manual (1995), which by itself gives 2.24 there.
// Published honey runs from this figure to 10 % above it; granulated honey
// appears to take up to 3.06 while its crystals melt.
func SpecificHeatKJPerKgK(moisturePct, temperatureC float64) (float64, error) {
	if err := liquidHoney(moisturePct, temperatureC); err != nil {
		return 0, err
	}
	return heat174At20 + sucroseHeat(100-moisturePct, temperatureC) - sucroseHeat(100-17.4, 20), nil
}

// ThermalMoisture and ThermalTemperature are where specific heat and conductivity
// were compared with other sources (README.md).
var (
	ThermalMoisture    = Range{Of: "moisture", Unit: "%", From: 10, To: 30}
	ThermalTemperature = Range{Of: "temperature", Unit: "C", From: 0, To: 80}
)

const heat174At20 = 2.26

// sucroseHeat is 4.1868 - 0.0297 B + 4.6e-5 B P + 7.5e-5 B t at a purity P of
// 100 %, for B g of solids in 100 g (from memory).
func sucroseHeat(solidsPct, temperatureC float64) float64 {
	return 4.1868 - solidsPct*(0.0297-4.6e-5*100-7.5e-5*temperatureC)
}

// ThermalConductivityWPerMK returns the thermal conductivity of liquid honey in
// W/(m K).
//
// moisturePct 5 to 40, temperatureC 0 to 80; anything else is a *RangeError.
// The formula is Riedel's for sugar solutions and fruit juices (1949, from
// memory); it meets pure water, the additive food model of Choi and Okos and
// modern probe values (0.32 to 0.38) within 10 %. Helvey's 0.536 for honey
// (1954) stands 60 % above it and is not followed: see README.md.
func ThermalConductivityWPerMK(moisturePct, temperatureC float64) (float64, error) {
	if err := liquidHoney(moisturePct, temperatureC); err != nil {
		return 0, err
	}
	return riedelConductivity(moisturePct, temperatureC), nil
}

func riedelConductivity(waterPct, temperatureC float64) float64 {
	t := temperatureC
	return (326.575 + 1.0412*t - 0.00337*t*t) * (0.796 + 0.009346*waterPct) / 1000
}
