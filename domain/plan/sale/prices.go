package sale

import (
	"cmp"
	"math"
	"slices"

	"pullbook/domain/optimum"
)

// prices are what the things are worth that containers compete for, in minor units: by contract a kilogram
// of its room, which is less than nothing where it takes promised honey that is worth more elsewhere, and a
// kilogram of its loads, which is nothing where freight is not by the load; and a kilogram by which a promise is missed.
type prices struct {
	room, load []float64
	missed     float64
}

func (s *Spec) noPrices() prices {
	return prices{room: make([]float64, len(s.Contracts)), load: make([]float64, len(s.Contracts))}
}

// pricesOf are those of a program that was solved without whole numbers.
func (p *program) pricesOf(got *optimum.Solution) prices {
	out := p.spec.noPrices()
	for c, row := range p.contractRow {
		if out.room[c] = -got.Worth[row]; p.spec.Contracts[c].PromisedKg <= 0 {
			out.room[c] = max(0, out.room[c])
		}
	}
	for w, row := range p.loadRow {
		if row >= 0 {
			out.load[p.ways[w].contract] = max(0, -got.Worth[row])
		}
	}
	if p.shortRow >= 0 {
		out.missed = max(0, -got.Worth[p.shortRow])
	}
	return out
}

// of is what a container of a mass pays for its place with a contract.
func (x *prices) of(contract int, kg float64) float64 {
	return (x.room[contract] + x.load[contract]) * kg
}

// bound is what no assignment comes to more than that misses at most so many kilograms of what was promised:
// each container goes where it brings the most beyond these prices, and all that has a price is sold at it.
// That holds for whatever prices (Lagrangian relaxation); good ones bound closely.
func (s *Spec) bound(gains [][]float64, x *prices, shortKg float64) (minor float64) {
	minor = x.missed * shortKg
	for i, gain := range gains {
		most := 0.0
		for c, g := range gain {
			most = max(most, g-x.of(c, s.Stock[i].Kg))
		}
		minor += most + s.KeepPerKg*s.Stock[i].Kg
	}
	for c := range s.Contracts {
		k := &s.Contracts[c]
		minor += max(x.room[c]*k.MostKg, x.room[c]*k.PromisedKg) + k.PromisedKg*max(0, -x.room[c]-x.missed)
		if k.Freight.PerLoad > 0 && k.Freight.LoadKg > 0 {
			minor += math.Ceil(k.MostKg/k.Freight.LoadKg) * max(0, x.load[c]*k.Freight.LoadKg-k.Freight.PerLoad)
		}
	}
	return minor
}

// gainsOf is by container and contract what it brings there more than it is worth kept; endlessly little
// where it may not go.
func (s *Spec) gainsOf(offers [][]offer) [][]float64 {
	out := make([][]float64, len(s.Stock))
	for i := range out {
		out[i] = make([]float64, len(s.Contracts))
		for c := range s.Contracts {
			out[i][c] = math.Inf(-1)
			if o, f := &offers[i][c], &s.Contracts[c].Freight; o.open() {
				out[i][c] = (o.perKg-f.PerKg-s.KeepPerKg)*s.Stock[i].Kg - f.PerContainer
			}
		}
	}
	return out
}

// parted is what a program without whole numbers comes to: containers may be parted.
type parted struct {
	prices
	// bound is what no assignment comes to more than that misses no more than shortKg.
	bound, shortKg float64
	// whole is by container the contract that it goes to whole, -1 where there is none; worth is what
	// all come to, with those that are parted.
	whole []int
	worth float64
}

// nearShares are how many times as many pairs as groups are looked at, one after the other, until what is
// found comes close to its bound.
var nearShares = []int{4, 8}

// nearlyAll is how near to its bound a program without whole numbers is good enough.
const nearlyAll = 1e-4

// part solves without whole numbers. Where there are many pairs, prices are found from a sample first, and
// then the pairs are looked at that come nearest to paying at them.
func (x *search) part(most optimum.Effort) (*parted, error) {
	left := most.Left()
	if len(x.pairs) <= mostPairs {
		return x.partedBy(x.pairs, left())
	}
	s := x.spec.sample((len(x.pairs) + mostPairs - 1) / mostPairs)
	few := newSearch(s, s.classesOf())
	best, err := few.partedBy(few.pairs, left())
	if err != nil {
		return nil, err
	}
	at := best.prices
	for _, share := range nearShares {
		if best, err = x.partedBy(x.nearest(&at, share*len(x.groups)), left()); err != nil {
			return nil, err
		}
		if bound := x.spec.bound(x.gains, &at, best.shortKg); bound < best.bound {
			best.bound, best.prices = bound, at
		}
		if at = best.prices; best.bound-best.worth < nearlyAll*math.Abs(best.bound) {
			break
		}
	}
	return best, nil
}

// partedBy solves with some pairs. Where that was not done in time, no container goes, and the bound is what
// all come to where each may go where it brings the most.
func (x *search) partedBy(pairs []pair, most optimum.Effort) (*parted, error) {
	out := &parted{prices: x.spec.noPrices(), whole: x.spec.nowhere(), worth: math.Inf(-1)}
	p := newProgram(x.spec, x.groups, x.ways, pairs)
	for i := range p.Variables {
		p.Variables[i].Whole = false
	}
	left := most.Left()
	short, err := p.leastShort(left())
	if err != nil {
		return nil, err
	}
	p.shortAtMost(short)
	got, err := optimum.Solve(&p.Problem, left())
	if err != nil {
		return nil, err
	}
	if got.Outcome == optimum.Best {
		out.prices, out.worth = p.pricesOf(got), -got.Cost+x.kept()
		x.wholeOf(p, got, out.whole)
	}
	if out.shortKg = short + aboutAGram; math.IsInf(short, 1) {
		out.shortKg, out.missed = 0, 0
	}
	out.bound = x.spec.bound(x.gains, &out.prices, out.shortKg)
	return out, nil
}

func (x *search) wholeOf(p *program, got *optimum.Solution, to []int) {
	for i, one := range p.pairs {
		n := int(math.Floor(got.At[p.count[i]] + 1e-6))
		for _, stock := range x.groups[one.group].stock {
			if n > 0 && to[stock] < 0 {
				to[stock], n = x.ways[one.way].contract, n-1
			}
		}
	}
}

// nowhere is that every container stays.
func (s *Spec) nowhere() []int { return slices.Repeat([]int{-1}, len(s.Stock)) }

// sample is every so many-th container, with contracts for as much less.
func (s *Spec) sample(every int) *Spec {
	out := *s
	out.Stock, out.Contracts = nil, slices.Clone(s.Contracts)
	for i := 0; i < len(s.Stock); i += every {
		out.Stock = append(out.Stock, s.Stock[i])
	}
	for c := range out.Contracts {
		out.Contracts[c].PromisedKg /= float64(every)
		out.Contracts[c].MostKg /= float64(every)
	}
	return &out
}

// nearest are about so many pairs, those first that come nearest to the best place of their container at some
// prices; and of each contract so many that what it was promised can go twice over.
func (x *search) nearest(at *prices, most int) (out []pair) {
	p := program{spec: x.spec, groups: x.groups, ways: x.ways}
	behind, best := make([]float64, len(x.pairs)), make([]float64, len(x.groups))
	for i, one := range x.pairs {
		behind[i] = p.gain(one) - at.of(x.ways[one.way].contract, x.groups[one.group].kg)
		best[one.group] = max(best[one.group], behind[i])
	}
	order := make([]int, len(x.pairs))
	for i, one := range x.pairs {
		order[i], behind[i] = i, best[one.group]-behind[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(behind[a], behind[b]) })
	kg := make([]float64, len(x.spec.Contracts))
	for n, i := range order {
		one := x.pairs[i]
		c, g := x.ways[one.way].contract, &x.groups[one.group]
		if n >= most && kg[c] >= 2*x.spec.Contracts[c].PromisedKg {
			continue
		}
		out, kg[c] = append(out, one), kg[c]+g.kg*float64(len(g.stock))
	}
	return out
}
