package standard

import (
	"fmt"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/message"
)

// DecisionRule says how far inside a limit a result must lie to be accepted and
// how far outside to be rejected, after JCGM 106:2012 clause 8. The guard band is
// w = r U with U = k u. Between the two a result is too close to call.
//
// The zero value is simple acceptance: the result itself decides.
type DecisionRule struct {
	AcceptR        float64 `json:"accept_r"`        // guard band of acceptance, as a multiple of U
	RejectR        float64 `json:"reject_r"`        // guard band of rejection, as a multiple of U
	CoverageFactor float64 `json:"coverage_factor"` // k; 0 means 2
}

// SimpleAcceptance is the rule of the published standards: no guard band.
func SimpleAcceptance() DecisionRule { return DecisionRule{} }

const defaultCoverageFactor = 2

func (d DecisionRule) coverage() float64 {
	if d.CoverageFactor == 0 {
		return defaultCoverageFactor
	}
	return d.CoverageFactor
}

func (d DecisionRule) validate(field string, p *problems) {
	for _, part := range []struct {
		name  string
		value float64
		most  float64
	}{{"accept_r", d.AcceptR, 5}, {"reject_r", d.RejectR, 5}, {"coverage_factor", d.CoverageFactor, 5}} {
		if !(part.value >= 0 && part.value <= part.most) {
			p.add(field+"/"+part.name, fmt.Sprint(part.value), "a number from 0 to %s", message.Figure(part.most))
		}
	}
}

// String names the rule as a verdict states it.
func (d DecisionRule) String() string { return d.Said().String() }

// Said is String in a sentence.
func (d DecisionRule) Said() message.Text {
	accept, reject, k := message.Figure(d.AcceptR), message.Figure(d.RejectR), message.Figure(d.coverage())
	switch {
	case d.AcceptR > 0 && d.RejectR > 0:
		return message.F("guarded acceptance with w = %s U and guarded rejection with w = %s U, U = %s u", accept, reject, k)
	case d.AcceptR > 0:
		return message.F("guarded acceptance with w = %s U, U = %s u", accept, k)
	case d.RejectR > 0:
		return message.F("guarded rejection with w = %s U, U = %s u", reject, k)
	}
	return message.F("simple acceptance")
}

// conformance is the probability that the true value lies within the bounds,
// given the result y and its standard uncertainty u, both in the unit of the
// bounds: JCGM 106:2012 clause 7, for a normal distribution.
func conformance(y, u float64, lower, upper bound) float64 {
	if u == 0 { // without uncertainty the ends count as they are written
		exact := decimalFromFloat(y)
		if lower.set && !lower.inside(exact, lowerSide, 0) || upper.set && !upper.inside(exact, upperSide, 0) {
			return 0
		}
		return 1
	}
	if !upper.set {
		return distuv.UnitNormal.CDF((y - lower.at.Float64()) / u)
	}
	p := distuv.UnitNormal.CDF((upper.at.Float64() - y) / u)
	if lower.set {
		p -= distuv.UnitNormal.CDF((lower.at.Float64() - y) / u)
	}
	return max(0, p)
}

const (
	lowerSide = +1
	upperSide = -1
)

// margin is how far inside the bound a value lies; negative outside.
func (b bound) margin(value Decimal, side int) Decimal {
	if side == lowerSide {
		return value.Sub(b.at)
	}
	return b.at.Sub(value)
}

// open says of a figure on which side of it the true value lies without ever being
// it: "less than 8" is below 8. The zero value is the figure itself.
type open int

const (
	openBelow open = -1
	openAbove open = +1
)

// ends tells whether a figure that lies on the bound counts as inside.
func (b bound) ends(side int, o open) bool { return o == 0 && b.inclusive || int(o) == side }

// admits tells whether a margin reaches w: w = 0 is the bound itself, a positive
// w lies inside it and a negative one outside.
func (b bound) admits(margin, w Decimal, side int, o open) bool {
	order := margin.Sign()
	if w.Sign() != 0 {
		order = margin.Cmp(w)
	}
	return order > 0 || order == 0 && b.ends(side, o)
}

// inside tells whether the value lies on the accepted side of the bound.
func (b bound) inside(value Decimal, side int, o open) bool {
	order := value.Cmp(b.at) * side
	return order > 0 || order == 0 && b.ends(side, o)
}
