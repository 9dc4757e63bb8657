package sale

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// offer is what a contract pays for a kilogram of honey, less discount; or why the honey may not go.
type offer struct {
	perKg float64
	why   message.Text
	// kept is the probability with which it keeps the limit that it fails, fails that limit.
	kept  float64
	fails *plan.Limit
}

func (o *offer) open() bool { return o.why.IsEmpty() }

// class is containers that are alike but for their mass: of one lot, with the same known of each.
type class struct {
	stock  []int
	offers []offer
}

// classesOf parts the stock, and asks every contract what it pays for each class.
func (s *Spec) classesOf() []class {
	var out []class
	place := map[string]int{}
	for i := range s.Stock {
		key := alike(&s.Stock[i])
		at, known := place[key]
		if !known {
			at = len(out)
			place[key] = at
			out = append(out, class{})
		}
		out[at].stock = append(out[at].stock, i)
	}
	for k := range out {
		first := &s.Stock[out[k].stock[0]]
		for c := range s.Contracts {
			out[k].offers = append(out[k].offers, s.Contracts[c].offerFor(first, s.Probability))
		}
	}
	return out
}

// alike is a text that containers share which are alike but for their mass. How far a container may
// be off by itself counts, not by which name.
func alike(s *plan.Stock) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s|%s", s.Source, declaring(s.Declares))
	for _, parameter := range slices.Sorted(maps.Keys(s.Figures)) {
		f := s.Figures[parameter]
		fmt.Fprintf(&b, "|%s %g", parameter, f.Mean)
		for _, e := range f.Errors {
			if e.Key == s.Name {
				fmt.Fprintf(&b, " own %g", e.SD)
			} else {
				fmt.Fprintf(&b, " %s %g", e.Key, e.SD)
			}
		}
	}
	return b.String()
}

// declaring is a declaration as a text.
func declaring(d map[string][]string) string {
	var parts []string
	for _, attribute := range slices.Sorted(maps.Keys(d)) {
		parts = append(parts, attribute+"="+strings.Join(d[attribute], ","))
	}
	return strings.Join(parts, ";")
}

// aboutNever is a probability of which nobody asks how small it is.
const aboutNever = 0.01

// offerFor is what the contract pays for a container as it is.
func (c *Contract) offerFor(s *plan.Stock, probability float64) offer {
	if why := c.Refuses[s.Source]; !why.IsEmpty() {
		return offer{why: why}
	}
	for _, l := range c.limitsOf(s) {
		f, known := s.Figures[l.Parameter]
		if !known {
			return offer{why: message.F("its %s was not measured", standard.SayParameter(l.Parameter))}
		}
		// What the solver takes for nothing counts as nothing here as well.
		if kept := l.Kept(f); kept < aboutNever {
			return offer{why: message.F("its %s does not keep to %s", standard.SayParameter(l.Parameter), l.Said), kept: kept, fails: &l}
		} else if kept < probability-1e-9 {
			return offer{why: message.F("its %s keeps to %s with a probability of %s only", standard.SayParameter(l.Parameter), l.Said, message.Significant(kept, 2)), kept: kept, fails: &l}
		}
	}
	figures := map[string]float64{}
	for _, d := range c.Terms.Discounts {
		f, known := s.Figures[d.Parameter]
		if !known {
			return offer{why: message.F("the price depends on its %s, which was not measured", standard.SayParameter(d.Parameter))}
		}
		figures[d.Parameter] = f.Mean
	}
	perKg, err := c.pays(figures)
	if err != nil {
		return offer{why: message.F("the contract has no price for its figures")}
	}
	return offer{perKg: perKg}
}

// pays is what a kilogram of honey of some figures, each in its parameter's first unit, brings less
// discount.
func (c *Contract) pays(figures map[string]float64) (float64, error) {
	const parcel = 100_000_000 // grams: what is rounded to a cent then counts for nothing
	values := map[string]standard.Decimal{}
	for _, d := range c.Terms.Discounts {
		value, err := standard.ParseDecimal(strconv.FormatFloat(rounded(figures[d.Parameter]/unitFactor(d.Parameter, d.Unit)), 'f', -1, 64))
		if err != nil {
			return 0, err
		}
		values[d.Parameter] = value
	}
	got, err := c.Terms.Settle(standard.Parcel{NetGrams: parcel, Values: values})
	return float64(got.Net) * 1000 / parcel, err
}

// rounded keeps the digits of a figure that a result can have.
func rounded(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// unitFactor turns a figure of a parameter in a unit into the parameter's first unit.
func unitFactor(parameter, unit string) float64 {
	return cmp.Or(factors[[2]string{parameter, unit}], 1)
}

var factors = func() map[[2]string]float64 {
	out := map[[2]string]float64{}
	for _, p := range standard.Parameters() {
		for _, u := range p.Units {
			out[[2]string{p.ID, u.Name}] = u.Factor.Float64()
		}
	}
	return out
}()

// Brings is what a kilogram of a container brings under a contract less discount, in minor units; false where it
// may not go there by itself.
func (a *Answer) Brings(stock, contract int) (perKg float64, may bool) {
	o := &a.offers[stock][contract]
	return o.perKg, o.open()
}

// Step is a step of discount, with its ends in the parameter's first unit: it counts above Above, up to and
// including UpTo, and takes off a share of the price and so much of each kilogram, in minor units.
type Step struct {
	Parameter    string
	Above        float64
	UpTo         *float64
	Share, PerKg float64
}

// Steps are the steps by which a contract's price is lowered.
func (c *Contract) Steps() []Step {
	out := make([]Step, len(c.Terms.Discounts))
	for i, d := range c.Terms.Discounts {
		by := unitFactor(d.Parameter, d.Unit)
		out[i] = Step{Parameter: d.Parameter, Above: rounded(d.Above.Float64() * by)}
		if d.UpTo != nil {
			out[i].UpTo = new(rounded(d.UpTo.Float64() * by))
		}
		if d.Percent != nil {
			out[i].Share = d.Percent.Float64() / 100
		}
		if d.PerKg != nil {
			out[i].PerKg = d.PerKg.Float64()
		}
	}
	return out
}

// span is a stretch of a parameter's figures in which one step of discount counts: above low, up to
// high, in the first unit; nil is open.
type span struct {
	parameter string
	low, high *float64
	// within is a figure of the stretch.
	within float64
}

// spansOf parts the figures of a parameter where the price changes.
func (c *Contract) spansOf(parameter string) (out []span) {
	var ends []float64
	for _, d := range c.Terms.Discounts {
		if d.Parameter != parameter {
			continue
		}
		by := unitFactor(parameter, d.Unit)
		ends = append(ends, d.Above.Float64()*by)
		if d.UpTo != nil {
			ends = append(ends, d.UpTo.Float64()*by)
		}
	}
	slices.Sort(ends)
	ends = slices.Compact(ends)
	for i, end := range ends {
		s := span{parameter: parameter, high: new(end), within: end}
		if i > 0 {
			s.low = new(ends[i-1])
		}
		out = append(out, s)
	}
	last := ends[len(ends)-1]
	return append(out, span{parameter: parameter, low: new(last), within: last + 1})
}

// mostMixes is in how many ways of having a price a contract's honey is mixed.
const mostMixes = 16

// mixes are the ways in which a mix for the contract can have its price: which step of each
// parameter it comes to lie in. None where they are too many.
func (c *Contract) mixes() (out []mix) {
	ways := [][]span{nil}
	var done []string
	for _, d := range c.Terms.Discounts {
		if slices.Contains(done, d.Parameter) {
			continue
		}
		done = append(done, d.Parameter)
		var next [][]span
		for _, so := range ways {
			for _, s := range c.spansOf(d.Parameter) {
				next = append(next, append(slices.Clone(so), s))
			}
		}
		if ways = next; len(ways) > mostMixes {
			return nil
		}
	}
	for _, spans := range ways {
		figures := map[string]float64{}
		for _, s := range spans {
			figures[s.parameter] = s.within
		}
		if perKg, err := c.pays(figures); err == nil {
			out = append(out, mix{spans, perKg})
		}
	}
	return out
}

// mix is a way of having a price.
type mix struct {
	spans []span
	perKg float64
}

// limits are what the mean of the mix has to keep to for its price.
func (m *mix) limits() (out []plan.Limit) {
	for _, s := range m.spans {
		out = append(out, plan.Limit{Parameter: s.parameter, Low: s.low, High: s.high})
	}
	return out
}
