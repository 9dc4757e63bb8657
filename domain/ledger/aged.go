package ledger

import (
	"math"
	"time"

	"pullbook/domain/estimate"
)

// aged is what is known of the HMF (mg/kg) or the diastase (Gothe) of some honey, which
// warmth changes.
type aged struct {
	// held is what is expected by all but the result that speaks against it, with the
	// variance that laboratories, and not knowing how the honey began, leave in it.
	// heldRate is the standard deviation beside that, of not knowing how fast this
	// honey goes.
	held     estimate.Estimate
	heldRate float64
	// rival and rivalRate are the same of the result that speaks against it; the
	// variance is 0 where none does.
	rival     estimate.Estimate
	rivalRate float64
	// measured is true where a laboratory measured all of it.
	measured bool
}

// unmeasured is of honey that no laboratory measured.
func unmeasured(e estimate.Estimate) aged { return aged{held: e} }

// How far kinetics may be off for one honey, as the standard deviation of the
// logarithm of a rate: the spread of published times (domain/heat/README.md).
const diastaseRateSD = 0.42

// hmfRateSD is that of the HMF that formed over a time, in microseconds: it is known less
// well in the cold of a store than in a warm tank (heat.Covered).
func hmfRateSD(formed float64, lasted int64) float64 {
	days := float64(lasted) / (24 * float64(time.Hour/time.Microsecond))
	return kinetics.HMF.LogSDAt(kinetics.HMF.TemperatureC(formed / days))
}

// contested is a with both causes in one variance: they have nothing to do with each
// other, so that they add up in squares.
func (a aged) contested() estimate.Contested {
	whole := func(e estimate.Estimate, rate float64) estimate.Estimate {
		return estimate.Estimate{Mean: e.Mean, Variance: e.Variance + rate*rate}
	}
	return estimate.Contested{Held: whole(a.held, a.heldRate), Rival: whole(a.rival, a.rivalRate)}
}

// disputed reports whether a result speaks against what is expected.
func (a aged) disputed() bool { return a.rival.Variance > 0 }

// forms is a once more HMF has formed, rateSD the standard deviation of the logarithm of
// its rate. A honey that goes quickly does so all the time, so that what is not known of
// its rate adds up as it is.
func (a aged) forms(mgPerKg, rateSD float64) aged {
	a.held.Mean, a.heldRate = a.held.Mean+mgPerKg, a.heldRate+rateSD*mgPerKg
	if a.disputed() {
		a.rival.Mean, a.rivalRate = a.rival.Mean+mgPerKg, a.rivalRate+rateSD*mgPerKg
	}
	return a
}

// loses is a after diastase was lost, log the natural logarithm of what there was over
// what is left.
func (a aged) loses(log float64) aged {
	left := math.Exp(-log)
	lose := func(e estimate.Estimate, rate float64) (estimate.Estimate, float64) {
		e.Mean, e.Variance = e.Mean*left, e.Variance*left*left
		return e, rate*left + diastaseRateSD*log*e.Mean
	}
	a.held, a.heldRate = lose(a.held, a.heldRate)
	a.rival, a.rivalRate = lose(a.rival, a.rivalRate)
	return a
}

// mixed is of honey of which the share wa is a and the rest is other. Each cause is
// common to both: one outfit's honeys begin alike, drums of one tank rest on one result,
// and one kind of honey goes at one rate. So each mixes by standard deviations, and no
// mixing makes it smaller.
func (a aged) mixed(wa float64, other aged) aged {
	out := aged{
		held: mixedAlike(wa, a.held, other.held), heldRate: wa*a.heldRate + (1-wa)*other.heldRate,
		measured: a.measured && other.measured,
	}
	if a.disputed() || other.disputed() {
		x, xRate := a.ifRight()
		y, yRate := other.ifRight()
		out.rival, out.rivalRate = mixedAlike(wa, x, y), wa*xRate+(1-wa)*yRate
	}
	return out
}

// ifRight is what would be so if the result that speaks against it is right.
func (a aged) ifRight() (estimate.Estimate, float64) {
	if a.disputed() {
		return a.rival, a.rivalRate
	}
	return a.held, a.heldRate
}

// take lets a laboratory's result correct what is known, variance that of its error and
// usual whether honeys have such a figure. Once a laboratory measured the honey, a result
// that does not fit moves nothing until the next one agrees with it. Before that there is
// only what honeys are in general, instead of which a usual result stands.
func (a aged) take(value, variance float64, usual bool) (aged, estimate.Verdict) {
	was := a.contested()
	next, verdict := was.Take(value, variance, Unfitting)
	first := verdict == estimate.Against && !a.measured && usual
	switch {
	case next == was: // a result that says nothing
		return a, verdict
	case first:
		return aged{held: estimate.Estimate{Mean: value, Variance: variance}, measured: true}, estimate.Fits
	case verdict == estimate.Against:
		a.rival, a.rivalRate = next.Rival, 0
		return a, verdict
	}
	from, fromRate, whole := a.held, a.heldRate, was.Held.Variance
	if verdict == estimate.Confirms {
		from, fromRate, whole = a.rival, a.rivalRate, was.Rival.Variance
	}
	gain := whole / (whole + variance)
	out := aged{heldRate: (1 - gain) * fromRate, measured: true}
	out.held = estimate.Estimate{Mean: next.Held.Mean, Variance: (1-gain)*(1-gain)*from.Variance + gain*gain*variance}
	return out, verdict
}
