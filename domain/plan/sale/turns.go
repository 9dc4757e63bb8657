package sale

import (
	"math"
	"slices"
	"strconv"

	"pullbook/domain/optimum"
	"pullbook/domain/standard"
)

// PriceTurn is from which price of a contract on another assignment is the best, all else being as it is: in minor
// units a kilogram, nil where the same is the best down to half the price, or up to half as much again.
type PriceTurn struct {
	Below, Above *float64
	// Known is false where that was not found out.
	Known bool
}

const (
	// farPrice is how far off a price is looked at, as a share of it.
	farPrice = 0.5
	// turnSteps is how many steps are taken towards the price that turns a plan.
	turnSteps = 12
	// finer is how many times as closely as usual is searched for the price.
	finer = 10
)

// priceTurns are those of the best assignment, by contract. They are not known where there are too many pairs, the
// best was not proved, or the time was over first.
func (x *search) priceTurns(best *Assignment, most optimum.Effort) ([]PriceTurn, error) {
	out := make([]PriceTurn, len(x.spec.Contracts))
	if len(x.pairs) > mostPairs || !best.Proved() {
		return out, nil
	}
	left, over := most.Left(), over(most)
	for c := range out {
		below, downKnown, err := x.turnOf(best, c, 1-farPrice, left)
		if err != nil {
			return nil, err
		}
		above, upKnown, err := x.turnOf(best, c, 1+farPrice, left)
		if err != nil || over() {
			return out, err
		}
		out[c] = PriceTurn{below, above, downKnown && upKnown}
	}
	return out, nil
}

// turnOf is the price at which another assignment becomes as good as the best, between a contract's price and so
// many times as much; nil where none does. Each step finds the best at a price; where that beats this one, the price
// follows at which both are as good, since what an assignment comes to goes straight with the price. So the steps
// come to the first price that turns it. It is not known where a search was not over.
func (x *search) turnOf(best *Assignment, c int, far float64, left func() optimum.Effort) (at *float64, known bool, err error) {
	price := x.spec.Contracts[c].Terms.PricePerKg.Float64()
	asked := price * far
	for range turnSteps {
		other := x.spec.at(c, asked)
		y := newSearch(other, other.classesOf())
		found, err := y.best(left())
		if err != nil || !found.Proved() {
			return nil, false, err
		}
		now, then := max(0, x.worthOf(best)-x.worthOf(found)), y.worthOf(best)-y.worthOf(found)
		switch {
		case math.IsInf(now, 0) || math.IsInf(then, 0) || math.IsNaN(now) || math.IsNaN(then):
			return nil, false, nil // a price that is less than its discount
		case then >= -other.Within:
			return at, true, nil
		}
		asked = price + (asked-price)*now/(now-then)
		if at = new(asked); now == 0 {
			return at, true, nil
		}
	}
	return at, true, nil
}

// at is the same with another price of a contract.
func (s *Spec) at(contract int, price float64) *Spec {
	out := *s
	out.Within = s.within() / finer
	out.Contracts = slices.Clone(s.Contracts)
	terms := *s.Contracts[contract].Terms
	terms.PricePerKg = standard.MustDecimal(strconv.FormatFloat(price, 'f', 6, 64))
	out.Contracts[contract].Terms = &terms
	return &out
}

// worthOf is what an assignment comes to at the prices of a search; endlessly little where one of its containers has
// no price.
func (x *search) worthOf(a *Assignment) (minor float64) {
	minor = x.kept()
	for i := range a.Sales {
		sale := &a.Sales[i]
		for _, t := range sale.Takes {
			minor += x.gains[t.Stock][sale.Contract]
		}
		minor -= x.spec.Contracts[sale.Contract].Freight.PerLoad * float64(sale.Loads)
	}
	return minor
}
