package estimate

import "math"

// Contested is an estimate with the one reading that speaks against it, if one does. Of the two one is
// wrong: the reading (a slip, another tank), or what was held (honey that nobody wrote down). One reading
// does not decide that, so it moves nothing; the next one does.
type Contested struct {
	// Held is what all other readings come to.
	Held Estimate
	// Rival is the reading that speaks against it, by itself. Its variance is 0 where none does.
	Rival Estimate
}

// Uncontested is an estimate that no reading speaks against.
func Uncontested(e Estimate) Contested { return Contested{Held: e} }

// Disputed reports whether a reading speaks against what is held.
func (c Contested) Disputed() bool { return c.Rival.Variance > 0 }

// Estimate is what to expect: what is held, made as uncertain as half of what a rival is away.
func (c Contested) Estimate() Estimate {
	if !c.Disputed() {
		return c.Held
	}
	half := (c.Rival.Mean - c.Held.Mean) / 2
	return Estimate{Mean: c.Held.Mean, Variance: max(c.Held.Variance, half*half)}
}

// Verdict says what a reading turned out to be beside a contested estimate.
type Verdict int

const (
	// Fits says that the reading fits what is held, and corrected it.
	Fits Verdict = iota
	// Confirms says that it fits the rival: two readings agree against what was held, which they replace.
	Confirms
	// Against says that it fits neither: it is the rival now, and nothing moved.
	Against
)

// Take returns the estimate after a reading and the variance of its error. A reading fits where it is not
// more than limit standard deviations away. Where one reading spoke against the estimate before, the next
// one goes to whichever of the two makes it likelier, as normal densities. A
// reading that is no finite number, or whose variance is not finite and above zero, changes nothing.
func (c Contested) Take(reading, readingVariance, limit float64) (Contested, Verdict) {
	switch {
	case !usable(reading, readingVariance):
		return c, Fits
	case !c.Held.Known():
		return Uncontested(c.Held.Correct(reading, readingVariance)), Fits
	}
	away := func(e Estimate) float64 { return math.Abs(reading-e.Mean) / math.Sqrt(e.Variance+readingVariance) }
	unlikely := func(e Estimate) float64 { return math.Log(e.Variance+readingVariance) + away(e)*away(e) }
	switch {
	case c.Disputed() && away(c.Rival) <= limit && unlikely(c.Rival) < unlikely(c.Held):
		return Uncontested(c.Rival.Correct(reading, readingVariance)), Confirms
	case away(c.Held) <= limit:
		return Uncontested(c.Held.Correct(reading, readingVariance)), Fits
	}
	return Contested{Held: c.Held, Rival: Estimate{Mean: reading, Variance: readingVariance}}, Against
}
