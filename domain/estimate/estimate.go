// Package estimate follows a quantity of the honey in a tank (moisture, HMF, diastase) as a mean with a
// variance that readings correct. It is the update of the Kalman filter of one variable
// (Kalman 1960, J. Basic Eng. 82, 35).
package estimate

import "math"

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

// Correct returns the estimate after a reading and the variance of its error: the scalar Kalman update.
// The estimate stays as it was where the reading is no finite number, or the variance is not finite and
// above zero.
func (e Estimate) Correct(reading, readingVariance float64) Estimate {
	switch {
	case !usable(reading, readingVariance):
		return e
	case !e.Known():
		return Estimate{Mean: reading, Variance: readingVariance}
	}
	gain := e.Variance / (e.Variance + readingVariance)
	// gain times readingVariance is (1-gain) times the variance before, without the loss of digits when
	// the gain is near one.
	return Estimate{Mean: e.Mean + gain*(reading-e.Mean), Variance: gain * readingVariance}
}

// usable reports whether a reading and the variance of its error say anything.
func usable(reading, variance float64) bool {
	return !math.IsNaN(reading) && !math.IsInf(reading, 0) && variance > 0 && !math.IsInf(variance, 0)
}
