package heat

import "math"

// Holding times that kill the yeasts of honey, in minutes.
//
// Measured: Townsend 1939, honey of 18.6 % moisture, as tabulated by White
// 1975 (from memory). Advised: what packers are told to hold, common practice.
var (
	measuredKill = []holding{{51.7, 470}, {54.4, 170}, {57.2, 60}, {60.0, 22}, {62.8, 7.5}, {65.6, 2.8}, {68.3, 1.0}, {71.1, 0.4}}
	advisedKill  = []holding{{51.7, 480}, {62.8, 30}, {71.1, 1}}
)

type holding struct{ celsius, minutes float64 }

// KillTime is how long honey must be held at a temperature to be rid of
// yeasts: Least as measured, Advised with the margin packers take.
type KillTime struct{ LeastMinutes, AdvisedMinutes float64 }

// YeastKill returns the holding time at a temperature from 51.7 to 71.1 C,
// interpolated on the logarithm of the time. The honey must have that
// temperature throughout; the time to get there does not count.
func YeastKill(temperatureC float64) (KillTime, error) {
	if err := checkRange("temperature to kill yeasts at", "C", temperatureC, 51.7, 71.1); err != nil {
		return KillTime{}, err
	}
	return KillTime{interpolateLog(measuredKill, temperatureC), interpolateLog(advisedKill, temperatureC)}, nil
}

func interpolateLog(table []holding, celsius float64) float64 {
	i := 1
	for celsius > table[i].celsius { // the last row is the hottest that is asked about
		i++
	}
	low, high := table[i-1], table[i]
	part := (celsius - low.celsius) / (high.celsius - low.celsius)
	return math.Exp(math.Log(low.minutes)*(1-part) + math.Log(high.minutes)*part)
}
