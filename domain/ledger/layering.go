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

// usualUnsampled is how far frames that were not sampled may be from those that were
// (common practice).
const usualUnsampled = 0.3 * 0.3

// layering is how unlike their holder samples are in this outfit, tanks and
// containers apart, and runs their samples. It begins at what is usual and is learned from how far
// readings turn out from what was expected, squared, less what the expectation and
// the instrument account for (covariance matching: Myers and Tapley 1976, IEEE
// Trans. Autom. Control 21, 520).
type layering struct{ tank, container, boxes, frames learned }

// learned is a running mean by weight: of the last few hundred readings where there are
// more.
type learned struct {
	usual, variance, weight float64
}

// A usual layering weighs as much as so many readings of honey that was known
// exactly, and none more than its part of so many.
const (
	usualWeighs = 2
	learnedFrom = 300
)

var newLayering = layering{tank: asUsual(usualLayering), container: asUsual(usualLayering), boxes: asUsual(usualDrying), frames: asUsual(usualUnsampled)}

func asUsual(variance float64) learned { return learned{usual: variance, variance: variance} }

// learns is what of the layering a lesson is about.
type learns int8

const (
	ofTanks learns = iota
	ofContainers
	ofBoxes
	ofFrames
)

// about is what of the layering samples of a holder, and of a run beside its boxes, tell of.
func about(holder *fact) learns {
	switch holder.Kind {
	case KindTank:
		return ofTanks
	case KindFill:
		return ofContainers
	}
	return ofBoxes
}

func (l *layering) in(of learns) *learned {
	switch of {
	case ofTanks:
		return &l.tank
	case ofContainers:
		return &l.container
	case ofBoxes:
		return &l.boxes
	}
	return &l.frames
}

// of is the variance of samples of a holder, and of a run beside its boxes.
func (l layering) of(holder *fact) float64 { return l.in(about(holder)).of() }

func (l *learned) of() float64 {
	if l.weight < learnedMany {
		return max(leastLayering, l.variance)
	}
	return max(leastLayering, l.usual*roundedToEighth(l.variance/l.usual))
}

// learnedMany is from how many readings on a variance is known well enough that its further
// digits say nothing: of a few hundred it is known no better than to a twelfth, the square
// root of two over their number. Without them a reading that comes late seldom changes what
// is expected of honey that it is not about.
const learnedMany = 30

// roundedToEighth keeps three bits of the mantissa.
func roundedToEighth(x float64) float64 {
	const dropped = 52 - 3
	return math.Float64frombits((math.Float64bits(x) + 1<<(dropped-1)) &^ (1<<dropped - 1))
}

// sameShown reports whether two say the same of samples.
func (l *layering) sameShown(o layering) bool {
	return *l == o || l.tank.of() == o.tank.of() && l.container.of() == o.container.of() && l.boxes.of() == o.boxes.of() && l.frames.of() == o.frames.of()
}

// lesson is by how much a reading was off, squared, of which beside is of something else
// and part of what is learned.
type lesson struct {
	of                    learns
	squared, beside, part float64
}

// learnt takes in by how much a reading was off, squared. beside is the variance
// that its expectation and its instrument account for, and sample that of the sample.
//
// A square of a normal deviate of variance v varies by 2v squared. So a reading tells of
// the sample's part by (sample / v) squared of what one tells where all of v is the
// sample's: beside a vague expectation next to nothing.
func (s *State) learnt(holder *fact, r *Reading, squared, beside, sample float64) {
	if of := about(holder); r.Point != PointMixed || of == ofBoxes {
		s.learn(lesson{of, squared, beside, sample})
	}
}

// learntFrames is learnt of the frames that were not sampled, of whose variance so much
// is in that of what was expected.
func (s *State) learntFrames(frames, squared, total float64) {
	if frames > 0 {
		s.learn(lesson{ofFrames, squared / frames, total/frames - s.layers.unsampled(), s.layers.unsampled()})
	}
}

func (l *layering) learn(x lesson) {
	of := l.in(x.of)
	tells := x.part / (x.beside + x.part)
	tells *= tells
	of.weight = min(of.weight+tells, learnedFrom)
	of.variance += (x.squared - x.beside - of.variance) * tells / (usualWeighs + of.weight)
}

// unsampled is the variance of frames that were not sampled.
func (l layering) unsampled() float64 { return l.frames.of() }

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
