package sale

import (
	"math"
	"slices"
)

// bettering is an assignment that is bettered container by container: what the program left out because
// it took containers for one another, parted them, or had no more time. Honey that goes as a mix stays where
// it is.
type bettering struct {
	spec   *Spec
	offers [][]offer
	gains  [][]float64
	// to is by container its contract, -1 where it stays; loose are those that may be moved.
	to    []int
	loose []int
	kg    []float64
	mixed []Sale
	// plain says of contracts that their mass costs nothing: nothing is promised, and freight is not by
	// the load.
	plain []bool
	// missing is what it is said to cost to miss a kilogram of a promise: so much that nothing pays for it.
	missing float64
}

// leastGain is for how much less a container is not moved, in minor units.
const leastGain = 1e-3

// timesDearest is how many times as much as the dearest honey a kilogram counts that is missed.
const timesDearest = 1000

func (x *search) better(to []int, mixed []Sale) *bettering {
	s := x.spec
	b := &bettering{spec: s, offers: x.offers, gains: x.gains, to: slices.Clone(to), kg: make([]float64, len(s.Contracts)), mixed: mixed, missing: timesDearest * (1 + s.dearest())}
	for c := range s.Contracts {
		b.plain = append(b.plain, s.Contracts[c].PromisedKg <= 0 && s.Contracts[c].Freight.PerLoad <= 0)
	}
	gone := make([]bool, len(s.Stock))
	for i := range mixed {
		b.close(func(_, contract int) bool { return contract == mixed[i].Contract })
		for _, t := range mixed[i].Takes {
			gone[t.Stock] = true
		}
	}
	for i := range b.to {
		if !gone[i] {
			b.loose = append(b.loose, i)
		}
	}
	b.weigh()
	return b
}

// weigh adds up what goes to each contract apart.
func (b *bettering) weigh() {
	clear(b.kg)
	for _, i := range b.loose {
		if c := b.to[i]; c >= 0 {
			b.kg[c] += b.spec.Stock[i].Kg
		}
	}
}

// from betters an assignment.
func (x *search) from(a *Assignment) *bettering {
	to := x.spec.nowhere()
	var mixed []Sale
	for _, sale := range a.Sales {
		if sale.Mixed {
			mixed = append(mixed, sale)
			continue
		}
		for _, t := range sale.Takes {
			to[t.Stock] = sale.Contract
		}
	}
	return x.better(to, mixed)
}

// close keeps containers from contracts, and takes those out that go there.
func (b *bettering) close(shut func(stock, contract int) bool) {
	b.gains = slices.Clone(b.gains)
	for i := range b.gains {
		b.gains[i] = slices.Clone(b.gains[i])
		for c := range b.gains[i] {
			if shut(i, c) {
				b.gains[i][c] = math.Inf(-1)
				if b.to[i] == c {
					b.move(i, -1)
				}
			}
		}
	}
}

// cost is what a mass of a contract costs beside its containers: freight by the load, and what is missed.
func (b *bettering) cost(c int, kg float64) float64 {
	k := &b.spec.Contracts[c]
	return b.missing*max(0, k.PromisedKg-kg) + k.Freight.PerLoad*float64(k.loads(kg))
}

// change is what it brings that a contract gets so many kilograms more; endlessly little where it does not
// take them.
func (b *bettering) change(c int, by float64) float64 {
	if c < 0 {
		return 0
	}
	kg := b.kg[c] + by
	if by > 0 && kg > b.spec.Contracts[c].MostKg+1e-8 { // sums of many masses
		return math.Inf(-1)
	}
	if b.plain[c] {
		return 0
	}
	return b.cost(c, b.kg[c]) - b.cost(c, kg)
}

// gain is what a container brings where it goes.
func (b *bettering) gain(i, c int) float64 {
	if c < 0 {
		return 0
	}
	return b.gains[i][c]
}

func (b *bettering) move(i, c int) {
	kg := b.spec.Stock[i].Kg
	if was := b.to[i]; was >= 0 {
		b.kg[was] -= kg
	}
	if b.to[i] = c; c >= 0 {
		b.kg[c] += kg
	}
}

// place moves a container to where it brings the most, and reports whether that is elsewhere.
func (b *bettering) place(i int) bool {
	was, kg := b.to[i], b.spec.Stock[i].Kg
	most, at := leastGain, was
	leaves := b.change(was, -kg) - b.gain(i, was)
	for c := -1; c < len(b.kg); c++ {
		if c != was {
			if by := b.gain(i, c) + leaves + b.change(c, kg); by > most {
				most, at = by, c
			}
		}
	}
	if at != was {
		b.move(i, at)
	}
	return at != was
}

// exchange has a container change places with the one with which that brings the most, and reports whether
// there is one.
func (b *bettering) exchange(i int) bool {
	was, kg := b.to[i], b.spec.Stock[i].Kg
	most, with, mine := leastGain, -1, b.gain(i, was)
	plain := was < 0 || b.plain[was]
	for _, j := range b.loose {
		c := b.to[j]
		if c == was {
			continue
		}
		by := b.gain(j, was) + b.gain(i, c) - mine - b.gain(j, c)
		if by <= most && plain && (c < 0 || b.plain[c]) {
			continue
		}
		more := b.spec.Stock[j].Kg - kg
		if by += b.change(was, more) + b.change(c, -more); by > most {
			most, with = by, j
		}
	}
	if with < 0 {
		return false
	}
	c := b.to[with]
	b.move(i, -1)
	b.move(with, was)
	b.move(i, c)
	return true
}

// fill moves each container once to where it brings the most.
func (b *bettering) fill() (any bool) {
	for _, i := range b.loose {
		any = b.place(i) || any
	}
	return any
}

// lookEvery is after how many containers the clock is looked at.
const lookEvery = 64

// run moves containers one by one, and two against each other, until nothing is to be had by that, or the time
// is over.
func (b *bettering) run(over func() bool) {
	for any := true; any; {
		b.weigh()
		any = b.fill()
		for n, i := range b.loose {
			if n%lookEvery == 0 && over() {
				return
			}
			for b.exchange(i) {
				any = true
			}
		}
	}
}

// bettered is what an assignment comes to that was bettered; it is bounded as it was.
func (b *bettering) bettered(was *Assignment, over func() bool) *Assignment {
	b.run(over)
	a := b.assignment()
	a.stopped, a.BoundMinor = was.stopped, max(was.BoundMinor, a.WorthMinor())
	return a
}

// assignment is what all comes to.
func (b *bettering) assignment() *Assignment {
	a := &Assignment{within: b.spec.within(), Sales: slices.Clone(b.mixed)}
	sales := make([]Sale, len(b.spec.Contracts))
	for _, i := range b.loose {
		if c := b.to[i]; c >= 0 {
			sales[c].Contract, sales[c].Takes = c, append(sales[c].Takes, Take{i, b.offers[i][c].perKg})
		}
	}
	for c := range sales {
		if len(sales[c].Takes) > 0 {
			a.Sales = append(a.Sales, sales[c])
		}
	}
	b.spec.reckon(a)
	return a
}
