package standard

import (
	"fmt"
	"strings"

	"pullbook/domain/say"
)

// Sentence says the verdict in plain words: parameter, outcome, value, limit,
// margin, probability, clause, and what is not known for sure.
func (v *LimitVerdict) Sentence() string {
	var s strings.Builder
	fmt.Fprintf(&s, "%s %s", capitalised(v.Limit.parameter.Name), v.Outcome)
	if v.HasValue {
		fmt.Fprintf(&s, ": %s against %s", v.ValueText(), v.Limit.Bounds())
		if v.Compared.Cmp(v.High) != 0 && v.Compared.Cmp(v.Low) != 0 {
			fmt.Fprintf(&s, ", rounded to %s", v.Compared)
		}
	} else if v.Outcome != DoesNotApply {
		fmt.Fprintf(&s, ": the limit is %s", v.Limit.Bounds())
	}
	if why := v.Why(); !why.IsEmpty() {
		fmt.Fprintf(&s, "; %s", why)
	}
	if v.ProbabilityKnown {
		fmt.Fprintf(&s, "; probability that the true value conforms %s%.3f", v.probabilityBound(), v.Probability)
	}
	fmt.Fprintf(&s, " (%s)", v.Limit.Clause)
	if v.FromMemory() {
		s.WriteString(". The limit is from memory: check the text before it decides a sale")
	}
	s.WriteString(".")
	return s.String()
}

func (v *LimitVerdict) probabilityBound() string {
	switch {
	case v.Low.Cmp(v.High) == 0:
		return ""
	case v.Outcome == Fails:
		return "at most "
	}
	return "at least "
}

// ValueText is the value with its expanded uncertainty (k = 2) and unit.
func (v *LimitVerdict) ValueText() string {
	if !v.HasValue {
		return ""
	}
	text := v.High.String()
	if v.Low.Cmp(v.High) != 0 {
		text = v.censoredText()
	}
	if v.UncertaintyKnown {
		text += fmt.Sprintf(" +/- %.2g", defaultCoverageFactor*v.StdUncertainty)
	}
	return text + " " + v.Limit.Unit
}

func (v *LimitVerdict) censoredText() string {
	l := v.Limit
	if least := l.parameter.Minimum; least != nil && inUnit(*least, l.unit).Cmp(v.Low) == 0 {
		return "less than " + v.High.String()
	}
	if most := l.parameter.Maximum; most != nil && inUnit(*most, l.unit).Cmp(v.High) == 0 {
		return "more than " + v.Low.String()
	}
	return fmt.Sprintf("between %s and %s", v.Low, v.High)
}

// Why gives the reason for the outcome where value and limit alone do not.
func (v *LimitVerdict) Why() say.Text {
	switch v.Reason {
	case ReasonConditionNotMet:
		return say.F("it applies only when %s", v.Limit.When.String())
	case ReasonOutranked:
		return say.F("a line made for this lot's declaration takes its place")
	case ReasonConditionUnknown:
		return say.F("whether it applies rests on a result that is missing: %s", v.Limit.When.String())
	case ReasonExempt:
		return say.F("the standard sets no limit when %s", v.Limit.When.String())
	case ReasonPermission:
		return say.F("the line allows something and cannot be failed")
	case ReasonOtherClass:
		return say.F("the value lies in another class")
	case ReasonNoResult:
		return say.F("there is no result")
	case ReasonOnlyInProcess:
		return say.F("it was measured only before processing or blending was over")
	case ReasonContainersNeeded:
		return say.F("each container counts here, and only a sample of the whole lot was measured")
	case ReasonLessThanUndecided:
		return say.F("the result was reported only as a bound, which does not decide")
	case ReasonRestsOnUnmeasured:
		return say.F("which line applies rests on a result that is missing")
	case ReasonWithinGuard:
		return say.F("it lies within the guard band")
	case ReasonUncertaintyUnknown:
		return say.F("the decision rule needs an uncertainty and none was stated")
	case ReasonTooFewContainers:
		if v.Required == 0 {
			return say.F("%s containers sampled, the plan asks for a number that depends on the size of the lot, which is not known", v.Sampled)
		}
		return say.F("%s containers sampled, the plan asks for %s", v.Sampled, v.Required)
	}
	return say.Text{}
}

// Notices says what a reader of the check has to know besides the verdicts:
// edition, decision rule, rounding, sampling, and what is from memory.
func (c *Check) Notices() []string {
	notices := []string{
		fmt.Sprintf("Checked against %s as in force on %s.", c.RuleSet.Name(), c.On),
		fmt.Sprintf("Decision rule: %s. %s", c.Rule, c.roundingNotice()),
	}
	if c.RuleSet.Undated() {
		notices = append(notices, "The text carries no date, so whether it is in force was not checked.")
	}
	if c.LotSize > 0 {
		notices = append(notices, fmt.Sprintf("The lot has %d containers; %s (%s) asks for %d of them.", c.LotSize, c.Plan.ID, c.Plan.Title, c.Required))
	} else {
		notices = append(notices, "The number of containers in the lot is not known, so sampling was not held against a plan.")
	}
	for i := range c.Verdicts {
		v := &c.Verdicts[i]
		if v.HasValue && c.Required > 0 && v.Sampled < c.Required {
			notices = append(notices, fmt.Sprintf("%s rests on %d sampled containers of the %d asked for.", capitalised(v.Limit.parameter.Name), v.Sampled, c.Required))
		}
		if len(v.ContainersOutside) > 0 {
			notices = append(notices, fmt.Sprintf("By themselves these containers lie outside %s for %s: %s.", v.Limit.Bounds(), v.Limit.parameter.Name, quotedList(v.ContainersOutside)))
		}
	}
	if c.RestsOnMemory() {
		notices = append(notices, "Some limits that decided are known only from memory; check the text before they decide a sale.")
	}
	return notices
}

func (c *Check) roundingNotice() string {
	r := c.RuleSet.Rounding
	if r == nil || r.Method == "absolute" {
		return "Every digit of a result counts; the text as read has no rounding clause."
	}
	method := map[string]string{"half_even": "a half to the even digit", "half_up": "a half away from zero"}[r.Method]
	return fmt.Sprintf("Results are rounded to the places of the limit, %s, unless a guard band is kept.", method)
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

func capitalised(text string) string {
	if text == "" {
		return text
	}
	return strings.ToUpper(text[:1]) + text[1:]
}
