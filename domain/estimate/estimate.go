// Package estimate follows a quantity of the honey in a tank (moisture, HMF, diastase) as a mean with a
// variance: mixing by mass, drifting with time, corrected by readings. It is the Kalman filter of one
// variable (Kalman 1960, J. Basic Eng. 82, 35).
package estimate

import (
	"fmt"
	"math"
)

// Estimate is what is believed of a quantity: the mean in the quantity's own unit and the variance in
// that unit squared. A variance of +Inf says that nothing is known; the mean then carries no meaning.
type Estimate struct {
	Mean, Variance float64
}

// Unknown is the estimate of a quantity that was never measured.
func Unknown() Estimate { return Estimate{Variance: math.Inf(1)} }

// Known is true when the estimate says anything at all.
func (e Estimate) Known() bool { return !math.IsInf(e.Variance, 1) }

// StandardDeviation is the square root of the variance, in the unit of the quantity.
func (e Estimate) StandardDeviation() float64 { return math.Sqrt(e.Variance) }

// Mix is the estimate after gramsA of honey with a and gramsB with b were mixed perfectly: the mean by
// mass, and the variance of that mean with the errors of a and b independent. Two parts of one earlier
// tank have the same error; mixed with one another their variance comes out too small.
//
// The quantity must mix in proportion to mass, as a content in percent or in mg/kg does.
// Masses are grams, neither below zero and not both zero.
func Mix(gramsA int64, a Estimate, gramsB int64, b Estimate) (Estimate, error) {
	switch {
	case gramsA < 0 || gramsB < 0:
		return Estimate{}, fmt.Errorf("mixing %d g with %d g: a mass cannot be below zero", gramsA, gramsB)
	case gramsA == 0 && gramsB == 0:
		return Estimate{}, fmt.Errorf("mixing nothing with nothing: one of the masses must be above zero")
	// Nothing of an unknown honey leaves the other as it was; zero times infinity would not.
	case gramsA == 0:
		return b, nil
	case gramsB == 0:
		return a, nil
	case !a.Known() || !b.Known():
		return Unknown(), nil
	}
	// Shares and not grams are multiplied, as the sum of two large masses may not fit an int64.
	whole := float64(gramsA) + float64(gramsB)
	shareA, shareB := float64(gramsA)/whole, float64(gramsB)/whole
	return Estimate{
		Mean:     shareA*a.Mean + shareB*b.Mean,
		Variance: shareA*shareA*a.Variance + shareB*shareB*b.Variance,
	}, nil
}

// Drift is the estimate after some time (zero or more, in any unit) during which the quantity changed at
// a rate of which mean and standard deviation are given in the quantity's unit per that unit of time.
//
// The rate is uncertain but constant, so that its standard deviation grows in proportion to time. One
// stretch of one rate must therefore be one call: cut in two, the halves would count as independent.
func (e Estimate) Drift(rateMean, rateStandardDeviation, time float64) Estimate {
	spread := rateStandardDeviation * time
	return Estimate{Mean: e.Mean + rateMean*time, Variance: e.Variance + spread*spread}
}

// Correction is what a reading does to an estimate.
type Correction struct {
	Posterior Estimate
	// Gain is the share of the reading in the posterior mean, between 0 and 1.
	Gain float64
	// Innovation is the reading less what was expected. InnovationVariance is its variance when nothing is
	// wrong, that of the estimate and that of the reading together.
	Innovation, InnovationVariance float64
	// Normalised is the innovation over its standard deviation: a standard normal value when nothing is
	// wrong. It is zero when nothing was known before.
	Normalised float64
}

// Correct is the scalar Kalman update of the estimate by a reading and the variance of its error, above
// zero and finite.
func (e Estimate) Correct(reading, readingVariance float64) (Correction, error) {
	switch {
	case math.IsNaN(reading) || math.IsInf(reading, 0):
		return Correction{}, fmt.Errorf("the reading is %v: give a number", reading)
	case !(readingVariance > 0) || math.IsInf(readingVariance, 0):
		return Correction{}, fmt.Errorf("the variance of the reading is %v: every reading has one, give a number above zero", readingVariance)
	case !e.Known():
		return Correction{
			Posterior:          Estimate{Mean: reading, Variance: readingVariance},
			Gain:               1,
			InnovationVariance: math.Inf(1),
		}, nil
	}
	innovation := reading - e.Mean
	variance := e.Variance + readingVariance
	gain := e.Variance / variance
	return Correction{
		// gain times readingVariance is (1-gain) times the variance before, without the loss of digits when
		// the gain is near one.
		Posterior:          Estimate{Mean: e.Mean + gain*innovation, Variance: gain * readingVariance},
		Gain:               gain,
		Innovation:         innovation,
		InnovationVariance: variance,
		Normalised:         innovation / math.Sqrt(variance),
	}, nil
}
