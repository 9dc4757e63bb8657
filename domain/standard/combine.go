package standard

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Estimate is the value of one parameter of a lot, combined from its readings.
//
// Readings of containers follow a one-way random-effects model: a container's
// true value departs from the lot's mean (BetweenSD), readings of one container
// scatter (WithinSD), and every reading by one instrument shares that
// instrument's error (InstrumentU), which no number of readings averages away.
// The variance components are those of the analysis of variance for unequal
// numbers of readings (Searle, Casella & McCulloch, Variance Components, 1992,
// section 3.6; from memory).
type Estimate struct {
	// Low and High are the lot's mean; they differ only when results were
	// reported as "less than".
	Low, High Decimal
	ends
	age *age // of the oldest result that was carried to the day
	// StdUncertainty of the mean; known when every reading states one.
	StdUncertainty   float64
	UncertaintyKnown bool

	BetweenSD   float64 // between containers, 0 with one container
	WithinSD    float64 // between readings of one container, 0 without repeats
	InstrumentU float64 // of the mean, from the instruments alone

	Composite  bool // from samples of the lot as a whole
	Readings   int
	Containers int // containers that were measured or went into the sample
	Measured   []ContainerValue
	// HighestUnmeasured is the value to expect of the highest of the containers
	// that were not measured, from BetweenSD; known when there are such
	// containers and at least two were measured.
	HighestUnmeasured      float64
	HighestUnmeasuredKnown bool

	lowest, highest int // places in Measured
}

// ContainerValue is the mean of the readings of one container.
type ContainerValue struct {
	ContainerID string
	Low, High   Decimal
	ends
	age              *age
	StdUncertainty   float64 // scatter of its readings and the instruments' error
	UncertaintyKnown bool
	Readings         int
}

// ends says of which ends of an interval the true value never is: not of the upper
// one of a "less than", nor of the lower one of what makes 100 with it.
type ends struct{ openLow, openHigh bool }

// with are the ends of a sum: what one part never comes to, the sum does not.
func (e ends) with(o ends) ends { return ends{e.openLow || o.openLow, e.openHigh || o.openHigh} }

func (e ends) atHigh() (o open) {
	if e.openHigh {
		o = openBelow
	}
	return o
}

func (e ends) atLow() (o open) {
	if e.openLow {
		o = openAbove
	}
	return o
}

// of is the estimate with those of its containers only that count one by one.
func (e *Estimate) of(counts func(containerID string) bool) *Estimate {
	if !slices.ContainsFunc(e.Measured, func(m ContainerValue) bool { return !counts(m.ContainerID) }) {
		return e
	}
	part := *e
	part.Measured = nil
	for _, m := range e.Measured {
		if counts(m.ContainerID) {
			part.note(m)
		}
	}
	return &part
}

// combine makes at most two estimates: from the containers measured one by one,
// and from samples of the lot as a whole. They are kept apart since a composite
// sample hides the spread between containers.
func combine(readings []reading, lotSize int) []Estimate {
	var byContainer, composite []reading
	for _, r := range readings {
		if r.containerID == "" {
			composite = append(composite, r)
		} else {
			byContainer = append(byContainer, r)
		}
	}
	var estimates []Estimate
	if len(byContainer) > 0 {
		estimates = append(estimates, estimateContainers(byContainer, lotSize))
	}
	if len(composite) > 0 {
		estimates = append(estimates, estimateComposite(composite))
	}
	return estimates
}

// estimateContainers combines readings of single containers. lotSize 0 means the
// number of containers in the lot is not known.
func estimateContainers(readings []reading, lotSize int) Estimate {
	groups := groupByContainer(readings)
	between, within := varianceComponents(groups)
	e := Estimate{BetweenSD: math.Sqrt(between), WithinSD: math.Sqrt(within), Readings: len(readings), Containers: len(groups), UncertaintyKnown: true}
	shares := instrumentShares{}
	sampling := 0.0
	for _, group := range groups {
		c := containerValue(group, within)
		e.add(c)
		shares.add(group, 1/float64(len(groups)*len(group)))
		sampling += within / float64(len(group))
	}
	a := float64(len(groups))
	count := decimalFromInt(len(groups))
	e.Low, e.High, e.age = e.Low.over(count), e.High.over(count), e.age.shared(count)
	e.InstrumentU = shares.uncertainty()
	// Once every container is measured, their spread no longer makes the lot's
	// mean uncertain: the finite population correction.
	unmeasured := 1.0
	if lotSize > 0 {
		unmeasured = math.Max(0, 1-a/float64(lotSize))
	}
	e.StdUncertainty = math.Sqrt(between/a*unmeasured + sampling/(a*a) + e.InstrumentU*e.InstrumentU)
	e.expectUnmeasured(lotSize)
	return e
}

// note notes one container's value, and whether it is the lowest or the highest.
func (e *Estimate) note(c ContainerValue) {
	e.Measured = append(e.Measured, c)
	last := len(e.Measured) - 1
	if last == 0 || c.Low.Cmp(e.Measured[e.lowest].Low) < 0 {
		e.lowest = last
	}
	if last == 0 || c.High.Cmp(e.Measured[e.highest].High) > 0 {
		e.highest = last
	}
}

// add notes one container's value; its share of the mean is taken afterwards.
func (e *Estimate) add(c ContainerValue) {
	e.note(c)
	e.Low, e.High = e.Low.Add(c.Low), e.High.Add(c.High)
	e.ends, e.age = e.with(c.ends), e.age.with(c.age)
	e.UncertaintyKnown = e.UncertaintyKnown && c.UncertaintyKnown
}

// expectUnmeasured places the highest of m unmeasured containers at the median
// rank score of the largest of m normal values (Blom 1958; from memory).
func (e *Estimate) expectUnmeasured(lotSize int) {
	m := float64(lotSize - e.Containers)
	if m < 1 || e.Containers < 2 {
		return
	}
	score := distuv.UnitNormal.Quantile((m - 0.375) / (m + 0.25))
	e.HighestUnmeasured, e.HighestUnmeasuredKnown = e.High.Float64()+score*e.BetweenSD, true
}

// estimateComposite combines repeated readings of samples of the whole lot.
func estimateComposite(readings []reading) Estimate {
	c := containerValue(readings, scatter(readings))
	e := Estimate{Low: c.Low, High: c.High, ends: c.ends, age: c.age, StdUncertainty: c.StdUncertainty, UncertaintyKnown: c.UncertaintyKnown,
		WithinSD: math.Sqrt(scatter(readings)), Composite: true, Readings: len(readings)}
	shares := instrumentShares{}
	shares.add(readings, 1/float64(len(readings)))
	e.InstrumentU = shares.uncertainty()
	for _, r := range readings {
		e.Containers = max(e.Containers, r.compositeOf)
	}
	return e
}

func groupByContainer(readings []reading) [][]reading {
	var groups [][]reading
	place := map[string]int{}
	for _, r := range readings {
		i, ok := place[r.containerID]
		if !ok {
			i = len(groups)
			place[r.containerID] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], r)
	}
	return groups
}

// containerValue averages readings of one container whose scatter has the
// variance within.
func containerValue(group []reading, within float64) ContainerValue {
	c := ContainerValue{ContainerID: group[0].containerID, Readings: len(group), UncertaintyKnown: true}
	for _, r := range group {
		c.Low, c.High = c.Low.Add(r.low), c.High.Add(r.high)
		c.ends, c.age = c.with(r.ends), c.age.with(r.age)
		c.UncertaintyKnown = c.UncertaintyKnown && r.uKnown
	}
	n := decimalFromInt(len(group))
	c.Low, c.High, c.age = c.Low.over(n), c.High.over(n), c.age.shared(n)
	shares := instrumentShares{}
	shares.add(group, 1/float64(len(group)))
	c.StdUncertainty = math.Hypot(shares.uncertainty(), math.Sqrt(within/float64(len(group))))
	return c
}

// varianceComponents gives the variance between containers and within a
// container. With one reading a container the two cannot be told apart and all
// scatter counts as between, which overstates it by the repeatability.
func varianceComponents(groups [][]reading) (between, within float64) {
	n, squares, residual := 0.0, 0.0, 0.0
	var means, weights []float64
	for _, group := range groups {
		size := float64(len(group))
		n, squares = n+size, squares+size*size
		residual += scatter(group) * (size - 1)
		means, weights = append(means, meanOf(group)), append(weights, size)
	}
	a := float64(len(groups))
	if n > a {
		within = residual / (n - a)
	}
	if a < 2 {
		return 0, within
	}
	grand := stat.Mean(means, weights)
	meanSquare := 0.0
	for i, mean := range means {
		meanSquare += weights[i] * (mean - grand) * (mean - grand)
	}
	meanSquare /= a - 1
	return math.Max(0, (meanSquare-within)/((n-squares/n)/(a-1))), within
}

// scatter is the variance of readings about their own mean; 0 for one reading.
func scatter(group []reading) float64 {
	if len(group) < 2 {
		return 0
	}
	values := make([]float64, len(group))
	for i, r := range group {
		values[i] = r.high.Float64()
	}
	return stat.Variance(values, nil)
}

func meanOf(group []reading) float64 {
	sum := 0.0
	for _, r := range group {
		sum += r.high.Float64()
	}
	return sum / float64(len(group))
}

// instrumentShares adds up how much of a mean rests on each instrument. Readings
// that name no instrument are taken to come from the same one, so that their
// error is not averaged away by mistake.
type instrumentShares map[string]struct{ weight, u float64 }

func (s instrumentShares) add(readings []reading, weight float64) {
	for _, r := range readings {
		share := s[r.instrumentID]
		share.weight += weight
		share.u = math.Max(share.u, r.u)
		s[r.instrumentID] = share
	}
}

func (s instrumentShares) uncertainty() float64 {
	sum := 0.0
	for _, share := range s {
		sum += share.weight * share.weight * share.u * share.u
	}
	return math.Sqrt(sum)
}
