package standard

import "slices"

// Check is a lot held against one rule set on one day: the answer, and all that
// it rests on.
type Check struct {
	RuleSet *RuleSet
	On      Date
	Rule    DecisionRule // the decision rule that was used
	// Verdicts has one answer for each line of the rule set, in its order.
	Verdicts []LimitVerdict
	// Outcome for the lot: the worst of its lines, or whether any grade is met.
	Outcome Outcome
	// Grade is the best grade met, or the class the lot falls into.
	Grade string
	// NextGrade is the grade above, and StandsBetween the lines (places in
	// Verdicts) that keep the lot from it.
	NextGrade     string
	StandsBetween []int

	Plan     SamplingPlan
	LotSize  int // containers in the lot, 0 when not known
	Required int // containers the plan asks for, 0 when LotSize is not known
}

// Check holds the evidence against the rule set on a day. The rule set's own
// decision rule, where it has one, takes the place of the one given, since the
// terms of a contract are fixed before the test. The error is a NotInForceError.
func (s *RuleSet) Check(e *Evidence, on Date, rule DecisionRule) (Check, error) {
	if !s.InForce(on) {
		return Check{}, NotInForceError{RuleSet: s, On: on}
	}
	if s.Decision != nil {
		rule = *s.Decision
	}
	check := Check{RuleSet: s, On: on, Rule: rule, Verdicts: make([]LimitVerdict, len(s.Limits)), LotSize: len(e.lot.Containers)}
	check.Plan = s.SamplingPlan()
	check.Required = check.Plan.Containers(check.LotSize)
	for _, group := range s.groups {
		check.judgeGroup(group, e)
	}
	check.conclude()
	return check, nil
}

// judgeGroup picks the line that applies to the lot among the lines of one
// parameter and grade, and judges it. Where it rests on a missing result which
// line applies, the answer stands only if every line that may apply gives it.
func (c *Check) judgeGroup(group limitGroup, e *Evidence) {
	truths := make([]truth, len(group.limits))
	best := -1
	for i, index := range group.limits {
		truths[i] = c.RuleSet.Limits[index].When.holds(e)
		if truths[i] == yes && (best < 0 || group.narrower[i][best]) {
			best = i
		}
	}
	chosen, open := best, false
	for i := range truths {
		if truths[i] == unknown && (best < 0 || group.narrower[i][best]) {
			open = true
			if chosen < 0 {
				chosen = i
			}
		}
	}
	for i, index := range group.limits {
		if i != chosen {
			c.Verdicts[index] = c.RuleSet.Limits[index].passedOver(truths[i])
		}
	}
	if chosen < 0 {
		return
	}
	verdict := c.judgeLimit(&c.RuleSet.Limits[group.limits[chosen]], e)
	if open && !c.othersAgree(group, truths, best, verdict.Outcome, e) {
		verdict.Outcome, verdict.Reason, verdict.ProbabilityKnown = NotMeasured, ReasonRestsOnUnmeasured, false
	}
	c.Verdicts[group.limits[chosen]] = verdict
}

func (l *Limit) passedOver(applies truth) LimitVerdict {
	reason := ReasonConditionNotMet
	switch applies {
	case yes:
		reason = ReasonOutranked
	case unknown:
		reason = ReasonConditionUnknown
	}
	return LimitVerdict{Limit: l, Outcome: DoesNotApply, Reason: reason}
}

func (c *Check) othersAgree(group limitGroup, truths []truth, best int, outcome Outcome, e *Evidence) bool {
	if best < 0 && outcome != DoesNotApply {
		return false // perhaps no line applies at all
	}
	for i, index := range group.limits {
		if truths[i] != unknown || best >= 0 && !group.narrower[i][best] {
			continue
		}
		if other := c.judgeLimit(&c.RuleSet.Limits[index], e); other.Outcome != outcome {
			return false
		}
	}
	return true
}

// judgeLimit judges a line that applies.
func (c *Check) judgeLimit(l *Limit, e *Evidence) LimitVerdict {
	switch l.Comparator {
	case Exempt:
		return LimitVerdict{Limit: l, Outcome: DoesNotApply, Reason: ReasonExempt}
	case Permits:
		return LimitVerdict{Limit: l, Outcome: DoesNotApply, Reason: ReasonPermission}
	}
	m := e.parameters[l.parameter.key()]
	if l.OnlyWhereLooked && !l.looked(m, e.lot.counts) {
		return LimitVerdict{Limit: l, Outcome: DoesNotApply, Reason: ReasonNobodyLooked}
	}
	if m == nil || len(m.readings) == 0 && len(m.seen) == 0 {
		reason := ReasonNoResult
		if m != nil && m.inProcess {
			reason = ReasonOnlyInProcess
		}
		return LimitVerdict{Limit: l, Outcome: NotMeasured, Reason: reason, Required: c.Required}
	}
	if l.Comparator == Is {
		seen := l.answers(m.seen)
		if len(seen) == 0 {
			return LimitVerdict{Limit: l, Outcome: NotMeasured, Reason: ReasonNoResult, Required: c.Required}
		}
		verdict := l.judgeWords(seen, e.lot.counts)
		if !l.OnlyWhereLooked {
			verdict.holdFilledSince(e.lot.filledSince(m))
		}
		return verdict
	}
	estimates, stale := m.estimatesOn(c.On, c.RuleSet.MeasuredWithinDays, len(e.lot.Containers))
	if stale {
		return LimitVerdict{Limit: l, Outcome: NotMeasured, Reason: ReasonTooOld, Required: c.Required}
	}
	verdict := c.judgeEstimates(l, estimates, e.lot.counts)
	verdict.AgeDays = Days(verdict.MeasuredOn, c.On)
	c.holdAgainstPlan(&verdict)
	verdict.holdFilledSince(e.lot.filledSince(m))
	if c.RuleSet.Form == FormLimits && !l.ByMean && verdict.Outcome < NotMeasured {
		if outside := e.lot.expectedOutside(m, l); len(outside) > 0 {
			verdict.Outcome, verdict.Reason, verdict.Unread = NotMeasured, ReasonExpectedOutside, outside
		}
	}
	return verdict
}

// holdFilledSince takes back a pass where containers were filled after the last sample.
func (v *LimitVerdict) holdFilledSince(containers []string) {
	if len(containers) > 0 && v.Outcome != Fails {
		v.Outcome, v.Reason, v.Unread = NotMeasured, ReasonFilledSince, containers
	}
}

// answers leaves out words that are not among those that the line knows: they answer
// what another rule set asks under the same name.
func (l *Limit) answers(seen []observation) []observation {
	if !l.parameter.own {
		return seen
	}
	return slices.DeleteFunc(slices.Clone(seen), func(o observation) bool { return !slices.Contains(l.parameter.Words, o.word) })
}

// looked tells whether anybody looked at the lot as a whole or at a container that counts.
func (l *Limit) looked(m *measured, counts func(containerID string) bool) bool {
	return m != nil && slices.ContainsFunc(l.answers(m.seen), func(o observation) bool { return o.containerID == "" || counts(o.containerID) })
}

// judgeWords is met only when every container, as it was last seen, says so.
func (l *Limit) judgeWords(seen []observation, counts func(containerID string) bool) LimitVerdict {
	verdict := LimitVerdict{Limit: l, Outcome: Meets, within: true}
	for _, o := range seen {
		if o.word == l.Limit || o.containerID != "" && !counts(o.containerID) {
			continue
		}
		verdict.Outcome, verdict.within = Fails, false
		if o.containerID != "" {
			verdict.ContainersOutside = append(verdict.ContainersOutside, o.containerID)
		}
	}
	return verdict
}

// judgeEstimates judges the lot's mean, and each container that was read: what is placed
// on the market is the container. Grades and classes are of the lot, and look at each
// container only where the line says so. Containers and composite samples are judged each by themselves and the
// less favourable answer stands.
func (c *Check) judgeEstimates(l *Limit, estimates []Estimate, counts func(containerID string) bool) LimitVerdict {
	worst := LimitVerdict{Limit: l, Outcome: NotMeasured, Reason: ReasonContainersNeeded, Required: c.Required}
	judged, sampled := false, 0
	for i := range estimates {
		estimate := estimates[i].of(counts)
		sampled = max(sampled, estimate.Containers)
		if l.Every && estimate.Composite {
			continue
		}
		verdict := c.judgeEstimate(l, estimate)
		if !judged || worseThan(&verdict, &worst) {
			worst = verdict
		}
		judged = true
	}
	worst.Sampled, worst.Required = sampled, c.Required
	return worst
}

func (c *Check) judgeEstimate(l *Limit, estimate *Estimate) LimitVerdict {
	if l.Every {
		return c.judgeEachContainer(l, estimate)
	}
	verdict := l.judge(l.convert(estimate.Low, estimate.High, estimate.ends, estimate.age, estimate.StdUncertainty, estimate.UncertaintyKnown), c.Rule, c.RuleSet.Rounding)
	if len(estimate.Measured) == 0 { // a composite, or none of the containers that count was read
		return verdict
	}
	verdict.ContainersOutside = c.containersOutside(l, estimate)
	if c.RuleSet.Form != FormLimits || l.ByMean {
		return verdict
	}
	if worst := c.judgeEachContainer(l, estimate); worst.Outcome > verdict.Outcome {
		return worst
	}
	return verdict
}

func (c *Check) judgeEachContainer(l *Limit, estimate *Estimate) LimitVerdict {
	worst := LimitVerdict{Limit: l, Outcome: NotMeasured, Reason: ReasonContainersNeeded}
	for i, m := range estimate.Measured {
		verdict := l.judge(l.convert(m.Low, m.High, m.ends, m.age, m.StdUncertainty, m.UncertaintyKnown), c.Rule, c.RuleSet.Rounding)
		verdict.ContainerID = m.ContainerID
		if i == 0 || worseThan(&verdict, &worst) {
			worst = verdict
		}
	}
	worst.ContainersOutside = c.containersOutside(l, estimate)
	return worst
}

// containersOutside lists the containers that by themselves lie outside the
// limit. A limit accepts one unbroken range, so when the lowest and the highest
// container lie inside, all do.
func (c *Check) containersOutside(l *Limit, estimate *Estimate) []string {
	if c.LotSize == 1 || len(estimate.Measured) == 0 {
		return nil // the lot is the container, or none that counts was read
	}
	inside := func(i int) bool {
		m := &estimate.Measured[i]
		return l.contains(l.convert(m.Low, m.High, m.ends, nil, 0, false), c.RuleSet.Rounding)
	}
	if inside(estimate.lowest) && inside(estimate.highest) {
		return nil
	}
	var outside []string
	for i, m := range estimate.Measured {
		if !inside(i) {
			outside = append(outside, m.ContainerID)
		}
	}
	return outside
}

func worseThan(a, b *LimitVerdict) bool {
	if a.Outcome != b.Outcome {
		return a.Outcome > b.Outcome
	}
	return a.Margin.Cmp(b.Margin) < 0
}

// holdAgainstPlan takes back a pass that rests on fewer containers than a binding
// plan asks for.
func (c *Check) holdAgainstPlan(v *LimitVerdict) {
	binding := c.RuleSet.Sampling != nil && c.RuleSet.Sampling.Binding
	if binding && v.Outcome == Meets && (c.Required == 0 || v.Sampled < c.Required) {
		v.Outcome, v.Reason = NotMeasured, ReasonTooFewContainers
	}
}

// conclude answers for the lot from its lines.
func (c *Check) conclude() {
	switch c.RuleSet.Form {
	case FormGrades:
		c.concludeGrades()
	case FormClasses:
		c.concludeClasses()
	default:
		c.Outcome = c.worstOf("")
	}
}

func (c *Check) worstOf(grade string) Outcome {
	worst := DoesNotApply
	for i := range c.Verdicts {
		if c.Verdicts[i].Limit.Grade == grade {
			worst = max(worst, c.Verdicts[i].Outcome)
		}
	}
	return worst
}

// concludeGrades finds the best grade met. Lines without a grade bind every
// grade. A grade none of whose lines applies (a claim that is not made) is out of
// play.
func (c *Check) concludeGrades() {
	forAll := c.worstOf("")
	inPlay, leastBad := false, Fails
	above := ""
	for _, grade := range c.RuleSet.Grades {
		own := c.worstOf(grade)
		if own == DoesNotApply {
			continue
		}
		inPlay = true
		outcome := max(forAll, own)
		leastBad = min(leastBad, outcome)
		if outcome == Meets {
			c.Grade = grade
			break
		}
		above = grade
	}
	if !inPlay {
		c.Outcome = forAll
		return
	}
	c.Outcome, c.NextGrade = leastBad, above
	c.StandsBetween = c.obstacles(above)
}

func (c *Check) obstacles(grade string) []int {
	if grade == "" {
		return nil
	}
	var obstacles []int
	for i := range c.Verdicts {
		v := &c.Verdicts[i]
		if (v.Limit.Grade == grade || v.Limit.Grade == "") && v.Outcome > Meets {
			obstacles = append(obstacles, i)
		}
	}
	return obstacles
}

// concludeClasses finds the class the value lies in. A line of another class is
// not failed, it does not apply. Where two scales were measured and disagree, the
// class further down the list stands.
func (c *Check) concludeClasses() {
	place := map[string]int{}
	for i, class := range c.RuleSet.Grades {
		place[class] = i
	}
	found, unmeasured := false, false
	for i := range c.Verdicts {
		v := &c.Verdicts[i]
		switch {
		case v.Outcome == DoesNotApply:
		case v.within:
			if !found || place[v.Limit.Grade] > place[c.Grade] {
				c.Grade = v.Limit.Grade
			}
			found = true
			c.Outcome = max(c.Outcome, v.Outcome)
		case v.HasValue && v.Outcome != NotMeasured:
			v.Outcome, v.Reason = DoesNotApply, ReasonOtherClass
		default:
			unmeasured = true
		}
	}
	if !found && unmeasured {
		c.Outcome = NotMeasured
	}
}
