package warm

import (
	"cmp"
	"math"
	"slices"

	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/message"
)

// Spec is what is asked of a warming.
type Spec struct {
	Vessel Vessel
	Aim    Aim
	// Hours is how long there is.
	Hours int
	// Probability is that with which the honey is to have come there, 0.5 to 0.95.
	Probability float64
	// HottestC is the highest set point that is allowed, NowC that which is held as things are done
	// now; Off where that is not known.
	HottestC, NowC int
	// HMFKWh is what a mg/kg of HMF in a tonne of honey counts, in kilowatt-hours of heat.
	HMFKWh float64
	// Kinetics are of this honey, and Begins what it has; their spread is that of one honey among others.
	Kinetics heat.Kinetics
	Begins   Begins
}

// Begins is what honey has before it is warmed, with standard deviations.
type Begins struct{ HMFMgPerKg, HMFSD, DiastaseDN, DiastaseSD float64 }

// Of a question.
const (
	MostHours = 14 * 24
	// DefaultProbability is what is taken where honey is looked at, and warmed on where it needs it
	// (common practice).
	DefaultProbability = 0.8
	// DefaultHMFKWh has a mg/kg weigh about as much as warming the honey does (the outfit's choice; no
	// source).
	DefaultHMFKWh = 20
)

// HottestOf is the highest set point where an outfit states none: what pages on cabinets for drums and
// pails have (45 to 50, read), and what clearing and killing yeasts takes beyond that.
func HottestOf(s State) int {
	switch s {
	case Clear:
		return 60
	case YeastKilled:
		return 66
	}
	return 50
}

// safestC is how hot a way may be that is out of what is allowed, if it must be done: a page
// that was read keeps a hot box below 66 C. Yeasts may take as hot as their times are known.
func safestC(s State) int {
	if s == YeastKilled {
		return MostSetC
	}
	return 66
}

// Answer is how hot and how long.
type Answer struct {
	// Choices are the best first; none where what is asked cannot be. Each of the next best has a
	// hottest set point that is 3 K at least from those before.
	Choices []Way
	// Hottest is as hot as allowed from now on until it is done, AsNow as things are done now; nil
	// where that is not known.
	Hottest, AsNow *Way
	// DayMore is the best where there is a day more; nil where that saves less than a hundredth.
	DayMore    *Way
	Impossible *Impossible
	// EndC is how warm the honey has to be when the time has come; nil where that does not matter.
	EndC *float64
}

// Way is a course with what it does.
type Way struct {
	Steps []Step
	// HottestC is its highest set point; Off where it needs no heat.
	HottestC int
	// Arrives says whether the honey comes to what is asked, ArrivesHour when.
	Arrives     bool
	ArrivesHour int
	// LookHour is from when on half of honeys have come there; 0 where honeys do not differ in that, or
	// half have not.
	LookHour int
	// Made is the HMF that forms until the time has come, in mg/kg; HMF and Diastase (Gothe) are what
	// the honey has then. KWh is what the heater gives.
	Made, HMF, Diastase, KWh heat.Band
	// Energy is where that goes as expected, of which Melting melts crystals.
	Energy     heat.Energy
	MeltingKWh float64
	// MostW is the most that it gives over an hour.
	MostW float64
	// CostKWh is what it costs: heat, and HMF as heat.
	CostKWh float64
	Curve   []Moment
}

// Moment is a whole hour of a way: what is set from then on, and how warm the honey is. The coldest is
// where it warms less well than expected.
type Moment struct {
	Hour, SetC      int
	MeanC, ColdestC float64
}

// Impossible is why there is no course.
type Impossible struct {
	// EarliestHour is when it can be done at the earliest as hot as allowed; 0 where never.
	EarliestHour int
	// Way is the least hot that does it in time beyond what is allowed; nil where none does that is safe.
	Way *Way
}

// problem is a question made ready.
type problem struct {
	*Spec
	target
	follower follower
	// hmfCounts is what a mg/kg counts in kilowatt-hours.
	hmfCounts  float64
	hmfPerHour table
}

// Check finds what contradicts itself. Pointers are parameters of the operation.
func (s *Spec) Check() error {
	var out []fault.Field
	bad := func(pointer string, sent any, says message.Text) {
		out = append(out, fault.Field{Pointer: pointer, Sent: sent, Message: says})
	}
	if !slices.Contains(States(), s.Aim.State) {
		bad("query:to", s.Aim.State, message.F("honey can be made liquid, pumpable or clear, or rid of yeasts: send liquid, pumpable, clear or yeast_killed"))
	}
	if s.Aim.State == Pumpable && !(s.Aim.PaS >= 0.1 && s.Aim.PaS <= 1000) {
		bad("query:most_pa_s", s.Aim.PaS, message.F("say how thick pumpable honey may be, from 0.1 to 1000 Pa·s: honey of 17 %% moisture has about 16 at %s and 1.5 at %s", message.Celsius(20), message.Celsius(40)))
	}
	if s.Hours < 1 {
		bad("query:by", s.Hours, message.F("that is over, or less than an hour away: send a time that is to come"))
	}
	if s.Hours > MostHours {
		bad("query:by", s.Hours, message.F("that is more than 14 days away: ask for a time within them"))
	}
	if !(s.Probability >= 0.5 && s.Probability <= 0.95) {
		bad("query:probability", s.Probability, message.F("from 0.5, which is as likely as not, to 0.95"))
	}
	if s.HottestC < LeastSetC || s.HottestC > MostSetC {
		bad("query:hottest_c", s.HottestC, message.F("the highest set point is from %s to %s", message.Celsius(LeastSetC), message.Celsius(MostSetC)))
	}
	if !(s.HMFKWh >= 0 && s.HMFKWh <= 10_000) {
		bad("query:hmf_kwh", s.HMFKWh, message.F("from 0, where only heat counts, to 10,000"))
	}
	if len(out) > 0 {
		return &fault.Error{Code: fault.Invalid, Message: message.F("This warming cannot be asked for."), Fields: out}
	}
	return nil
}

// Solve finds the course that costs least, and what stands beside it.
func (s *Spec) Solve() (*Answer, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	p, err := s.problem(MostHours)
	if err != nil {
		return nil, err
	}
	out := &Answer{}
	if !math.IsInf(p.endC, 0) {
		out.EndC = new(p.endC)
	}
	if err := p.beside(out); err != nil {
		return nil, err
	}
	found := p.search()
	if out.Choices, err = p.choices(found, 3); err != nil {
		return nil, err
	}
	if len(out.Choices) == 0 {
		out.Impossible, err = p.impossible()
		return out, err
	}
	if s.Hours+24 <= MostHours && out.Choices[0].HottestC != Off {
		later := *p
		later.Spec = new(*s)
		later.Hours += 24
		more, err := later.choices(later.searchLater(found, out.Choices[0].CostKWh), 1)
		if err != nil {
			return nil, err
		}
		if len(more) > 0 && more[0].CostKWh < 0.99*out.Choices[0].CostKWh {
			out.DayMore = &more[0]
		}
	}
	return out, nil
}

// problem makes a question ready for courses of so many hours.
func (s *Spec) problem(hours int) (*problem, error) {
	p := &problem{Spec: s, hmfCounts: s.HMFKWh * s.Vessel.massKg() / 1000}
	moisture, crystals := s.Vessel.honeyPct()
	var err error
	if p.target, err = targetOf(s.Aim, s.Probability, moisture, crystals); err != nil {
		return nil, err
	}
	p.hmfPerHour = tableOf(func(c float64) float64 { return s.Kinetics.HMFRate(c) / 24 })
	p.follower, err = s.Vessel.ready(hours, s.sds(), p.hmfPerHour)
	return p, err
}

// step takes a course an hour on.
func (p *problem) step(n *node, setC int) {
	was := n.coldestC
	p.follower.follow(n, setC)
	p.dose(n, was)
}

// roughly is step by less work; the course costs no more by it.
func (p *problem) roughly(n *node, setC int) {
	was := n.coldestC
	p.follower.roughly(n, setC)
	p.dose(n, was)
}

// dose adds the shares of an hour that began with the coldest honey so warm.
func (p *problem) dose(n *node, wasC float64) {
	for i, t := range p.doses {
		if n.doses[i] < 1 {
			n.doses[i] += (t.at(wasC) + t.at(n.coldestC)) / 2
		}
	}
}

// met reports whether the honey was warm for as long as is asked.
func (p *problem) met(n *node) bool {
	for i := range p.doses {
		if n.doses[i] < 1 {
			return false
		}
	}
	return true
}

// arrived reports whether the honey has come to what is asked.
func (p *problem) arrived(n *node) bool {
	return p.met(n) && (math.IsInf(p.endC, -1) || n.hour == p.Hours && n.coldestC >= p.endC)
}

// cost is in kilowatt-hours.
func (p *problem) cost(n *node) float64 { return n.heatWh/1000 + p.hmfCounts*n.hmf }

// apartK is how far the hottest set points of choices lie apart.
const apartK = 3

// choices are the best courses of a search.
func (p *problem) choices(s *search, most int) (out []Way, err error) {
	if n := s.wait[p.Hours]; p.arrived(&n) {
		w, err := p.way(make([]int, p.Hours))
		return []Way{w}, err
	}
	waits := s.waiting[p.Hours]
	var levels []int
	for i := range s.best {
		if s.comes(i) {
			levels = append(levels, i)
		}
	}
	slices.SortFunc(levels, func(i, j int) int { return cmp.Or(cmp.Compare(s.best[i], s.best[j]), i-j) })
	for _, i := range levels {
		near := func(w Way) bool {
			return max(w.HottestC-i-p.leastC, i+p.leastC-w.HottestC) < apartK || math.Abs(w.CostKWh-s.best[i]-waits) < 1e-6 // no tank gets as hot as either
		}
		if len(out) == most || slices.ContainsFunc(out, near) {
			continue
		}
		w, err := p.way(s.found[i].sets(p.Hours))
		if err != nil {
			return nil, err
		}
		out = append(out, w)
	}
	return out, nil
}

// until is a course that holds a set point from now on until the honey has arrived, or the time is over.
func (p *problem) until(setC int) []int {
	sets := make([]int, p.Hours)
	n := p.follower.begin()
	for h := range sets {
		sets[h] = setC
		if p.step(&n, setC); p.arrived(&n) {
			break
		}
	}
	return sets
}

// beside adds the courses that the plan is compared with.
func (p *problem) beside(out *Answer) error {
	for _, c := range []struct {
		setC int
		into **Way
	}{{p.HottestC, &out.Hottest}, {p.NowC, &out.AsNow}} {
		if c.setC == Off {
			continue
		}
		w, err := p.way(p.until(c.setC))
		if err != nil {
			return err
		}
		*c.into = &w
	}
	return nil
}

// impossible says when it can be done, and what it takes to do it in time.
func (p *problem) impossible() (*Impossible, error) {
	out := &Impossible{}
	long := *p
	long.Spec = new(*p.Spec)
	n := p.follower.begin()
	for h := 1; h <= MostHours; h++ {
		long.Hours = h
		if long.step(&n, p.HottestC); long.arrived(&n) {
			out.EarliestHour = h
			break
		}
	}
	for set := max(p.HottestC+1, p.leastC); set <= safestC(p.Aim.State); set++ {
		w, err := p.way(p.until(set))
		if err != nil {
			return nil, err
		}
		if w.Arrives {
			out.Way = &w
			break
		}
	}
	return out, nil
}

// way is what a course does.
func (p *problem) way(sets []int) (Way, error) {
	w := Way{Steps: stepsOf(sets)}
	w.LookHour = p.lookFrom(sets)
	n := p.follower.begin()
	for h := range sets {
		w.HottestC = max(w.HottestC, sets[h])
		w.Curve = append(w.Curve, Moment{h, sets[h], n.meanC, n.coldestC})
		if p.step(&n, sets[h]); !w.Arrives && p.arrived(&n) {
			w.Arrives, w.ArrivesHour = true, n.hour
		}
	}
	w.Curve = append(w.Curve, Moment{len(sets), Off, n.meanC, n.coldestC})
	w.MostW, w.CostKWh = n.mostW, p.cost(&n)
	did, err := p.Vessel.outcomes(sets, p.Kinetics, heat.State{HMFMgPerKg: p.Begins.HMFMgPerKg, DiastaseDN: p.Begins.DiastaseDN})
	if err != nil {
		return w, err
	}
	w.fill(did, p.Begins)
	w.MeltingKWh = p.Vessel.moltenKWh(slices.MaxFunc(w.Curve, func(a, b Moment) int { return cmp.Compare(a.MeanC, b.MeanC) }).MeanC)
	return w, nil
}

// lookFrom is from which hour of a course on half of honeys have come to what is asked, where that hangs on the
// honey: how soon its crystals melt.
func (p *problem) lookFrom(sets []int) int {
	if !math.IsInf(p.endC, -1) || p.Aim.State == YeastKilled {
		return 0
	}
	half := *p
	moisture, crystals := p.Vessel.honeyPct()
	var err error
	if half.target, err = targetOf(p.Aim, 0.5, moisture, crystals); err != nil {
		return 0 // as much was asked of it before
	}
	n := p.follower.begin()
	for _, set := range sets {
		if half.step(&n, set); half.arrived(&n) {
			return n.hour
		}
	}
	return 0
}

// fill takes what a course does as expected, and from what a vessel that warms less well does to a
// slow honey to what one that warms better does to a fast one.
func (w *Way) fill(did [3]outcome, b Begins) {
	made := func(o outcome) heat.Band {
		return heat.Band{Low: o.hmf.Low - b.HMFMgPerKg, Middle: o.hmf.Middle - b.HMFMgPerKg, High: o.hmf.High - b.HMFMgPerKg}
	}
	band := func(of func(outcome) heat.Band) heat.Band {
		x, y, z := of(did[0]), of(did[1]), of(did[2])
		return heat.Band{Low: min(x.Low, y.Low, z.Low), Middle: y.Middle, High: max(x.High, y.High, z.High)}
	}
	w.Made = band(made)
	w.HMF = around(w.Made, b.HMFMgPerKg, b.HMFSD)
	left := band(func(o outcome) heat.Band { return o.diastase })
	part := 0.0
	if b.DiastaseDN > 0 {
		part = left.Middle / b.DiastaseDN
	}
	w.Diastase = around(left, 0, part*b.DiastaseSD)
	w.KWh = band(func(o outcome) heat.Band {
		return heat.Band{Low: o.energy.HeaterKWh, Middle: o.energy.HeaterKWh, High: o.energy.HeaterKWh}
	})
	w.Energy = did[1].energy
}

// around adds a figure with its standard deviation to a band; the two have nothing to do with each
// other, so that their deviations add up in squares.
func around(b heat.Band, mean, sd float64) heat.Band {
	return heat.Band{
		Low: max(0, mean+b.Middle-math.Hypot(b.Middle-b.Low, nineInTen*sd)), Middle: mean + b.Middle,
		High: mean + b.Middle + math.Hypot(b.High-b.Middle, nineInTen*sd),
	}
}
