package honey

import "math"

// ViscosityPaS returns the dynamic viscosity of liquid, Newtonian honey in
// Pa s (10 poise).
//
// moisturePct 13 to 22, temperatureC 10 to 75; anything else is a *RangeError.
// The curve is ln eta = A + B/(T - 213 K) - C W (Vogel, Tammann and Fulcher),
// fitted to the fourteen clover points of Munro 1943 as given by White 1975;
// viscosity_test.go repeats the fit. It meets those points within a factor of
// 1.31, but honeys of other flowers lie within ViscositySpreadFactor. Heather
// and manuka are thixotropic and have no such figure.
func ViscosityPaS(moisturePct, temperatureC float64) (float64, error) {
	if err := moistureRange(moisturePct, viscosityMinPct, viscosityMaxPct); err != nil {
		return 0, err
	}
	if err := temperatureRange(temperatureC, viscosityMinC, viscosityMaxC); err != nil {
		return 0, err
	}
	kelvin := temperatureC + 273.15
	return math.Exp(viscosityA + viscosityB/(kelvin-viscosityT0) - viscosityC*moisturePct), nil
}

// ViscositySpreadFactor is how far, up or down, a honey of another flower may
// lie from ViscosityPaS: sage of 18.6 % is 2.3 to 3 times as thick.
const ViscositySpreadFactor = 3.0

// ViscosityMoisture and ViscosityTemperature are what the fitted points had.
var (
	ViscosityMoisture    = Range{Of: "moisture", Unit: "%", From: 13.7, To: 21.5}
	ViscosityTemperature = Range{Of: "temperature", Unit: "C", From: 13.7, To: 71.1}
)

const (
	viscosityMinPct = 13.0
	viscosityMaxPct = 22.0
	viscosityMinC   = 10.0
	viscosityMaxC   = 75.0

	viscosityA  = -1.72777
	viscosityB  = 932.864
	viscosityC  = 0.42072
	viscosityT0 = 213.0
)
