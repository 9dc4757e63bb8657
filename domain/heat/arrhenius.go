package heat

import (
	"fmt"
	"math"

	"pullbook/domain/honey"
)

const (
	gasConstant  = 8.314462618 // J/(mol K), CODATA 2018, exact
	kelvinOfZero = 273.15
)

// Arrhenius is a rate that follows k(T) = k_ref exp(-Ea/R (1/T - 1/T_ref)),
// T in kelvin. The unit of the rate is per day: mg/kg per day for HMF, 1 per
// day for an enzyme. Make one with NewArrhenius.
type Arrhenius struct {
	logFactor float64 // ln of the rate at infinite temperature
	kelvin    float64 // Ea/R
}

// NewArrhenius makes a rate from its value at a reference temperature.
//
// ratePerDay and activationEnergyKJPerMol must be above zero (a reaction with
// an activation energy of nothing would run in the freezer as in the tank; up
// to 500 kJ/mol), refC from ColdestC to HottestC; anything else is an error.
func NewArrhenius(ratePerDay, refC, activationEnergyKJPerMol float64) (Arrhenius, error) {
	if err := checkTemperature("reference temperature", refC); err != nil {
		return Arrhenius{}, err
	}
	if !(activationEnergyKJPerMol > 0 && activationEnergyKJPerMol <= 500) {
		return Arrhenius{}, &honey.RangeError{Quantity: "activation energy", Unit: "kJ/mol", Got: activationEnergyKJPerMol, Min: 1, Max: 500,
			Hint: honey.Hint{Format: "published values for honey run from 83 to 173 kJ/mol"}}
	}
	if !(ratePerDay > 0) || math.IsInf(ratePerDay, 1) {
		return Arrhenius{}, fmt.Errorf("the rate at the reference temperature is %g per day: it must be above zero", ratePerDay)
	}
	kelvin := activationEnergyKJPerMol * 1000 / gasConstant
	return Arrhenius{logFactor: math.Log(ratePerDay) + kelvin/(refC+kelvinOfZero), kelvin: kelvin}, nil
}

// ActivationEnergyKJPerMol returns Ea.
func (a Arrhenius) ActivationEnergyKJPerMol() float64 { return a.kelvin * gasConstant / 1000 }

// PerDay returns the rate at a temperature. It costs one exponential and
// checks nothing: the temperature must be one that a History accepts.
func (a Arrhenius) PerDay(temperatureC float64) float64 {
	return math.Exp(a.logFactor - a.kelvin/(temperatureC+kelvinOfZero))
}

// TemperatureC returns the temperature at which the rate is ratePerDay, the
// inverse of PerDay.
func (a Arrhenius) TemperatureC(ratePerDay float64) float64 {
	return a.kelvin/(a.logFactor-math.Log(ratePerDay)) - kelvinOfZero
}

// scaled returns the rate times a factor.
func (a Arrhenius) scaled(factor float64) Arrhenius {
	a.logFactor += math.Log(factor)
	return a
}

// jet is a rate, its first two derivatives by temperature, and its relative
// slope Ea/(R T^2), steep.
type jet struct{ rate, slope, curve, steep float64 }

func (a Arrhenius) jet(temperatureC float64) jet {
	inverse := 1 / (temperatureC + kelvinOfZero)
	rate := math.Exp(a.logFactor - a.kelvin*inverse)
	steep := a.kelvin * inverse * inverse
	slope := rate * steep
	return jet{rate, slope, slope * (steep - 2*inverse), steep}
}

// mean returns the mean rate while the temperature goes straight from where p
// was taken to where q was taken, step kelvin higher: the integral of the
// quintic that shares rate, slope and curvature with the true rate at both
// ends. Its relative error is about x^6/100800 with x = Ea/(R T^2) * step.
func mean(p, q jet, step float64) float64 {
	return (p.rate+q.rate)/2 + step/10*(p.slope-q.slope) + step*step/120*(p.curve+q.curve)
}

// largestSpan bounds x above, so that the relative error of a piece stays
// near 1e-8. A 10-minute logger step is far below it; only long straight
// lines are cut.
const largestSpan = 0.3

// Exposure integrates the rate over a history: mg/kg of HMF formed, or for an
// enzyme the natural logarithm of what was there over what is left. It costs
// one exponential for each point and allocates nothing.
func (a Arrhenius) Exposure(h History) float64 {
	if len(h.seconds) == 0 {
		return 0
	}
	seconds, celsius := h.seconds, h.celsius[:len(h.seconds)]
	sum := 0.0
	p := a.jet(celsius[0])
	for i := 1; i < len(seconds); i++ {
		step, lasts := celsius[i]-celsius[i-1], seconds[i]-seconds[i-1]
		if step == 0 {
			sum += p.rate * lasts
			continue
		}
		q := a.jet(celsius[i])
		if span := math.Abs(step) * max(p.steep, q.steep); span <= largestSpan {
			sum += mean(p, q, step) * lasts
		} else {
			sum += a.meanInPieces(p, celsius[i-1], step, int(math.Ceil(span/largestSpan))) * lasts
		}
		p = q
	}
	return sum / 86400
}

func (a Arrhenius) meanInPieces(p jet, fromC, step float64, pieces int) float64 {
	sum, part := 0.0, step/float64(pieces)
	for i := 1; i <= pieces; i++ {
		q := a.jet(fromC + part*float64(i))
		sum += mean(p, q, part)
		p = q
	}
	return sum / float64(pieces)
}

// EquivalentHours returns how long honey would have to stay at refC for the
// same effect as the history. A factor of the honey cancels out.
func (a Arrhenius) EquivalentHours(h History, refC float64) (float64, error) {
	if err := checkTemperature("reference temperature", refC); err != nil {
		return 0, err
	}
	return a.Exposure(h) / a.PerDay(refC) * 24, nil
}
