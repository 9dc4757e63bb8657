package sale

import (
	"cmp"
	"math"
	"slices"

	"pullbook/domain/plan"
)

// mostPairs is with how many pairs of groups and contracts a program is solved in whole numbers.
const mostPairs = 4000

// groupsOf parts classes into groups by mass, of which containers differ by no more than grain kilograms.
func (s *Spec) groupsOf(classes []class, grain float64) (out []group) {
	for c := range classes {
		stock := slices.Clone(classes[c].stock)
		slices.SortStableFunc(stock, func(a, b int) int { return cmp.Compare(s.Stock[b].Kg, s.Stock[a].Kg) })
		for len(stock) > 0 {
			n := 1
			for n < len(stock) && s.Stock[stock[0]].Kg-s.Stock[stock[n]].Kg <= grain {
				n++
			}
			g := group{class: c, stock: stock[:n], heaviest: s.Stock[stock[0]].Kg, lightest: s.Stock[stock[n-1]].Kg}
			for _, i := range g.stock {
				g.kg += s.Stock[i].Kg / float64(n)
			}
			out, stock = append(out, g), stock[n:]
		}
	}
	return out
}

// Alike are places in the stock of containers that are alike in all but their names, their mass too. Lots stand
// together, in the order of the stock, and of a lot the heaviest first.
func (s *Spec) Alike() (out [][]int) {
	for _, g := range s.groupsOf(s.classesOf(), 0) {
		out = append(out, g.stock)
	}
	return out
}

// apart are the ways in which each container goes by itself, one a contract.
func (s *Spec) apart(classes []class, groups []group) (out []way) {
	for c := range s.Contracts {
		w := way{contract: c, perKg: make([]float64, len(groups))}
		for g := range groups {
			w.perKg[g] = math.NaN()
			if o := &classes[groups[g].class].offers[c]; o.open() {
				w.perKg[g] = o.perKg
			}
		}
		out = append(out, w)
	}
	return out
}

// waysToMix is in how many ways honey may go as a mix.
func (s *Spec) waysToMix() (n int) {
	for c := range s.Contracts {
		n += len(s.Contracts[c].mixes())
	}
	return n
}

// mixed are the ways in which the honey of a contract goes as one mix.
func (s *Spec) mixed(groups []group) (out []way) {
	stock := make([]plan.Stock, len(groups))
	for g := range groups {
		stock[g] = s.Stock[groups[g].stock[0]]
	}
	for c := range s.Contracts {
		x := &s.Contracts[c]
		if len(x.Limits)+len(x.Terms.Discounts) == 0 {
			continue // a mix is worth no more than its parts
		}
		for _, m := range x.mixes() {
			w := way{contract: c, mixed: true, perKg: make([]float64, len(groups))}
			for g := range groups {
				w.perKg[g] = m.perKg
				if !x.maybeMixed(&stock[g]) {
					w.perKg[g] = math.NaN()
				}
			}
			w.rows = append(plan.Rows(x.Limits, s.Probability, stock), plan.Rows(m.limits(), 0.5, stock)...)
			out = append(out, w)
		}
	}
	return out
}

// maybeMixed reports whether a container may go into a mix: all that the mix is held to is known of it.
func (c *Contract) maybeMixed(s *plan.Stock) bool {
	if why := c.Refuses[s.Source]; !why.IsEmpty() {
		return false
	}
	for _, l := range c.Limits {
		if _, known := s.Figures[l.Parameter]; !known {
			return false
		}
	}
	for _, d := range c.Terms.Discounts {
		if _, known := s.Figures[d.Parameter]; !known || !plan.Mixes(d.Parameter) {
			return false
		}
	}
	return true
}

// pairsOf are the pairs that may pay: a container that goes by itself for less than it is worth kept
// is of use only where something was promised.
func (s *Spec) pairsOf(groups []group, ways []way) (out []pair) {
	p := program{spec: s, groups: groups, ways: ways}
	for g := range groups {
		for w := range ways {
			x := pair{g, w}
			if perKg := ways[w].perKg[g]; !math.IsNaN(perKg) && (ways[w].mixed || s.Contracts[ways[w].contract].PromisedKg > 0 || p.gain(x) > 0) {
				out = append(out, x)
			}
		}
	}
	return out
}
