package sale

import (
	"math"
	"slices"

	"pullbook/domain/optimum"
	"pullbook/domain/plan"
)

// group is containers of one class that the program takes for one another: of the same mass, or of
// masses that are near.
type group struct {
	class int
	stock []int // the heaviest first
	// kg is their mean mass; of the heaviest and the lightest the program is safe with either.
	kg, heaviest, lightest float64
}

// way is how honey goes to a contract: each container by itself, or all mixed in one way of having
// a price.
type way struct {
	contract int
	mixed    bool
	// perKg is by group what a kilogram brings less discount; NaN where it may not go.
	perKg []float64
	rows  []plan.Row
}

// pair is containers of a group that go a way.
type pair struct{ group, way int }

// program is an assignment as a mixed-integer program. Money is what an assignment brings beyond
// keeping everything, so that its cost is less than nothing where selling pays.
type program struct {
	optimum.Problem
	spec   *Spec
	groups []group
	ways   []way
	pairs  []pair
	// count is by pair the variable of how many go; short, uses and loads are by contract or way, -1
	// where there is none.
	count, short, uses, loads []int
	// contractRow is by contract the limit of its mass.
	contractRow []int
	// loadRow is by way the limit of its loads, shortRow that of what is missed of promises; -1 where there is none.
	loadRow  []int
	shortRow int
}

func newProgram(s *Spec, groups []group, ways []way, pairs []pair) *program {
	p := &program{spec: s, groups: groups, ways: ways, pairs: pairs, shortRow: -1}
	for _, x := range pairs {
		g := &groups[x.group]
		p.count = append(p.count, p.Add(optimum.Variable{Cost: -p.gain(x), High: float64(len(g.stock)), Whole: true}))
	}
	p.eachOnce()
	for w := range ways {
		p.goes(w)
	}
	for c := range s.Contracts {
		p.contract(c)
	}
	for w := range ways {
		for i := range ways[w].rows {
			p.keepRow(w, ways[w].rows[i].Mean())
		}
	}
	return p
}

// gain is what a container of a pair brings more than it is worth kept.
func (p *program) gain(x pair) float64 {
	g, w := &p.groups[x.group], &p.ways[x.way]
	f := &p.spec.Contracts[w.contract].Freight
	return (w.perKg[x.group]-f.PerKg-p.spec.KeepPerKg)*g.kg - f.PerContainer
}

// eachOnce lets no container go twice.
func (p *program) eachOnce() {
	of := make([][]optimum.Term, len(p.groups))
	for i, x := range p.pairs {
		of[x.group] = append(of[x.group], optimum.Term{Variable: p.count[i], Factor: 1})
	}
	for g, terms := range of {
		if len(terms) > 0 {
			p.Keep(math.Inf(-1), float64(len(p.groups[g].stock)), terms...)
		}
	}
}

// mass are the terms of what goes a way, or to a contract, by a mass of each group.
func (p *program) mass(goes func(way int) bool, kg func(*group) float64) (terms []optimum.Term) {
	for i, x := range p.pairs {
		if goes(x.way) {
			terms = append(terms, optimum.Term{Variable: p.count[i], Factor: kg(&p.groups[x.group])})
		}
	}
	return terms
}

func heaviest(g *group) float64 { return g.heaviest }
func lightest(g *group) float64 { return g.lightest }

// goes adds what a way needs: whether it is gone where the contract has others, and its loads.
func (p *program) goes(w int) {
	c := &p.spec.Contracts[p.ways[w].contract]
	this := func(way int) bool { return way == w }
	p.uses, p.loads, p.loadRow = append(p.uses, -1), append(p.loads, -1), append(p.loadRow, -1)
	if p.hasOthers(w) {
		p.uses[w] = p.Add(optimum.Variable{High: 1, Whole: true})
		p.Keep(math.Inf(-1), 0, append(p.mass(this, heaviest), optimum.Term{Variable: p.uses[w], Factor: -c.MostKg})...)
	}
	if c.Freight.PerLoad > 0 && c.Freight.LoadKg > 0 {
		p.loads[w] = p.Add(optimum.Variable{Cost: c.Freight.PerLoad, High: math.Ceil(c.MostKg / c.Freight.LoadKg), Whole: true})
		p.loadRow[w] = p.Keep(math.Inf(-1), 0, append(p.mass(this, heaviest), optimum.Term{Variable: p.loads[w], Factor: -c.Freight.LoadKg})...)
	}
}

func (p *program) hasOthers(w int) bool {
	for other := range p.ways {
		if other != w && p.ways[other].contract == p.ways[w].contract {
			return true
		}
	}
	return false
}

// contract keeps to what a contract takes, and to one way of taking it.
func (p *program) contract(c int) {
	x := &p.spec.Contracts[c]
	of := func(way int) bool { return p.ways[way].contract == c }
	p.short = append(p.short, -1)
	most := p.mass(of, heaviest)
	if x.PromisedKg > 0 {
		p.short[c] = p.Add(optimum.Variable{High: x.PromisedKg})
		short := optimum.Term{Variable: p.short[c], Factor: 1}
		if p.exact() {
			p.contractRow = append(p.contractRow, p.Keep(x.PromisedKg, x.MostKg, append(most, short)...))
		} else {
			p.contractRow = append(p.contractRow, p.Keep(math.Inf(-1), x.MostKg, most...))
			p.Keep(x.PromisedKg, math.Inf(1), append(p.mass(of, lightest), short)...)
		}
	} else {
		p.contractRow = append(p.contractRow, p.Keep(math.Inf(-1), x.MostKg, most...))
	}
	var uses []optimum.Term
	for w := range p.ways {
		if of(w) && p.uses[w] >= 0 {
			uses = append(uses, optimum.Term{Variable: p.uses[w], Factor: 1})
		}
	}
	if len(uses) > 0 {
		p.Keep(math.Inf(-1), 1, uses...)
	}
}

// exact reports whether the containers of each group weigh the same.
func (p *program) exact() bool {
	return !slices.ContainsFunc(p.groups, func(g group) bool { return g.heaviest != g.lightest })
}

// keepRow keeps a mix of a way to one end of a limit, or to a tangent of it.
func (p *program) keepRow(w int, perKg []float64) {
	var terms []optimum.Term
	for i, x := range p.pairs {
		if x.way == w && perKg[x.group] != 0 {
			terms = append(terms, optimum.Term{Variable: p.count[i], Factor: perKg[x.group] * p.groups[x.group].kg})
		}
	}
	if len(terms) > 0 {
		p.Keep(math.Inf(-1), 0, terms...)
	}
}

// goes is that some of a lot, by its code, goes to a contract.
type goes struct {
	source   string
	contract int
}

// lotsOf is which lot an assignment sends some of to which contract.
func (s *Spec) lotsOf(a *Assignment) (out []goes) {
	seen := map[goes]bool{}
	for _, sale := range a.Sales {
		for _, t := range sale.Takes {
			if g := (goes{s.Stock[t.Stock].Source, sale.Contract}); !seen[g] {
				seen[g], out = true, append(out, g)
			}
		}
	}
	return out
}

// elsewhere makes one lot at least of an assignment go another way than to its contract there.
func (p *program) elsewhere(was *Assignment) {
	order := p.spec.lotsOf(was)
	var all []optimum.Term
	for _, o := range order {
		used := p.Add(optimum.Variable{High: 1, Whole: true})
		all = append(all, optimum.Term{Variable: used, Factor: 1})
		terms, most := []optimum.Term{}, 0.0
		for i, x := range p.pairs {
			g := &p.groups[x.group]
			if p.ways[x.way].contract == o.contract && p.spec.Stock[g.stock[0]].Source == o.source {
				terms = append(terms, optimum.Term{Variable: p.count[i], Factor: 1})
				most += float64(len(g.stock))
			}
		}
		p.Keep(math.Inf(-1), 0, append(terms, optimum.Term{Variable: used, Factor: -most})...)
	}
	p.Keep(math.Inf(-1), float64(len(order)-1), all...)
}
