package standard

import "pullbook/domain/message"

// Sentence says the verdict in plain words: parameter, outcome, value, limit,
// margin, probability, clause, and what is not known for sure.
func (v *LimitVerdict) Sentence() message.Text {
	s := message.F("%s %s", message.Capital(v.Limit.SaidParameter()), SayOutcome(v.Outcome.String()))
	if v.HasValue {
		s = message.F("%s: %s against %s", s, v.Value(), v.Limit.Said())
		if v.Compared.Cmp(v.High) != 0 && v.Compared.Cmp(v.Low) != 0 {
			s = message.F("%s, rounded to %s", s, v.Compared.Said())
		}
	} else if v.Outcome != DoesNotApply {
		s = message.F("%s: the limit is %s", s, v.Limit.Said())
	}
	if v.ContainerID != "" && v.Outcome > Meets && len(v.ContainersOutside) == 0 {
		s = message.F("%s; this is container %s", s, v.ContainerID)
	}
	if v.MeasuredOn != "" {
		s = message.F("%s; %s", s, v.sayAge())
	}
	if why := v.Why(); !why.IsEmpty() {
		s = message.F("%s; %s", s, why)
	}
	if v.Outcome == Fails && len(v.ContainersOutside) > 0 {
		s = message.F("%s; outside: %s: take them out of the lot, or blend them", s, quotedList(v.ContainersOutside))
	}
	if v.ProbabilityKnown {
		s = message.F("%s; probability that the true value conforms %s", s, v.probability())
	}
	s = message.F("%s (%s)", s, SayClause(v.Limit.Clause))
	if v.FromMemory() {
		return message.F("%s. This limit was written down from memory: check the text before it decides a sale.", s)
	}
	return message.F("%s.", s)
}

// probability is a bound where the value was reported as one.
func (v *LimitVerdict) probability() message.Text {
	p := message.Number{V: v.Probability, Places: 3}
	switch {
	case v.Low.Cmp(v.High) == 0:
		return message.F("%s", p)
	case v.Outcome == Fails:
		return message.F("at most %s", p)
	}
	return message.F("at least %s", p)
}

// Value is the value with its expanded uncertainty (k = 2) and unit.
func (v *LimitVerdict) Value() message.Text {
	if !v.HasValue {
		return message.Text{}
	}
	_, high, _ := v.shown()
	text := message.F("%s", high.Said())
	if v.Low.Cmp(v.High) != 0 {
		text = v.censored()
	}
	if v.UncertaintyKnown {
		text = message.F("%s +/- %s", text, message.Significant(defaultCoverageFactor*v.StdUncertainty, 2))
	}
	return message.F("%s %s", text, SayUnit(v.Limit.Unit))
}

func (v *LimitVerdict) censored() message.Text {
	l := v.Limit
	low, high, _ := v.shown()
	if least := l.parameter.Minimum; least != nil && inUnit(*least, l.unit).Cmp(v.Low) == 0 {
		return message.F("less than %s", high.Said())
	}
	if most := l.parameter.Maximum; most != nil && inUnit(*most, l.unit).Cmp(v.High) == 0 {
		return message.F("more than %s", low.Said())
	}
	return message.F("between %s and %s", low.Said(), high.Said())
}

// Why gives the reason for the outcome where value and limit alone do not.
func (v *LimitVerdict) Why() message.Text {
	switch v.Reason {
	case ReasonConditionNotMet:
		return message.F("it applies only when %s", v.Limit.When.Said())
	case ReasonOutranked:
		return message.F("a line made for this lot's declaration takes its place")
	case ReasonConditionUnknown:
		return message.F("a missing result would say whether it applies: %s", v.Limit.When.Said())
	case ReasonExempt:
		return message.F("the standard sets no limit when %s", v.Limit.When.Said())
	case ReasonPermission:
		return message.F("the line only allows something, so no lot can fail it")
	case ReasonOtherClass:
		return message.F("the value lies in another class")
	case ReasonNoResult:
		return message.F("there is no result")
	case ReasonOnlyInProcess:
		return message.F("it was measured only before processing or blending was over")
	case ReasonContainersNeeded:
		return message.F("each container counts here, and only a sample of the whole lot was measured")
	case ReasonLessThanUndecided:
		return message.F("the result says only less or more than a figure, which does not decide")
	case ReasonRestsOnUnmeasured:
		return message.F("a missing result would say which line applies")
	case ReasonWithinGuard:
		return message.F("it is too close to the limit for the margin that the rule asks for")
	case ReasonUncertaintyUnknown:
		return message.F("the rule needs to know how far off the result may be, and nobody said")
	case ReasonMeasureAgain:
		return message.F("by now it may have passed the limit: measure again")
	case ReasonTooOld:
		return message.F("its results are older than the rule set allows: measure again")
	case ReasonFilledSince:
		return message.F("no sample was taken since these were filled: %s: take one", quotedList(v.Unread))
	case ReasonExpectedOutside:
		return message.F("by what the book knows of the honey in them, these are outside, and nobody measured them: %s: measure each", quotedList(v.Unread))
	case ReasonNobodyLooked:
		return message.F("nobody looked, and this line holds only where somebody did")
	case ReasonTooFewContainers:
		if v.Required == 0 {
			return message.F("%s containers sampled, the plan asks for a number that depends on the size of the lot, which is not known", v.Sampled)
		}
		return message.F("%s containers sampled, the plan asks for %s", v.Sampled, v.Required)
	}
	return message.Text{}
}

// Notices says what a reader of the check has to know besides the verdicts:
// edition, decision rule, rounding, sampling, and what is from memory.
func (c *Check) Notices() []message.Text {
	notices := []message.Text{
		message.F("Checked against %s as in force on %s.", c.RuleSet.Said(), c.On.Said()),
		message.F("Decision rule: %s. %s", c.Rule.Said(), c.roundingNotice()),
	}
	if c.RuleSet.Undated() {
		notices = append(notices, message.F("The text carries no date, so whether it is in force was not checked."))
	}
	if c.LotSize > 0 {
		notices = append(notices, message.F("The lot has %s containers, of which %s are to be sampled: %s.", c.LotSize, c.Required, sayPlan(c.Plan)))
	} else {
		notices = append(notices, message.F("The number of containers in the lot is not known, so the sampling was not compared with a plan."))
	}
	few := map[string]bool{} // a rule set may have many lines for one parameter
	for i := range c.Verdicts {
		v := &c.Verdicts[i]
		parameter := v.Limit.SaidParameter()
		if v.HasValue && c.Required > 0 && v.Sampled < c.Required && !few[v.Limit.Parameter] {
			few[v.Limit.Parameter] = true
			notices = append(notices, message.F("%s rests on %s sampled containers of the %s asked for.", message.Capital(parameter), v.Sampled, c.Required))
		}
		if len(v.ContainersOutside) > 0 {
			notices = append(notices, message.F("Taken one by one, these containers are outside %s for %s: %s.", v.Limit.Said(), parameter, quotedList(v.ContainersOutside)))
		}
	}
	if c.RestsOnMemory() {
		notices = append(notices, message.F("Some limits that decided are known only from memory; check the text before they decide a sale."))
	}
	return notices
}

func (c *Check) roundingNotice() message.Text {
	r := c.RuleSet.Rounding
	switch {
	case r == nil || r.Method == "absolute":
		return message.F("Every digit of a result counts; the text as read has no rounding clause.")
	case r.Method == "half_even":
		return message.F("Results are rounded to the places of the limit, a half to the even digit, unless a guard band is kept.")
	}
	return message.F("Results are rounded to the places of the limit, a half away from zero, unless a guard band is kept.")
}

// RestsOnMemory tells whether any line that applied is known only from memory.
func (c *Check) RestsOnMemory() bool {
	for i := range c.Verdicts {
		if c.Verdicts[i].Outcome != DoesNotApply && c.Verdicts[i].FromMemory() {
			return true
		}
	}
	return false
}
