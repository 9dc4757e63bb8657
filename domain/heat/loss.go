package heat

import (
	"errors"
	"fmt"
	"math"
)

// surfaceResistance is that of still indoor air beside a wall, in m2 K/W
// (ISO 6946, horizontal heat flow).
const surfaceResistance = 0.13

// LossOfSurface returns the loss coefficient of a tank in W/K from its outer
// surface and insulation: U = 1/(0.13 + d/lambda), the resistances of the steel
// and of the honey film inside being small beside these.
//
// areaM2 above 0 to 1000, insulationMM 0 to 500, conductivityWPerMK 0.01 to 1
// (mineral wool and foam 0.03 to 0.04); it does not count without insulation.
func LossOfSurface(areaM2, insulationMM, conductivityWPerMK float64) (float64, error) {
	if err := checkRange("surface of the tank", "m2", areaM2, 0.01, 1000); err != nil {
		return 0, err
	}
	if err := checkRange("insulation", "mm", insulationMM, 0, 500); err != nil {
		return 0, err
	}
	resistance := surfaceResistance
	if insulationMM > 0 {
		if err := checkRange("conductivity of the insulation", "W/(m K)", conductivityWPerMK, 0.01, 1); err != nil {
			return 0, err
		}
		resistance += insulationMM / 1000 / conductivityWPerMK
	}
	return areaM2 / resistance, nil
}

// LossFit is a loss coefficient read off a temperature log.
type LossFit struct {
	LossWPerK, SDWPerK float64
	// RMSKelvin is how far the log strays from the fitted balance.
	RMSKelvin float64
}

// FitLoss fits the loss coefficient of a tank to its own log, under a constant
// heater power (0 while it cools) and constant surroundings, by least squares
// on the heat balance: what the heater gave less what the honey took up is the
// loss coefficient times the kelvin-hours above the surroundings. The balance
// needs no derivative of a noisy log.
//
// The log must last an hour or more and stand on average 2 K or more from
// ambientC; the fit must come out above zero.
func FitLoss(tank Tank, log History, heaterW, ambientC float64) (LossFit, error) {
	if err := tank.check(); err != nil {
		return LossFit{}, err
	}
	if err := checkRange("heater power", "W", heaterW, 0, 200_000); err != nil {
		return LossFit{}, err
	}
	if err := checkRange("temperature around the tank", "C", ambientC, ColdestC, 60); err != nil {
		return LossFit{}, err
	}
	if len(log.seconds) < 3 || log.Hours() < 1 {
		return LossFit{}, errors.New("the log is too short to show losses: at least three readings over an hour")
	}
	capacity, err := tank.capacity(log.celsius[0], Stage{AmbientC: log.celsius[len(log.celsius)-1]})
	if err != nil {
		return LossFit{}, err
	}
	return fitBalance(log, capacity, heaterW, ambientC)
}

// fitBalance regresses y = heat given less heat taken up, in watt-hours, on
// x = kelvin-hours above the surroundings. The intercept takes up the error of
// the first reading.
func fitBalance(log History, capacity, heaterW, ambientC float64) (LossFit, error) {
	n := len(log.seconds)
	x, y := make([]float64, n), make([]float64, n)
	for i := 1; i < n; i++ {
		hours := (log.seconds[i] - log.seconds[i-1]) / 3600
		x[i] = x[i-1] + hours*((log.celsius[i]+log.celsius[i-1])/2-ambientC)
		y[i] = heaterW*log.seconds[i]/3600 - capacity*(log.celsius[i]-log.celsius[0])
	}
	if math.Abs(x[n-1]) < 2*log.Hours() {
		return LossFit{}, fmt.Errorf("the tank is on average %.2g K from its surroundings: at least 2 K are needed to see a loss", math.Abs(x[n-1])/log.Hours())
	}
	meanX, meanY := average(x), average(y)
	var xx, xy float64
	for i := range x {
		offX, offY := x[i]-meanX, y[i]-meanY
		xx += offX * offX
		xy += offX * offY
	}
	loss := xy / xx
	squares := 0.0
	for i := range x {
		r := y[i] - meanY - loss*(x[i]-meanX)
		squares += r * r
	}
	if !(loss > 0) {
		return LossFit{}, fmt.Errorf("the log gives a loss of %.3g W/K, which cannot be: check mass, heater power and the temperature around the tank", loss)
	}
	return LossFit{
		LossWPerK: loss,
		SDWPerK:   math.Sqrt(squares / float64(n-2) / xx),
		RMSKelvin: math.Sqrt(squares/float64(n)) / capacity,
	}, nil
}

func average(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}
