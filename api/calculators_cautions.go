package api

import (
	"pullbook/domain/heat"
	"pullbook/domain/say"
)

var (
	cautionScreening  = say.F("A refractometer in the honey house screens. It is no laboratory result: where moisture decides about a sale, the laboratory decides.")
	cautionEstimate   = say.F("This is an estimate and no laboratory result: where a limit decides about a sale, the laboratory decides.")
	cautionScald      = say.F("Honey above %s scalds: it sticks to the skin and holds its heat, and at %s burns in about five seconds. Cover arms and eyes, and open valves and lids slowly.", say.Celsius(scaldsFromC), say.Celsius(burnsC))
	cautionHeater     = say.F("Electric heaters near water and wet floors need residual-current protection and an over-temperature cut-out besides the thermostat. Switch the power off before cleaning, and never switch an immersion heater on dry.")
	cautionInfants    = say.F("Warming does not destroy the spores of Clostridium botulinum: honey, heated or not, is not for infants under one year.")
	cautionSensor     = say.F("A history is only as good as where the sensor sat: the lid of a tank is not its wall, and the core of a still drum lags by a day or more.")
	cautionFermenting = say.F("Liquid honey from about this moisture on may ferment. Leave fermenting containers a vent: a closed one builds up pressure and can burst.")
	cautionLowest     = say.F("Work by the low figure, which is safe for a fast honey too.")
)

// scaldsFromC is where hot honey is treated as a scald risk; at burnsC water burns
// an adult's skin in about five seconds (common practice of scald prevention).
const (
	scaldsFromC = 45
	burnsC      = 60
)

// cautionSaid is a caution of an answer, which is English, in words that can be said
// to a reader.
func cautionSaid(english string) say.Text {
	for _, c := range []say.Text{cautionScreening, cautionEstimate, cautionScald, cautionHeater, cautionInfants, cautionSensor, cautionFermenting, cautionLowest} {
		if c.String() == english {
			return c
		}
	}
	return say.Verbatim(english)
}

// heatCautions are those of an answer about warm honey.
func heatCautions(hottestC float64) []say.Text {
	out := []say.Text{cautionEstimate, cautionInfants}
	if hottestC > scaldsFromC {
		out = append(out, cautionScald)
	}
	return out
}

// jobCautions are those of a job at a temperature, which something has to heat.
func jobCautions(band heat.Band) []string {
	out := append([]say.Text{cautionLowest}, heatCautions(band.High)...)
	return said(append(out, cautionHeater))
}
