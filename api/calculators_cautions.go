package api

import "pullbook/domain/heat"

const (
	cautionScreening  = "A refractometer in the honey house screens. It is no laboratory result: where moisture decides about a sale, the laboratory decides."
	cautionEstimate   = "This is an estimate and no laboratory result: where a limit decides about a sale, the laboratory decides."
	cautionScald      = "Honey above 45 C scalds: it sticks to the skin and holds its heat, and at 60 C burns in about five seconds. Cover arms and eyes, and open valves and lids slowly."
	cautionHeater     = "Electric heaters near water and wet floors need residual-current protection and an over-temperature cut-out besides the thermostat. Switch the power off before cleaning, and never switch an immersion heater on dry."
	cautionInfants    = "Warming does not destroy the spores of Clostridium botulinum: honey, heated or not, is not for infants under one year."
	cautionSensor     = "A history is only as good as where the sensor sat: the lid of a tank is not its wall, and the core of a still drum lags by a day or more."
	cautionFermenting = "Liquid honey from about this moisture on may ferment. Leave fermenting containers a vent: a closed one builds up pressure and can burst."
	cautionLowest     = "Work by the low figure, which is safe for a fast honey too."
)

// scaldsFromC is where hot honey is treated as a scald risk.
const scaldsFromC = 45

// heatCautions are those of an answer about warm honey.
func heatCautions(hottestC float64) []string {
	out := []string{cautionEstimate, cautionInfants}
	if hottestC > scaldsFromC {
		out = append(out, cautionScald)
	}
	return out
}

// jobCautions are those of a job at a temperature, which something has to heat.
func jobCautions(band heat.Band) []string {
	out := append([]string{cautionLowest}, heatCautions(band.High)...)
	return append(out, cautionHeater)
}
