package heat

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// LabResult is a laboratory's HMF of one honey.
type LabResult struct {
	At         time.Time
	HMFMgPerKg float64
	// SDMgPerKg is the standard uncertainty; 0 takes HMFLabSD.
	SDMgPerKg float64
}

// HMFLabSD returns the standard deviation between laboratories that Horwitz's
// formula expects, RSD % = 2^(1 - 0.5 log10 C) with C as a mass fraction
// (9.2 % at 40 mg/kg), not below 0.5 mg/kg because methods are poor near their
// limit of quantification of 0.7 to 0.8 mg/kg (J. Food Sci. 2012).
func HMFLabSD(hmfMgPerKg float64) float64 {
	if hmfMgPerKg <= 0 {
		return lowestLabSD
	}
	relative := math.Exp2(1-0.5*math.Log10(hmfMgPerKg*1e-6)) / 100
	return math.Max(hmfMgPerKg*relative, lowestLabSD)
}

const lowestLabSD = 0.5

// Narrowed is what laboratory results say about one honey: it forms HMF
// Factor times as fast as the middle honey.
type Narrowed struct {
	// MeanLog and SDLog describe the natural logarithm of the factor.
	MeanLog, SDLog float64
	Factor         Band
	// Kinetics is what to forecast this honey with from here on.
	Kinetics Kinetics
	Flags    []Flag
}

// Narrow learns a honey's own rate of HMF from two or more results in the
// order of time, with the history between them.
//
// The results are read as h0 + f D_i with errors of their stated size, D_i the
// exposure of the middle honey since the first result. Nothing is assumed of
// h0; ln f has the spread of honeys (Kinetics.HMF.LogSD) as its prior. The
// posterior of ln f is one-dimensional and integrated numerically, so a fall
// of HMF by chance is handled as well as a rise. Results with too little heat
// between them leave the prior and are flagged.
func (k Kinetics) Narrow(results []LabResult, h History) (Narrowed, error) {
	var whole History
	if len(results) > 1 && k.HMF.LogSD > 0 {
		var err error
		if whole, err = h.Between(results[0].At, results[len(results)-1].At); err != nil {
			return Narrowed{}, err
		}
	}
	n, err := k.narrow(results, func(from, to time.Time) (float64, error) {
		part, err := h.Between(from, to)
		return k.HMF.Exposure(part), err
	})
	n.Flags = append(whole.Flags(), n.Flags...)
	return n, err
}

// NarrowOver is Narrow for a place whose outlook is known; o is that of k.HMF.
func (k Kinetics) NarrowOver(results []LabResult, o *Outlook) (Narrowed, error) {
	return k.narrow(results, func(from, to time.Time) (float64, error) { return o.Exposure(Middling, from, to), nil })
}

// dose is the exposure of the middle honey from one instant to another.
type dose func(from, to time.Time) (float64, error)

func (k Kinetics) narrow(results []LabResult, between dose) (Narrowed, error) {
	if len(results) < 2 {
		return Narrowed{}, fmt.Errorf("one honey's rate takes at least two HMF results, here are %d", len(results))
	}
	if !(k.HMF.LogSD > 0) {
		return Narrowed{}, errors.New("the spread of the honey's rate is nothing: there is nothing left to learn")
	}
	line, err := labLineOf(results, between)
	if err != nil {
		return Narrowed{}, err
	}
	meanLog, sdLog := line.posterior(k.HMF.LogSD)
	n := Narrowed{MeanLog: meanLog, SDLog: sdLog, Kinetics: k}
	n.Kinetics.HMF.Arrhenius = k.HMF.scaled(math.Exp(meanLog))
	n.Kinetics.HMF.LogSD = sdLog
	n.Factor = Band{math.Exp(meanLog - bandZ*sdLog), math.Exp(meanLog), math.Exp(meanLog + bandZ*sdLog)}
	if sdLog > 0.9*k.HMF.LogSD {
		n.Flags = append(n.Flags, Flag{FlagNothingLearnt, "the heat between these results is too little for their uncertainty: they say next to nothing about this honey's rate"})
	}
	if math.Abs(meanLog) > 3*k.HMF.LogSD {
		n.Flags = append(n.Flags, Flag{FlagUnlikeHoney, fmt.Sprintf("the results ask for %.3g times the rate of the middle honey, which hardly any honey has: check that they are of the same honey and that the history is its own", math.Exp(meanLog))})
	}
	return n, nil
}

// labLine is what is left of the results once the unknown start is taken out:
// the misfit of a factor f is a - 2 b f + c f^2.
type labLine struct{ b, c float64 }

func labLineOf(results []LabResult, between dose) (labLine, error) {
	var weights, sumD, sumH, sumDD, sumDH float64
	dose := 0.0
	for i, r := range results {
		w, err := r.weight(i)
		if err != nil {
			return labLine{}, err
		}
		if i > 0 {
			if !r.At.After(results[i-1].At) {
				return labLine{}, fmt.Errorf("result %d (%s) is not later than result %d (%s): send them oldest first", i+1, stamp(r.At), i, stamp(results[i-1].At))
			}
			part, err := between(results[i-1].At, r.At)
			if err != nil {
				return labLine{}, err
			}
			dose += part
		}
		weights += w
		sumD, sumH = sumD+w*dose, sumH+w*r.HMFMgPerKg
		sumDD, sumDH = sumDD+w*dose*dose, sumDH+w*dose*r.HMFMgPerKg
	}
	return labLine{b: sumDH - sumD*sumH/weights, c: sumDD - sumD*sumD/weights}, nil
}

// weight is one over the variance of the result with an index.
func (r LabResult) weight(i int) (float64, error) {
	if err := checkRange("HMF", "mg/kg", r.HMFMgPerKg, 0, 20_000); err != nil {
		return 0, fmt.Errorf("result %d: %w", i+1, err)
	}
	if err := checkRange("uncertainty of HMF", "mg/kg", r.SDMgPerKg, 0, 20_000); err != nil {
		return 0, fmt.Errorf("result %d: %w", i+1, err)
	}
	sd := r.SDMgPerKg
	if sd == 0 {
		sd = HMFLabSD(r.HMFMgPerKg)
	}
	return 1 / (sd * sd), nil
}

// posterior returns the mean and standard deviation of u = ln f under a normal
// prior and the Gaussian misfit, by the trapezoidal rule over twelve prior
// standard deviations either way: the integrand vanishes at both ends, where
// that rule converges faster than any power of the step. It looks closer only
// when the results are so sharp that the steps are coarse beside them. The last point, where
// nothing is left, is not added.
func (l labLine) posterior(priorSD float64) (meanLog, sdLog float64) {
	from, to := -12*priorSD, 12*priorSD
	for range 4 {
		meanLog, sdLog = l.moments(priorSD, from, to)
		width := (to - from) / steps
		if sdLog >= 8*width {
			break
		}
		reach := 12 * math.Max(sdLog, 2*width)
		from, to = meanLog-reach, meanLog+reach
	}
	return meanLog, sdLog
}

const steps = 4000

func (l labLine) moments(priorSD, from, to float64) (meanLog, sdLog float64) {
	width := (to - from) / steps
	logDensity := func(i int) (u, density float64) {
		u = from + float64(i)*width
		f := math.Exp(u)
		return u, -u*u/(2*priorSD*priorSD) + l.b*f - l.c*f*f/2
	}
	highest := math.Inf(-1)
	for i := range steps {
		_, d := logDensity(i)
		highest = math.Max(highest, d)
	}
	var mass, first, second float64
	for i := range steps {
		u, d := logDensity(i)
		m := math.Exp(d - highest)
		mass, first, second = mass+m, first+m*u, second+m*u*u
	}
	meanLog = first / mass
	return meanLog, math.Sqrt(math.Max(second/mass-meanLog*meanLog, 0))
}
