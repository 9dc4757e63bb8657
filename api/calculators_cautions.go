package api

import (
	"pullbook/domain/heat"
	"pullbook/domain/message"
)

var (
	cautionScreening  = message.F("A refractometer in the honey house screens. It is no laboratory result: where moisture decides about a sale, the laboratory decides.")
	cautionEstimate   = message.F("This is an estimate and no laboratory result: where a limit decides about a sale, the laboratory decides.")
	cautionScald      = message.F("Honey above %s scalds: it sticks to the skin and holds its heat, and at %s burns in about five seconds. Cover arms and eyes, and open valves and lids slowly.", message.Celsius(scaldsFromC), message.Celsius(burnsC))
	cautionHeater     = message.F("Electric heaters near water and wet floors need residual-current protection and an over-temperature cut-out besides the thermostat. Switch the power off before cleaning, and never switch an immersion heater on dry.")
	cautionInfants    = message.F("Warming does not destroy the spores of Clostridium botulinum: honey, heated or not, is not for infants under one year.")
	cautionSensor     = message.F("A history is only as good as where the sensor sat: the lid of a tank is not its wall, and the core of a still drum lags by a day or more.")
	cautionFermenting = message.F("Liquid honey from about this moisture on may ferment. Leave fermenting containers a vent: a closed one builds up pressure and can burst.")
	cautionLowest     = message.F("Work by the low figure, which is safe for a fast honey too.")
)

// scaldsFromC is where hot honey is treated as a scald risk; at burnsC water burns
// an adult's skin in about five seconds (common practice of scald prevention).
const (
	scaldsFromC = 45
	burnsC      = 60
)

// cautionSaid is a caution of an answer, which is English, in words that can be said
// to a reader.
func cautionSaid(english string) message.Text {
	for _, c := range []message.Text{cautionScreening, cautionEstimate, cautionScald, cautionHeater, cautionInfants, cautionSensor, cautionFermenting, cautionLowest} {
		if c.String() == english {
			return c
		}
	}
	return message.Verbatim(english)
}

// heatCautions are those of an answer about warm honey.
func heatCautions(hottestC float64) []message.Text {
	out := []message.Text{cautionEstimate, cautionInfants}
	if hottestC > scaldsFromC {
		out = append(out, cautionScald)
	}
	return out
}

// jobCautions are those of a job at a temperature, which something has to heat.
func jobCautions(band heat.Band) []string {
	out := append([]message.Text{cautionLowest}, heatCautions(band.High)...)
	return said(append(out, cautionHeater))
}
