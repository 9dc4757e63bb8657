package sale

import (
	"cmp"
	"math"
	"slices"

	"pullbook/domain/optimum"
)

// Answer is what the contracts and the honey come to.
type Answer struct {
	// Assignments are the best and the next best, each of which sends one lot at least of each
	// before it not to the contract that it goes to there. None where the time was over first.
	Assignments []Assignment
	// NextKg is by contract what one kilogram more of it would bring, in minor units, beyond what the
	// honey is worth elsewhere or kept: less than nothing where a contract takes honey that is
	// promised and worth more elsewhere.
	NextKg []float64
	// PriceTurns are by contract from which price on another than the best is better; none without a best.
	PriceTurns []PriceTurn
	// Mixed is the best assignment where honey of a contract may be mixed first; nil where that was
	// not found in time, or there is too much to choose between (see TooMany).
	Mixed   *Assignment
	TooMany bool
	// Offers are by place in the stock and by contract.
	offers [][]offer
}

// nextBest is how many assignments beside the best are looked for.
const nextBest = 2

// parts of the time that the steps of a search have.
const (
	partBest  = 0.35
	partOther = 0.125
	partTurns = 0.15
)

// Solve finds the assignments within an effort, whose Within it sets itself. It fails only where the
// solver breaks down.
func (s *Spec) Solve(most optimum.Effort) (*Answer, error) {
	classes := s.classesOf()
	search := newSearch(s, classes)
	answer := &Answer{NextKg: search.nextKg, offers: search.offers}
	best, err := search.best(part(most, partBest))
	if err != nil || best == nil {
		return answer, err
	}
	answer.Assignments = append(answer.Assignments, *best)
	answer.NextKg = search.nextKg
	for range nextBest {
		next, err := search.other(answer.Assignments, part(most, partOther))
		if err != nil {
			return nil, err
		}
		if next == nil {
			break
		}
		answer.Assignments = append(answer.Assignments, *next)
	}
	answer.inOrder()
	if answer.PriceTurns, err = search.priceTurns(&answer.Assignments[0], part(most, partTurns)); err != nil {
		return nil, err
	}
	answer.Mixed, answer.TooMany, err = s.mix(classes, &answer.Assignments[0], part(most, 1-partBest-nextBest*partOther-partTurns))
	return answer, err
}

// inOrder puts first what misses the least of the promises, and of those what comes to the most: where
// the time was over, a later search may have found more.
func (a *Answer) inOrder() {
	bound := a.Assignments[0].BoundMinor
	slices.SortStableFunc(a.Assignments, func(x, y Assignment) int { return compare(&x, &y) })
	a.Assignments[0].BoundMinor = bound
}

func part(most optimum.Effort, share float64) optimum.Effort {
	most.Seconds *= share
	return most
}

// Best finds the best assignment alone.
func (s *Spec) Best(most optimum.Effort) (*Assignment, error) {
	return newSearch(s, s.classesOf()).best(most)
}

// search is for assignments in which each container goes by itself.
type search struct {
	spec   *Spec
	groups []group
	ways   []way
	pairs  []pair
	// offers are by place in the stock and by contract, gains what they come to.
	offers [][]offer
	gains  [][]float64
	nextKg []float64
	// found is what a program without whole numbers comes to, nil before that is known.
	found *parted
}

func newSearch(s *Spec, classes []class) *search {
	x := s.searchOf(classes, s.groupsOf(classes, 0))
	x.ways = s.apart(classes, x.groups)
	x.pairs = s.pairsOf(x.groups, x.ways)
	return x
}

func (s *Spec) searchOf(classes []class, groups []group) *search {
	x := &search{spec: s, groups: groups, nextKg: make([]float64, len(s.Contracts)), offers: make([][]offer, len(s.Stock))}
	for _, c := range classes {
		for _, i := range c.stock {
			x.offers[i] = c.offers
		}
	}
	x.gains = s.gainsOf(x.offers)
	return x
}

// best finds the best assignment. What is found without whole numbers is made whole and bettered; where
// that is not proved to be the best, and there are not too many pairs, a program with whole numbers looks further.
func (x *search) best(most optimum.Effort) (*Assignment, error) {
	left := most.Left()
	if x.mixes() {
		return x.program(left())
	}
	found, err := x.part(left())
	if err != nil {
		return nil, err
	}
	x.found, x.nextKg = found, found.room
	a := x.whole(over(most))
	if len(x.pairs) <= mostPairs && !a.Proved() {
		further, err := x.program(left())
		if err != nil {
			return nil, err
		}
		if a.stopped = true; further != nil && (further.Proved() || further.beats(a)) {
			a = further
		}
	}
	a.BoundMinor = max(a.BoundMinor, a.WorthMinor())
	return a, nil
}

func (x *search) mixes() bool {
	return slices.ContainsFunc(x.ways, func(w way) bool { return w.mixed })
}

// over reports whether the time of an effort is.
func over(most optimum.Effort) func() bool {
	if most.Clock == nil || most.Seconds == 0 {
		return func() bool { return false }
	}
	end := most.Clock() + most.Seconds
	return func() bool { return most.Clock() >= end }
}

// whole makes what was found without whole numbers whole: what is parted stays at first, and all is bettered.
func (x *search) whole(over func() bool) (best *Assignment) {
	for _, kg := range heats {
		b := x.better(x.found.whole, nil)
		b.fill()
		for _, hot := range kg {
			b.anneal(&x.found.prices, hot, over)
		}
		b.run(over)
		a := b.assignment()
		a.BoundMinor, a.stopped = x.boundOf(a), a.short() > x.found.shortKg+aboutAGram
		if best == nil || a.beats(best) {
			best = a
		}
		if best.Proved() {
			break
		}
	}
	return best
}

// beats reports whether an assignment misses less of the promises than another, or as much and comes to more.
func (a *Assignment) beats(other *Assignment) bool { return compare(a, other) < 0 }

// compare puts first what misses less of the promises, and then what comes to more.
func compare(x, y *Assignment) int {
	if math.Abs(x.short()-y.short()) > 2*aboutAGram {
		return cmp.Compare(x.short(), y.short())
	}
	return cmp.Compare(y.WorthMinor(), x.WorthMinor())
}

// program finds the best with whole numbers; where nothing was found in time, what fills the contracts with
// what brings the most.
func (x *search) program(most optimum.Effort) (*Assignment, error) {
	p := newProgram(x.spec, x.groups, x.ways, x.pairs)
	left, over := most.Left(), over(most)
	short, err := p.leastShort(left())
	if err != nil {
		return nil, err
	}
	p.shortAtMost(short)
	a, err := x.solve(p, left())
	if err != nil {
		return nil, err
	}
	if a == nil {
		a = &Assignment{stopped: true, within: x.spec.within(), BoundMinor: math.Inf(1)}
		x.spec.reckon(a)
	}
	if a.stopped || !p.exact() {
		a = x.from(a).bettered(a, over)
	}
	return a, nil
}

// kept is what everything is worth that goes nowhere.
func (x *search) kept() (minor float64) {
	for i := range x.spec.Stock {
		minor += x.spec.KeepPerKg * x.spec.Stock[i].Kg
	}
	return minor
}

// solve finds the best of a program; nil where none was found in time.
func (x *search) solve(p *program, most optimum.Effort) (*Assignment, error) {
	most.Within = x.spec.within()
	got, err := p.solve(most)
	if err != nil || !got.Found {
		return nil, err
	}
	a := p.assignment(got)
	if a.BoundMinor = x.boundOf(a); p.exact() {
		a.BoundMinor = min(a.BoundMinor, -got.Bound+x.kept())
	}
	return a, nil
}

// boundOf is what all assignments come to at the most that miss no more of the promises than one; infinite
// before that is known.
func (x *search) boundOf(a *Assignment) float64 {
	if x.found == nil {
		return math.Inf(1)
	}
	return x.spec.bound(x.gains, &x.found.prices, max(x.found.shortKg, a.short()+aboutAGram))
}

// within is Spec.Within, else what a kilogram of the dearest honey brings.
func (s *Spec) within() float64 { return cmp.Or(s.Within, s.dearest()) }

// dearest is what a kilogram of the dearest honey brings.
func (s *Spec) dearest() float64 {
	dearest := s.KeepPerKg
	for i := range s.Contracts {
		dearest = max(dearest, s.Contracts[i].Terms.PricePerKg.Float64())
	}
	return dearest
}

// leastShort is by how much the promises are missed at the least, in kilograms; 0 where nothing is
// promised, infinite where nothing was found in time.
func (p *program) leastShort(most optimum.Effort) (float64, error) {
	promised := false
	q := *p
	q.Variables = slices.Clone(p.Variables)
	for i := range q.Variables {
		q.Variables[i].Cost = 0
	}
	for _, v := range p.short {
		if v >= 0 {
			q.Variables[v].Cost, promised = 1, true
		}
	}
	if !promised {
		return 0, nil
	}
	most.Within = aboutAGram
	got, err := q.solve(most)
	p.Limits = q.Limits // with the tangents
	if err != nil || !got.Found {
		return math.Inf(1), err
	}
	return got.Cost, nil
}

// aboutAGram is what is not counted of a promise, in kilograms.
const aboutAGram = 1e-3

func (p *program) shortAtMost(kg float64) {
	var terms []optimum.Term
	for _, v := range p.short {
		if v >= 0 {
			terms = append(terms, optimum.Term{Variable: v, Factor: 1})
		}
	}
	if len(terms) > 0 && !math.IsInf(kg, 1) {
		p.shortRow = p.Keep(math.Inf(-1), kg+aboutAGram, terms...)
	}
}

// mostSteps bounds how often tangents are added.
const mostSteps = 200

// solve finds the best of the program, adding tangents of what a mix breaks until it breaks none:
// first without whole numbers, which is quick.
func (p *program) solve(most optimum.Effort) (*optimum.Solution, error) {
	left := most.Left()
	if p.rows() {
		loose := optimum.Problem{Variables: slices.Clone(p.Variables)}
		for i := range loose.Variables {
			loose.Variables[i].Whole = false
		}
		for range mostSteps {
			loose.Limits = p.Limits
			got, err := optimum.Solve(&loose, left())
			if err != nil {
				return nil, err
			}
			if !got.Found || !p.cut(got.At) {
				break
			}
		}
	}
	bound := math.Inf(-1)
	for range mostSteps {
		got, err := optimum.Solve(&p.Problem, left())
		if err != nil {
			return nil, err
		}
		bound = max(bound, got.Bound)
		got.Bound = bound
		if !got.Found || !p.cut(got.At) {
			return got, nil
		}
		if got.Outcome == optimum.Stopped {
			break
		}
	}
	return &optimum.Solution{Outcome: optimum.Stopped, Bound: bound}, nil
}

func (p *program) rows() bool {
	return slices.ContainsFunc(p.ways, func(w way) bool { return len(w.rows) > 0 })
}

// cut adds the tangents that a solution breaks, and reports whether it breaks any.
func (p *program) cut(at []float64) (broken bool) {
	for w := range p.ways {
		if len(p.ways[w].rows) == 0 {
			continue
		}
		kg, any := p.kg(at, w)
		if !any {
			continue
		}
		for i := range p.ways[w].rows {
			if r := &p.ways[w].rows[i]; r.Breaks(kg) {
				p.keepRow(w, r.Tangent(kg))
				broken = true
			}
		}
	}
	return broken
}

// kg are the masses that go a way, by group.
func (p *program) kg(at []float64, w int) (kg []float64, any bool) {
	kg = make([]float64, len(p.groups))
	for i, x := range p.pairs {
		if n := at[p.count[i]]; x.way == w && n > 1e-9 {
			kg[x.group], any = n*p.groups[x.group].kg, true
		}
	}
	return kg, any
}
