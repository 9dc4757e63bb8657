package ledger

import "math"

// How far one sample may be from the mean of what it was drawn from, as a
// variance in points of moisture squared: a spread of 0.5 to 1.5 from top to
// bottom is ordinary in an unmixed tank, and frames of one yard differ as much
// (common practice). No honey is mixed better than to a tenth of a point.
const (
	usualLayering = 0.35 * 0.35
	leastLayering = 0.10 * 0.10
)

// usualDrying is how far a run's honey may be from what was read on its boxes
// as they came in: frames that were not sampled, and some days of a hot room at
// 0.1 to 0.3 points a day (common practice).
const usualDrying = 0.45 * 0.45

// layering is how unlike their holder samples are in this outfit, tanks and
// containers apart. It begins at what is usual and is learned from how far
// readings turn out from what was expected, less what the expectation and the
// instrument account for (covariance matching: Myers and Tapley 1976, IEEE
// Trans. Autom. Control 21, 520).
type layering struct{ tank, container, boxes learned }

// learned is a running mean: of the last few hundred where there are more.
type learned struct {
	variance float64
	n        int32
}

// A usual layering weighs as much as so many readings, and none more than its
// part of so many.
const (
	usualWeighs = 20
	learnedFrom = 300
)

var newLayering = layering{learned{variance: usualLayering}, learned{variance: usualLayering}, learned{variance: usualDrying}}

func (l *layering) in(holder *fact) *learned {
	switch holder.Kind {
	case KindTank:
		return &l.tank
	case KindFill:
		return &l.container
	}
	return &l.boxes
}

// of is the variance of samples of a holder.
func (l layering) of(holder *fact) float64 { return max(leastLayering, l.in(holder).variance) }

// learnt takes in by how much more a reading was off, squared, than its
// instrument and the expectation account for.
func (l layering) learnt(holder *fact, r *Reading, excess float64) layering {
	of := l.in(holder)
	if r.Point == PointMixed && of != &l.boxes {
		return l
	}
	if of.n < learnedFrom {
		of.n++
	}
	of.variance += (excess - of.variance) / float64(usualWeighs+of.n)
	return l
}

// sampleVariance is the sample's part in how far a reading may be off. A mixed
// sample is nearer the mean.
func sampleVariance(r *Reading, layers float64) float64 {
	if r.Point == PointMixed {
		return layers / 4
	}
	return layers
}

// SampleSD is how far one sample may be from the mean of the honey that a tank
// holds, as a standard deviation in points of moisture; 0 for what is no tank.
func (s *State) SampleSD(tank ID) float64 {
	root := s.book.at(tank)
	if root == nil || root.Kind != KindTank {
		return 0
	}
	return math.Sqrt(s.layers.of(root))
}
