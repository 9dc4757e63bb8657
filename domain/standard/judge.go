package standard

import "github.com/shopspring/decimal"

// LimitVerdict is the answer for one line of a rule set, with all the figures it
// rests on. Figures are in the unit of the limit.
type LimitVerdict struct {
	Limit   *Limit
	Outcome Outcome
	Reason  Reason

	HasValue bool
	// Low and High are the value judged; they differ for a "less than" result.
	Low, High Decimal
	// Compared is the value after the rounding of the standard, which is what was
	// held against the limit.
	Compared         Decimal
	StdUncertainty   float64
	UncertaintyKnown bool
	Guard            Decimal // distance kept from the limit before accepting
	// Margin is how far inside the nearest end of the limit the value lies;
	// negative outside.
	Margin Decimal
	// Probability that the true value conforms. For a "less than" result it is a
	// bound: at least this when the line is met, at most this when it is failed.
	Probability      float64
	ProbabilityKnown bool

	// Measured is the figure as it was measured, of the day MeasuredOn, AgeDays before the
	// day of the check; where it was not carried to that day, MeasuredOn is empty. Assumed
	// says that nobody wrote how warm it stood meanwhile.
	Measured   Decimal
	MeasuredOn Date
	AgeDays    int
	Assumed    bool

	ContainerID string // the container that decided, where each container counts
	// ContainersOutside lists containers that by themselves lie outside the limit.
	ContainersOutside []string
	// Unread lists containers that no result speaks for: they were filled after the last
	// sample, or are expected outside the limit.
	Unread   []string
	Sampled  int // containers measured, or in the composite
	Required int // containers that the sampling plan asks for, 0 when it cannot be told

	within bool // inside the limit by the value alone, whatever the decision rule
}

// FromMemory tells whether the limit is known only from memory and has to be
// checked in the text before it decides a sale.
func (v *LimitVerdict) FromMemory() bool { return v.Limit.Source.FromMemory }

// value is what a line is compared with, in the unit of the limit.
type value struct {
	ends
	age       *age
	low, high Decimal
	u         float64
	uKnown    bool
}

func (l *Limit) convert(low, high Decimal, e ends, a *age, u float64, uKnown bool) value {
	if !l.unit.same {
		u /= l.unit.Factor.Float64()
	}
	if a != nil {
		a = &age{inUnit(a.measured, l.unit), a.on, a.assumed}
	}
	return value{e, a, inUnit(low, l.unit), inUnit(high, l.unit), u, uKnown}
}

// judge holds one value against the line.
func (l *Limit) judge(v value, rule DecisionRule, rounding *Rounding) LimitVerdict {
	verdict := LimitVerdict{Limit: l, HasValue: true, Low: v.low, High: v.high, StdUncertainty: v.u, UncertaintyKnown: v.uKnown}
	verdict.Guard = l.guard
	rejectGuard := Decimal{}
	if v.uKnown {
		expanded := rule.coverage() * v.u
		if rule.AcceptR > 0 {
			verdict.Guard = verdict.Guard.Add(decimalFromFloat(rule.AcceptR * expanded))
		}
		if rule.RejectR > 0 {
			rejectGuard = decimalFromFloat(rule.RejectR * expanded)
		}
	}
	if verdict.Guard.Sign() > 0 || rule.AcceptR > 0 || rule.RejectR > 0 {
		rounding = nil // a guard band is laid on the value as measured, never on a rounded one
	}
	high := l.judgePoint(v.high, v.atHigh(), verdict.Guard, rejectGuard, v.uKnown, rule, rounding)
	point := high
	if v.low.Cmp(v.high) != 0 {
		low := l.judgePoint(v.low, v.atLow(), verdict.Guard, rejectGuard, v.uKnown, rule, rounding)
		if point = l.reconcile(low, high); v.age != nil && point.reason == ReasonLessThanUndecided {
			point.reason = ReasonMeasureAgain
		}
	}
	if v.age != nil {
		verdict.Measured, verdict.MeasuredOn, verdict.Assumed = v.age.measured, v.age.on, v.age.assumed
	}
	verdict.Outcome, verdict.Reason, verdict.within = point.outcome, point.reason, point.within
	verdict.Compared, verdict.Margin = point.compared, point.margin
	l.addProbability(&verdict, v)
	return verdict
}

// shown is the value and its margin as people read them: a mean to two places, or to
// as many as it takes to see on which side of the limit it lies.
func (v *LimitVerdict) shown() (low, high, margin Decimal) {
	places := int32(2)
	for places < quotientPlaces && (places <= v.limitPlaces() || v.Margin.short(places).Sign() != v.Margin.Sign()) {
		places++
	}
	return v.Low.short(places), v.High.short(places), v.Margin.short(places)
}

func (v *LimitVerdict) limitPlaces() int32 {
	return max(v.Limit.lower.at.Places(), v.Limit.upper.at.Places())
}

// Shown is the value, the upper end of it where it is an interval, and its margin, as
// people read them. What was compared had all its digits.
func (v *LimitVerdict) Shown() (value, margin Decimal) {
	_, value, margin = v.shown()
	return value, margin
}

// contains tells whether a value lies inside the limit by itself, without
// uncertainty or guard. A "less than" value is inside unless all of it is outside.
func (l *Limit) contains(v value, rounding *Rounding) bool {
	highIn := l.containsPoint(v.high, v.atHigh(), rounding)
	return highIn || v.low.Cmp(v.high) != 0 && l.containsPoint(v.low, v.atLow(), rounding)
}

func (l *Limit) containsPoint(y Decimal, o open, rounding *Rounding) bool {
	return (!l.lower.set || l.lower.inside(rounding.apply(y, l.lower.at), lowerSide, o)) &&
		(!l.upper.set || l.upper.inside(rounding.apply(y, l.upper.at), upperSide, o))
}

// pointVerdict is the answer for a single figure.
type pointVerdict struct {
	outcome          Outcome
	reason           Reason
	within           bool
	compared, margin Decimal
}

func (l *Limit) judgePoint(y Decimal, o open, acceptGuard, rejectGuard Decimal, uKnown bool, rule DecisionRule, rounding *Rounding) pointVerdict {
	p := pointVerdict{compared: y, within: true}
	accepted, rejected, nearest := true, false, false
	for _, end := range []struct {
		bound
		side int
	}{{l.lower, lowerSide}, {l.upper, upperSide}} {
		if !end.set {
			continue
		}
		compared := rounding.apply(y, end.at)
		margin := end.margin(compared, end.side)
		if !nearest || margin.Cmp(p.margin) < 0 {
			p.compared, p.margin, nearest = compared, margin, true
		}
		p.within = p.within && end.admits(margin, Decimal{}, end.side, o)
		accepted = accepted && end.admits(margin, acceptGuard, end.side, o)
		rejected = rejected || !end.admits(margin, rejectGuard.negated(), end.side, o)
	}
	switch {
	case !uKnown && (p.within && rule.AcceptR > 0 || !p.within && rule.RejectR > 0):
		p.outcome, p.reason = TooClose, ReasonUncertaintyUnknown
	case accepted:
		p.outcome = Meets
	case rejected:
		p.outcome = Fails
	default:
		p.outcome, p.reason = TooClose, ReasonWithinGuard
	}
	return p
}

// reconcile gives the answer for a "less than" result: what holds at both of its
// ends holds for it, anything else is undecided.
func (l *Limit) reconcile(low, high pointVerdict) pointVerdict {
	straddles := l.lower.set && l.upper.set && low.outcome == Fails && high.outcome == Fails &&
		!l.lower.inside(low.compared, lowerSide, 0) && !l.upper.inside(high.compared, upperSide, 0)
	worse := high
	if low.margin.Cmp(high.margin) < 0 {
		worse = low
	}
	if low.outcome == high.outcome && !straddles {
		return worse
	}
	worse.outcome, worse.reason = NotMeasured, ReasonLessThanUndecided
	return worse
}

func (l *Limit) addProbability(verdict *LimitVerdict, v value) {
	if !v.uKnown || verdict.Outcome == NotMeasured {
		return
	}
	verdict.ProbabilityKnown = true
	verdict.Probability = conformance(v.high.Float64(), v.u, l.lower, l.upper)
	if v.low.Cmp(v.high) == 0 {
		return
	}
	other := conformance(v.low.Float64(), v.u, l.lower, l.upper)
	if verdict.Outcome == Fails {
		verdict.Probability = max(verdict.Probability, other)
	} else {
		verdict.Probability = min(verdict.Probability, other)
	}
}

// apply rounds to the places of the limit as written; nil and "absolute" leave
// every digit.
func (r *Rounding) apply(y, limit Decimal) Decimal {
	if r == nil || y.Places() <= limit.Places() {
		return y
	}
	switch r.Method {
	case "half_even":
		return Decimal{y.d.RoundBank(limit.Places())}
	case "half_up":
		return Decimal{roundHalfUp(y.d, limit.Places())}
	default:
		return y
	}
}

// roundHalfUp rounds a half away from zero.
func roundHalfUp(d decimal.Decimal, places int32) decimal.Decimal { return d.Round(places) }
