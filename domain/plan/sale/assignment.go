package sale

import (
	"cmp"
	"math"
	"slices"

	"pullbook/domain/optimum"
	"pullbook/domain/plan"
)

// mostMixedPairs is with how many pairs mixing is looked into, mostMixedApart with how many where
// containers of a lot that do not weigh the same are told apart.
const (
	mostMixedPairs = 6000
	mostMixedApart = 600
)

// mix finds the best assignment where the honey of each contract goes by itself or mixed, and which
// is at least as good as one that is known. tooMany says that there is too much to choose between.
func (s *Spec) mix(classes []class, known *Assignment, most optimum.Effort) (best *Assignment, tooMany bool, err error) {
	waysToMix := s.waysToMix()
	groups := s.groupsOf(classes, 0)
	if waysToMix*len(groups) > mostMixedApart {
		groups = s.groupsOf(classes, math.Inf(1))
	}
	if waysToMix*len(groups) > mostMixedPairs {
		return nil, true, nil // even what a mix is held to would take much memory
	}
	ways := append(s.apart(classes, groups), s.mixed(groups)...)
	if len(ways) == len(s.Contracts) {
		return known, false, nil // nothing can be mixed
	}
	x := s.searchOf(classes, groups)
	x.ways, x.pairs = ways, s.pairsOf(groups, ways)
	p := newProgram(s, groups, ways, x.pairs)
	left, over := most.Left(), over(most)
	short, err := p.leastShort(left())
	if err != nil {
		return nil, false, err
	}
	p.shortAtMost(short)
	got, err := x.solve(p, left())
	if err != nil || got == nil || !s.keepAsMixed(got) {
		return nil, false, err
	}
	if !p.exact() {
		got = x.from(got).bettered(got, over)
	}
	if got.short() > known.short()-aboutAGram && got.WorthMinor() < known.WorthMinor() {
		unmixed := *known // what was looked for did not come to what is known
		unmixed.BoundMinor, unmixed.stopped = max(got.BoundMinor, known.BoundMinor), got.stopped || known.stopped
		return &unmixed, false, nil
	}
	return got, false, nil
}

// keepAsMixed holds each mix of an assignment against the limits by what its containers truly weigh, and
// gives it its price by that: the program took some containers for one another. What breaks a limit the most
// is left out, until it is kept. False where a mix comes to figures without a price.
func (s *Spec) keepAsMixed(a *Assignment) bool {
	for i := range a.Sales {
		if sale := &a.Sales[i]; sale.Mixed {
			for len(sale.Takes) > 0 && s.leaveWorstOut(sale) {
			}
		}
	}
	a.Sales = slices.DeleteFunc(a.Sales, func(x Sale) bool { return len(x.Takes) == 0 })
	s.reckon(a)
	for i := range a.Sales {
		sale := &a.Sales[i]
		if !sale.Mixed {
			continue
		}
		figures := map[string]float64{}
		for _, m := range sale.Means {
			figures[m.Parameter] = m.Mean
		}
		perKg, err := s.Contracts[sale.Contract].pays(figures)
		if err != nil {
			return false
		}
		for t := range sale.Takes {
			sale.Takes[t].PerKg = perKg
		}
	}
	s.reckon(a)
	return true
}

// leaveWorstOut takes the container out of a mix that breaks a limit the most; false where none is broken.
func (s *Spec) leaveWorstOut(sale *Sale) bool {
	stock, kg := s.stockOf(sale)
	rows := plan.Rows(s.Contracts[sale.Contract].Limits, s.Probability, stock)
	for i := range rows {
		if !rows[i].Breaks(kg) {
			continue
		}
		worst, most := 0, math.Inf(-1)
		for t, perKg := range rows[i].Tangent(kg) {
			if by := perKg * kg[t]; by > most {
				worst, most = t, by
			}
		}
		sale.Takes = slices.Delete(sale.Takes, worst, worst+1)
		return true
	}
	return false
}

// stockOf are the containers of a sale and their masses.
func (s *Spec) stockOf(sale *Sale) (stock []plan.Stock, kg []float64) {
	for _, t := range sale.Takes {
		stock, kg = append(stock, s.Stock[t.Stock]), append(kg, s.Stock[t.Stock].Kg)
	}
	return stock, kg
}

func (a *Assignment) short() (kg float64) {
	for i := range a.Sales {
		kg += a.Sales[i].ShortKg
	}
	return kg
}

// assignment is what a solution comes to: which containers go, by their own masses. Of a group the
// heaviest go where a kilogram brings the most.
func (p *program) assignment(got *optimum.Solution) *Assignment {
	a := &Assignment{stopped: got.Outcome == optimum.Stopped, within: p.spec.within()}
	sales := make([]Sale, len(p.ways))
	byGroup := make([][]int, len(p.groups))
	for i, x := range p.pairs {
		if got.At[p.count[i]] > 0.5 {
			byGroup[x.group] = append(byGroup[x.group], i)
		}
	}
	for g, of := range byGroup {
		slices.SortStableFunc(of, func(i, j int) int {
			return cmp.Compare(p.gain(p.pairs[j])/p.groups[g].kg, p.gain(p.pairs[i])/p.groups[g].kg)
		})
		next := 0
		for _, i := range of {
			w := p.pairs[i].way
			for range int(math.Round(got.At[p.count[i]])) {
				sales[w].Takes = append(sales[w].Takes, Take{p.groups[g].stock[next], p.ways[w].perKg[g]})
				next++
			}
		}
	}
	for w := range sales {
		sales[w].Contract, sales[w].Mixed = p.ways[w].contract, p.ways[w].mixed
		if len(sales[w].Takes) > 0 {
			a.Sales = append(a.Sales, sales[w])
		}
	}
	p.spec.reckon(a)
	return a
}

// of is the sale to a contract; nil where there is none.
func (a *Assignment) of(contract int) *Sale {
	for i := range a.Sales {
		if a.Sales[i].Contract == contract {
			return &a.Sales[i]
		}
	}
	return nil
}

// reckon adds an assignment up from its containers.
func (s *Spec) reckon(a *Assignment) {
	a.EarnedMinor, a.KeptMinor, a.Held = 0, 0, nil
	for c := range s.Contracts {
		if s.Contracts[c].PromisedKg > 0 && a.of(c) == nil {
			a.Sales = append(a.Sales, Sale{Contract: c})
		}
	}
	slices.SortStableFunc(a.Sales, func(x, y Sale) int { return cmp.Compare(x.Contract, y.Contract) })
	gone := make([]bool, len(s.Stock))
	for i := range a.Sales {
		sale := &a.Sales[i]
		c := &s.Contracts[sale.Contract]
		sale.Kg, sale.NetMinor, sale.Means = 0, 0, nil
		for _, t := range sale.Takes {
			gone[t.Stock] = true
			sale.Kg += s.Stock[t.Stock].Kg
			sale.NetMinor += t.PerKg * s.Stock[t.Stock].Kg
		}
		sale.Loads = c.loads(sale.Kg)
		sale.FreightMinor = c.Freight.PerKg*sale.Kg + c.Freight.PerContainer*float64(len(sale.Takes)) + c.Freight.PerLoad*float64(sale.Loads)
		sale.ShortKg = max(0, c.PromisedKg-sale.Kg)
		if sale.Mixed {
			sale.Means = s.means(sale)
		}
		a.EarnedMinor += sale.NetMinor - sale.FreightMinor
	}
	for i := range s.Stock {
		if !gone[i] {
			a.Held = append(a.Held, i)
			a.KeptMinor += s.KeepPerKg * s.Stock[i].Kg
		}
	}
}

// loads is how many loads a mass comes to; 0 where freight is not by the load.
func (c *Contract) loads(kg float64) int {
	if c.Freight.PerLoad <= 0 || c.Freight.LoadKg <= 0 {
		return 0
	}
	return int(math.Ceil(kg/c.Freight.LoadKg - 1e-9))
}

// means are the properties of a mix that its contract asks for.
func (s *Spec) means(sale *Sale) (out []Mean) {
	c := &s.Contracts[sale.Contract]
	var parameters []string
	for _, l := range c.Limits {
		parameters = append(parameters, l.Parameter)
	}
	for _, d := range c.Terms.Discounts {
		parameters = append(parameters, d.Parameter)
	}
	stock, kg := s.stockOf(sale)
	for _, parameter := range parameters {
		if !slices.ContainsFunc(out, func(m Mean) bool { return m.Parameter == parameter }) {
			out = append(out, Mean{parameter, plan.MeanOf(parameter, stock, kg)})
		}
	}
	return out
}
