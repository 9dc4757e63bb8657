package standard

import (
	"fmt"
	"slices"
	"strconv"
	"sync"
	"time"
)

// StageInProcess marks a result taken before processing or blending was over. It
// is not a result of the lot as offered, so it never decides a limit.
const StageInProcess = "in_process"

// Result is one measurement or observation on a lot, as reported.
type Result struct {
	Parameter string
	// Own says that Parameter is one that a rule set of the outfit names itself, and Label
	// what people call it there.
	Own   bool
	Label string
	Value string // decimal text as reported, or the word of an observation
	Unit  string
	// LessThan marks a result reported only as "less than Value".
	LessThan bool
	// StdUncertainty is the standard uncertainty (k = 1) of the instrument or
	// method, in Unit, as decimal text; empty when it is not stated.
	StdUncertainty string
	Method         string
	// ContainerID is empty for a sample of the lot as a whole, in which
	// CompositeOf containers went (0 when not known).
	ContainerID  string
	CompositeOf  int
	InstrumentID string
	Stage        string // "" for the lot as offered, or StageInProcess
	At           time.Time
	// On is the day of At where the lot is; empty where nobody asks how old it is.
	On Date
	// OnDay is where the figure is to be expected on the day that is asked about, since
	// time changed it; nil where it is as it was measured.
	OnDay *OnDay
}

// OnDay is where a figure measured earlier is to be expected on the day asked about, as
// decimal text in the unit of the result. Low and High are the slowest and the fastest
// honey in twenty; Assumed says that nobody wrote how warm it stood meanwhile.
type OnDay struct {
	Low, High string
	Assumed   bool
}

// Lot is all that a check rests on.
type Lot struct {
	Code       string
	Containers []string // every container of the lot; empty when not known
	// Only are the containers that are judged one by one, where it is about a part of the
	// lot; empty is all.
	Only []string
	// Since says when the honey in a container last came into it, where that is known:
	// what was measured before does not speak for it.
	Since map[string]time.Time
	// Expected are figures that somebody expects of containers, from what is known of where
	// their honey came from. They decide nothing, but where one is outside a limit, the mean
	// of the lot does not speak for its container.
	Expected    []Expected
	Declaration Declaration
	Results     []Result
}

// Expected is where a container's figure is to be expected, in the first unit of its
// parameter: 95 of 100 lie between Low and High.
type Expected struct {
	Parameter, ContainerID string
	Low, High              float64
}

// Evidence is a lot whose results have been checked and combined, ready to be
// held against any number of rule sets. It is read-only and safe for use by many
// goroutines.
type Evidence struct {
	lot        Lot
	facts      facts
	parameters map[string]*measured
}

// measured is everything known of one parameter of a lot.
type measured struct {
	parameter *Parameter
	readings  []reading
	seen      []observation
	inProcess bool      // there were results, but some were taken too early to count
	latest    time.Time // when the last of them was so

	// estimates combine the readings of a measured parameter, by containers and by composite
	// sample, in a lot of so many containers; they are worked out once somebody asks, since a
	// rule set asks for few parameters.
	estimates func() []Estimate
}

// reading is one result in the first unit of its parameter. A "less than" result
// is an interval from the parameter's minimum to the reported figure.
type reading struct {
	low, high Decimal
	ends
	age          *age // of a result carried to the day
	on           Date
	u            float64
	uKnown       bool
	containerID  string
	compositeOf  int
	instrumentID string
}

// observation is what was last seen of a container, or of the lot as a whole.
type observation struct {
	containerID, word string
	at                time.Time
}

// NewEvidence checks the declarations and results of a lot and combines them.
// Everything wrong is reported at once as FieldErrors.
func NewEvidence(lot Lot) (*Evidence, error) {
	var p problems
	e := &Evidence{lot: lot, facts: lot.Declaration.facts(&p), parameters: map[string]*measured{}}
	for i := range lot.Results {
		e.addResult("results/"+strconv.Itoa(i), &lot.Results[i], &p)
	}
	if len(p) > 0 {
		return nil, p.err()
	}
	e.deriveComplements()
	for _, m := range e.parameters {
		m.estimates = sync.OnceValue(func() []Estimate { return combine(m.readings, len(lot.Containers)) })
	}
	return e, nil
}

// Estimates gives the combined values of one parameter in its first unit: one
// from the containers measured, one from composite samples, as far as there are.
func (e *Evidence) Estimates(parameter string) []Estimate {
	if m := e.parameters[parameter]; m != nil {
		return slices.Clone(m.estimates())
	}
	return nil
}

func (e *Evidence) addResult(field string, r *Result, p *problems) {
	parameter, ok := parameterByID[r.Parameter]
	if r.Own {
		parameter, ok = r.reported(), true
	}
	if !ok {
		p.add(field+"/parameter", r.Parameter, "no such parameter; one of %s", quotedList(sortedKeys(parameterByID)))
		return
	}
	if r.ContainerID != "" && len(e.lot.Containers) > 0 && !slices.Contains(e.lot.Containers, r.ContainerID) {
		p.add(field+"/container", r.ContainerID, "it is not a container of this lot")
	}
	if r.ContainerID != "" && r.At.Before(e.lot.Since[r.ContainerID]) {
		return // of honey that other honey came to since
	}
	m := e.parameters[parameter.key()]
	if m == nil {
		m = &measured{parameter: parameter}
		e.parameters[parameter.key()] = m
	}
	switch r.Stage {
	case "", StageInProcess:
	default:
		p.add(field+"/stage", r.Stage, "leave it empty for the lot as offered, or say %s", StageInProcess)
	}
	if len(parameter.Units) == 0 {
		m.addObservation(field, r, p)
		return
	}
	reading, ok := r.read(field, parameter, p)
	if !ok {
		return
	}
	if r.Stage == StageInProcess {
		m.inProcess = true
		return
	}
	m.readings = append(m.readings, reading)
	m.dated(r.At)
}

// dated notes when a result was so that counts.
func (m *measured) dated(at time.Time) {
	if at.After(m.latest) {
		m.latest = at
	}
}

// expectedOutside are the containers that count, and that nobody measured one by one, whose
// figure is expected wholly outside a limit.
func (l *Lot) expectedOutside(m *measured, limit *Limit) []string {
	var out []string
	for _, x := range l.Expected {
		own := func(r reading) bool { return r.containerID == x.ContainerID }
		if x.Parameter != m.parameter.ID || !l.counts(x.ContainerID) || slices.ContainsFunc(m.readings, own) {
			continue
		}
		v := limit.convert(decimalFromFloat(x.Low), decimalFromFloat(x.High), ends{}, nil, 0, false)
		if !limit.contains(v, nil) && !slices.Contains(out, x.ContainerID) {
			out = append(out, x.ContainerID)
		}
	}
	return out
}

// filledSince are the containers that count whose honey came into them after the last
// sample was taken of a parameter: no sample can have had any of it.
func (l *Lot) filledSince(m *measured) []string {
	var out []string
	for _, c := range l.Containers {
		if l.counts(c) && l.Since[c].After(m.latest) {
			out = append(out, c)
		}
	}
	return out
}

func (m *measured) addObservation(field string, r *Result, p *problems) {
	if !m.parameter.own && !slices.Contains(m.parameter.Words, r.Value) {
		p.add(field+"/value", r.Value, "%s is one of %s", m.parameter.said(), quotedList(m.parameter.Words))
		return
	}
	if r.Stage == StageInProcess {
		m.inProcess = true
		return
	}
	m.see(observation{r.ContainerID, r.Value, r.At})
	m.dated(r.At)
}

// see keeps the latest look at each container: a drum that foamed and was looked at
// again is as it was seen last. Of looks at one instant each counts.
func (m *measured) see(o observation) {
	later := func(old observation) bool { return old.containerID == o.containerID && old.at.After(o.at) }
	if slices.ContainsFunc(m.seen, later) {
		return
	}
	m.seen = append(slices.DeleteFunc(m.seen, func(old observation) bool {
		return old.containerID == o.containerID && old.at.Before(o.at)
	}), o)
}

func (r *Result) read(field string, parameter *Parameter, p *problems) (reading, bool) {
	before := len(*p)
	unit, ok := parameter.unit(r.Unit)
	if !ok {
		p.add(field+"/unit", r.Unit, "%s", parameter.unitAdvice(r.Unit))
	}
	if parameter.MethodRequired && r.Method == "" {
		p.add(field+"/method", "", "%s differs by method, so a figure without its method cannot be judged", parameter.said())
	}
	value, err := ParseDecimal(r.Value)
	if err != nil {
		p.add(field+"/value", r.Value, "a plain decimal number such as 17.8; put \"less than\" in its own field")
	}
	if len(*p) > before {
		return reading{}, false
	}
	value = value.Mul(unit.Factor)
	read := reading{low: value, high: value, on: r.On, containerID: r.ContainerID, compositeOf: r.CompositeOf, instrumentID: r.InstrumentID}
	read.openHigh = r.LessThan
	read.checkPossible(field, r, parameter, unit, p)
	read.readUncertainty(field, r, unit, p)
	read.carry(field, r, unit, p)
	return read, len(*p) == before
}

func (read *reading) checkPossible(field string, r *Result, parameter *Parameter, unit Unit, p *problems) {
	if low := parameter.Minimum; low != nil {
		if read.low.Cmp(*low) < 0 {
			p.add(field+"/value", r.Value, "%s cannot be below %s", parameter.said(), inUnit(*low, unit).Said())
		}
		if r.LessThan {
			read.low = *low
		}
		if r.LessThan && read.high.Cmp(*low) == 0 {
			p.add(field+"/value", r.Value, "%s is never less than %s", parameter.said(), inUnit(*low, unit).Said())
		}
	}
	if high := parameter.Maximum; high != nil && read.high.Cmp(*high) > 0 {
		p.add(field+"/value", r.Value, "%s cannot be above %s", parameter.said(), inUnit(*high, unit).Said())
	}
	if r.CompositeOf < 0 {
		p.add(field+"/composite_of", fmt.Sprint(r.CompositeOf), "the number of containers that went into the sample, 0 when not known")
	}
}

func (read *reading) readUncertainty(field string, r *Result, unit Unit, p *problems) {
	if r.StdUncertainty == "" {
		return
	}
	u, err := ParseDecimal(r.StdUncertainty)
	if err != nil || u.Cmp(Decimal{}) < 0 {
		p.add(field+"/std_uncertainty", r.StdUncertainty, "a standard uncertainty (k = 1) in the unit of the value, 0 or more")
		return
	}
	read.u, read.uKnown = u.Mul(unit.Factor).Float64(), true
}

// deriveComplements fills in soluble solids from moisture or the other way
// round, where only one of the two was measured.
func (e *Evidence) deriveComplements() {
	hundred := MustDecimal("100")
	for i := range parameterList {
		parameter := &parameterList[i]
		source := e.parameters[parameter.ComplementOf]
		if source == nil || len(source.readings) == 0 || e.parameters[parameter.ID] != nil {
			continue
		}
		derived := &measured{parameter: parameter, inProcess: source.inProcess, latest: source.latest}
		for _, r := range source.readings {
			r.low, r.high = hundred.Sub(r.high), hundred.Sub(r.low)
			r.openLow, r.openHigh = r.openHigh, r.openLow
			derived.readings = append(derived.readings, r)
		}
		e.parameters[parameter.ID] = derived
	}
}

func (e *Evidence) declared(attribute string) [][]string { return e.facts[attribute] }

// result answers a condition that rests on another result of the lot.
func (e *Evidence) result(test *ResultTest) truth {
	m := e.parameters[test.Parameter]
	if m == nil || len(m.estimates()) == 0 {
		return unknown
	}
	unit, _ := m.parameter.unit(test.Unit)
	passed, failed := false, false
	for _, estimate := range m.estimates() {
		for _, end := range []struct {
			at Decimal
			open
		}{{estimate.Low, estimate.atLow()}, {estimate.High, estimate.atHigh()}} {
			if test.passes(inUnit(end.at, unit), end.open) {
				passed = true
			} else {
				failed = true
			}
		}
	}
	if passed && failed {
		return unknown
	}
	return truthOf(passed)
}

// inUnit turns a figure in the first unit of its parameter into another unit.
func inUnit(value Decimal, unit Unit) Decimal {
	if unit.same {
		return value
	}
	return value.over(unit.Factor)
}
