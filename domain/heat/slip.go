package heat

import "math"

// slipMisfit is from how much misfit on, in squared standard deviations, one result does
// not go with the rest: three standard deviations, as of good results one in 370 does.
const slipMisfit = 3 * 3

// WithoutSlips returns the results that go together as one honey over the outlook of its
// place, o that of k.HMF: one that the others and the spread of honeys' rates do not
// explain within three standard deviations is left out, the worst first. Of two that do
// not go together nobody knows which one slipped, so one is left, from which no rate can
// be learnt. The results are in the order of time.
func (k Kinetics) WithoutSlips(results []LabResult, o *Outlook) ([]LabResult, error) {
	doses := make([]float64, len(results))
	for i := 1; i < len(results); i++ {
		doses[i] = doses[i-1] + o.Exposure(Middling, results[i-1].At, results[i].At)
	}
	for len(results) > 1 {
		whole, err := k.misfit(results, doses, -1)
		if err != nil {
			return nil, err
		}
		worst, least := -1, whole-slipMisfit
		for i := range results {
			if rest, _ := k.misfit(results, doses, i); rest < least {
				worst, least = i, rest
			}
		}
		if worst < 0 {
			break
		}
		results, doses = without(results, worst), without(doses, worst)
	}
	return results, nil
}

func without[T any](s []T, i int) []T { return append(append([]T(nil), s[:i]...), s[i+1:]...) }

// misfit is how badly results go together at the rate that suits them best, in squared
// standard deviations: those of the results, and of that rate among honeys'. The result
// left out, if any, does not count.
func (k Kinetics) misfit(results []LabResult, doses []float64, left int) (float64, error) {
	var weights, sumD, sumH, sumDD, sumDH, sumHH float64
	for i, r := range results {
		if i == left {
			continue
		}
		w, err := r.weight(i)
		if err != nil {
			return 0, err
		}
		h, d := r.HMFMgPerKg, doses[i]
		weights += w
		sumD, sumH = sumD+w*d, sumH+w*h
		sumDD, sumDH, sumHH = sumDD+w*d*d, sumDH+w*d*h, sumHH+w*h*h
	}
	line := labLine{b: sumDH - sumD*sumH/weights, c: sumDD - sumD*sumD/weights}
	return sumHH - sumH*sumH/weights + line.least(k.HMF.LogSD), nil
}

// least is the least of z² - 2 b f + c f², f = exp(z SD): z is by how many of honeys'
// standard deviations the logarithm of the rate is from their middle. It looks along the
// line and then closer at each dip, of which there may be one by the prior and one by the
// results.
func (l labLine) least(priorSD float64) float64 {
	at := func(z float64) float64 {
		f := math.Exp(z * priorSD)
		return z*z - 2*l.b*f + l.c*f*f
	}
	const step = 0.1
	least := at(0)
	for z := -12.0; z < 12; z += step {
		if min(at(z-step), at(z+step)) < at(z) {
			continue
		}
		from, to := z-step, z+step
		for range 60 {
			a, b := from+(to-from)/3, to-(to-from)/3
			if at(a) < at(b) {
				to = b
			} else {
				from = a
			}
		}
		least = min(least, at((from+to)/2))
	}
	return least
}
