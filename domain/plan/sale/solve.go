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
	partBest  = 0.4
	partOther = 0.15
)

// Solve finds the assignments within an effort, whose Within it sets itself. It fails only where the
// solver breaks down.
func (s *Spec) Solve(most optimum.Effort) (*Answer, error) {
	classes := s.classesOf()
	answer := &Answer{NextKg: make([]float64, len(s.Contracts)), offers: make([][]offer, len(s.Stock))}
	for _, c := range classes {
		for _, i := range c.stock {
			answer.offers[i] = c.offers
		}
	}
	search := newSearch(s, classes)
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
	answer.Mixed, answer.TooMany, err = s.mix(classes, &answer.Assignments[0], part(most, 1-partBest-nextBest*partOther))
	return answer, err
}

// inOrder puts first what misses the least of the promises, and of those what comes to the most: where
// the time was over, a later search may have found more.
func (a *Answer) inOrder() {
	bound := a.Assignments[0].BoundMinor
	slices.SortStableFunc(a.Assignments, func(x, y Assignment) int {
		if x.short() < y.short()-2*aboutAGram || x.short() > y.short()+2*aboutAGram {
			return cmp.Compare(x.short(), y.short())
		}
		return cmp.Compare(y.WorthMinor(), x.WorthMinor())
	})
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
	// bound is what all assignments come to at the most; infinite where the program has all pairs and
	// takes no container for another, and so bounds itself.
	bound float64
	// cut says that pairs stayed out, many that some did before anything was bounded.
	cut, many bool
	nextKg    []float64
}

func newSearch(s *Spec, classes []class) *search {
	out := &search{spec: s, bound: math.Inf(1), nextKg: make([]float64, len(s.Contracts))}
	for _, grain := range grains {
		out.groups = s.groupsOf(classes, grain)
		out.ways = s.apart(classes, out.groups)
		if out.pairs = s.pairsOf(out.groups, out.ways); len(out.pairs) <= mostPairs {
			break
		}
	}
	if out.many = len(out.pairs) > mostLoosePairs; out.many {
		out.pairs = out.dearest(mostLoosePairs)
	}
	return out
}

// dearest are about so many pairs: of each group those that a kilogram brings the most in.
func (x *search) dearest(most int) (out []pair) {
	p := program{spec: x.spec, groups: x.groups, ways: x.ways}
	of := make([][]pair, len(x.groups))
	for _, one := range x.pairs {
		of[one.group] = append(of[one.group], one)
	}
	each := max(1, most/len(x.groups))
	for _, pairs := range of {
		slices.SortStableFunc(pairs, func(a, b pair) int { return cmp.Compare(p.gain(b), p.gain(a)) })
		out = append(out, pairs[:min(each, len(pairs))]...)
	}
	return out
}

// best finds the best assignment. Where the time was over before one was found, it is what fills
// the contracts with what brings the most, one container after the other.
func (x *search) best(most optimum.Effort) (*Assignment, error) {
	left := most.Left()
	if err := x.bounds(left()); err != nil {
		return nil, err
	}
	p := newProgram(x.spec, x.groups, x.ways, x.pairs, false)
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
		a = &Assignment{stopped: true, within: x.spec.within(), BoundMinor: x.bound}
		x.spec.reckon(a)
	}
	if a.stopped || !p.exact() || x.cut || x.many {
		x.fillUp(a, nil)
	}
	a.BoundMinor = max(a.BoundMinor, a.WorthMinor())
	return a, nil
}

// bounds works out, without whole numbers, what a kilogram more of each contract is worth, and where
// the program takes containers for one another or is too large, what bounds it. Of too many pairs those
// stay that come nearest to paying.
func (x *search) bounds(most optimum.Effort) error {
	exactly := len(x.pairs) <= mostPairs && weighAlike(x.groups)
	p := newProgram(x.spec, x.groups, x.ways, x.pairs, !exactly)
	for i := range p.Variables {
		p.Variables[i].Whole = false
	}
	short, err := p.leastShort(most)
	if err != nil {
		return err
	}
	p.shortAtMost(short)
	got, err := optimum.Solve(&p.Problem, most)
	if err != nil {
		return err
	}
	if !got.Found || got.Outcome != optimum.Best {
		if len(x.pairs) > mostPairs {
			x.pairs, x.cut = x.dearest(mostPairs), true
		}
		return nil
	}
	x.nextKg = make([]float64, len(p.contractRow))
	for c, row := range p.contractRow {
		x.nextKg[c] = -got.Worth[row]
	}
	if exactly {
		return nil
	}
	if !x.many {
		x.bound = -got.Bound + x.kept()
	}
	if len(x.pairs) > mostPairs {
		x.pairs, x.cut = nearest(p, got), true
	}
	return nil
}

// nearest are the pairs of a program whose reduced cost is least.
func nearest(p *program, got *optimum.Solution) []pair {
	reduced := make([]float64, len(p.Variables))
	for i, v := range p.Variables {
		reduced[i] = v.Cost
	}
	for row, l := range p.Limits {
		for _, t := range l.Terms {
			reduced[t.Variable] -= got.Worth[row] * t.Factor
		}
	}
	order := make([]int, len(p.pairs))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch x, y := reduced[p.count[a]], reduced[p.count[b]]; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	var out []pair
	for _, i := range order[:min(mostPairs, len(order))] {
		out = append(out, p.pairs[i])
	}
	return out
}

// kept is what everything is worth that goes nowhere.
func (x *search) kept() (minor float64) {
	for i := range x.spec.Stock {
		minor += x.spec.KeepPerKg * x.spec.Stock[i].Kg
	}
	return minor
}

// other finds the best assignment that differs from each of some.
func (x *search) other(from []Assignment, most optimum.Effort) (*Assignment, error) {
	p := newProgram(x.spec, x.groups, x.ways, x.pairs, false)
	for i := range from {
		if sends := slices.ContainsFunc(from[i].Sales, func(s Sale) bool { return len(s.Takes) > 0 }); !sends {
			return nil, nil
		}
		p.elsewhere(&from[i])
	}
	left := most.Left()
	short, err := p.leastShort(left())
	if err != nil || math.IsInf(short, 1) {
		return nil, err
	}
	p.shortAtMost(short)
	a, err := x.solve(p, left())
	if a != nil && (a.stopped || !p.exact() || x.cut || x.many) {
		x.fillUp(a, from)
	}
	return a, err
}

// solve finds the best of a program; nil where none was found in time.
func (x *search) solve(p *program, most optimum.Effort) (*Assignment, error) {
	most.Within = x.spec.within()
	got, err := p.solve(most)
	if err != nil || !got.Found {
		return nil, err
	}
	a := p.assignment(got)
	if a.BoundMinor = x.bound; p.exact() && !x.cut && !x.many {
		a.BoundMinor = min(x.bound, -got.Bound+x.kept())
	}
	return a, nil
}

// within is Spec.Within, else what a kilogram of the dearest honey brings.
func (s *Spec) within() float64 {
	if s.Within > 0 {
		return s.Within
	}
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
		p.Keep(math.Inf(-1), kg+aboutAGram, terms...)
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
