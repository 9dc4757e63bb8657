package sale

import (
	"cmp"
	"math"
	"slices"

	"pullbook/domain/optimum"
)

// other finds the best assignment that differs from each of some.
func (x *search) other(from []Assignment, most optimum.Effort) (*Assignment, error) {
	for i := range from {
		if len(x.spec.lotsOf(&from[i])) == 0 {
			return nil, nil
		}
	}
	over, left := over(most), most.Left()
	if len(x.pairs) > mostPairs {
		return x.otherNear(from, over), nil
	}
	p := newProgram(x.spec, x.groups, x.ways, x.pairs)
	for i := range from {
		p.elsewhere(&from[i])
	}
	short, err := p.leastShort(left())
	if err != nil {
		return nil, err
	}
	p.shortAtMost(short)
	a, err := x.solve(p, left())
	switch {
	case err != nil:
		return nil, err
	case a == nil:
		return x.otherNear(from, over), nil
	case a.stopped || !p.exact():
		b := x.from(a)
		b.close(x.spec.notFrom(from, a))
		a = b.bettered(a, over)
	}
	return a, nil
}

// notFrom says where containers do not go so that an assignment goes on to differ from some: where one of
// those sends some of a lot and it does not.
func (s *Spec) notFrom(from []Assignment, a *Assignment) func(stock, contract int) bool {
	not := map[goes]bool{}
	for i := range from {
		for _, g := range s.lotsOf(&from[i]) {
			not[g] = true
		}
	}
	for _, g := range s.lotsOf(a) {
		delete(not, g)
	}
	return s.shut(not)
}

func (s *Spec) shut(not map[goes]bool) func(stock, contract int) bool {
	return func(stock, contract int) bool { return not[goes{s.Stock[stock].Source, contract}] }
}

// mostNear is how many ways of differing are tried.
const mostNear = 2

// otherNear is the best that comes of the first of some by sending a lot of each of them elsewhere, where that
// costs little at the prices.
func (x *search) otherNear(from []Assignment, over func() bool) (best *Assignment) {
	for _, not := range x.apartFrom(from) {
		b := x.from(&from[0])
		b.close(x.spec.shut(not))
		b.fill()
		b.anneal(&x.found.prices, coolest, over)
		b.fill()
		a := b.assignment()
		a.stopped, a.BoundMinor = a.short() > from[0].short()+aboutAGram, max(x.boundOf(a), a.WorthMinor())
		if best == nil || a.beats(best) {
			best = a
		}
	}
	return best
}

// apartFrom are ways of differing from each of some assignments: which lots do not go where they go there. Those
// that cost the least at the prices are first.
func (x *search) apartFrom(from []Assignment) (out []map[goes]bool) {
	costs := make([]map[goes]float64, len(from))
	for i := range from {
		costs[i] = x.costs(&from[i])
	}
	type way struct {
		not  map[goes]bool
		cost float64
	}
	var ways []way
	for _, g := range x.spec.lotsOf(&from[0]) {
		w := way{map[goes]bool{g: true}, costs[0][g]}
		for i := 1; i < len(from); i++ {
			if _, differs := costs[i][g]; !differs {
				other := x.cheapest(&from[i], costs[i])
				w.not[other], w.cost = true, w.cost+costs[i][other]
			}
		}
		ways = append(ways, w)
	}
	slices.SortStableFunc(ways, func(a, b way) int { return cmp.Compare(a.cost, b.cost) })
	for _, w := range ways[:min(mostNear, len(ways))] {
		out = append(out, w.not)
	}
	return out
}

func (x *search) cheapest(of *Assignment, costs map[goes]float64) goes {
	return slices.MinFunc(x.spec.lotsOf(of), func(a, b goes) int { return cmp.Compare(costs[a], costs[b]) })
}

// costs is by lot and contract of an assignment what it costs at the prices that it does not go there.
func (x *search) costs(of *Assignment) map[goes]float64 {
	out := map[goes]float64{}
	for _, sale := range of.Sales {
		for _, t := range sale.Takes {
			kg, best := x.spec.Stock[t.Stock].Kg, math.Inf(-1)
			for c, gain := range x.gains[t.Stock] {
				if c != sale.Contract {
					best = max(best, gain-x.found.of(c, kg))
				}
			}
			out[goes{x.spec.Stock[t.Stock].Source, sale.Contract}] += x.gains[t.Stock][sale.Contract] - x.found.of(sale.Contract, kg) - max(0, best)
		}
	}
	return out
}
