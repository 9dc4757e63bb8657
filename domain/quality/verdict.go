package quality

import (
	"fmt"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Judge holds a lot's evidence against rule sets on a day: what it is to be expected to be
// on that day, and by its worst container.
func Judge(b *ledger.Book, g *Gathered, sets []ledger.Resolved, on standard.Date, rule standard.DecisionRule) ([]ledger.RuleSetResult, error) {
	evidence, err := g.EvidenceOn(ClimateOf(b), on)
	if err != nil {
		return nil, err
	}
	out := make([]ledger.RuleSetResult, len(sets))
	for i, set := range sets {
		check, err := set.Check(evidence, on, rule)
		if err != nil {
			return nil, err
		}
		out[i] = resultOf(set, &check)
	}
	return out, nil
}

func resultOf(set ledger.Resolved, c *standard.Check) ledger.RuleSetResult {
	r := ledger.RuleSetResult{
		ID: set.ID, Name: set.Title, Edition: set.Edition, Version: set.Version, Entry: set.Entry,
		Decision: c.Rule, Outcome: c.Outcome.String(), Grade: c.Grade, NextGrade: c.NextGrade,
		LotSize: c.LotSize, Required: c.Required, FromMemory: c.RestsOnMemory(),
		Lines: make([]ledger.VerdictLine, len(c.Verdicts)), Notices: inEnglish(c.Notices()),
	}
	for i := range c.Verdicts {
		r.Lines[i] = lineOf(&c.Verdicts[i])
	}
	for _, i := range c.StandsBetween {
		r.StandBetween = append(r.StandBetween, c.Verdicts[i].Sentence().String())
	}
	return r
}

func lineOf(v *standard.LimitVerdict) ledger.VerdictLine {
	l := ledger.VerdictLine{
		Parameter: v.Limit.Parameter, Label: v.Limit.Label(), Grade: v.Limit.Grade, Limit: v.Limit.Bounds(), Unit: v.Limit.Unit, Clause: v.Limit.Clause,
		FromMemory: v.FromMemory(), Outcome: v.Outcome.String(), Sampled: v.Sampled, Sentence: v.Sentence().String(),
	}
	if !v.HasValue {
		return l
	}
	value, margin := v.Shown()
	l.Value, l.Margin = value.String(), margin.String()
	switch open := v.Low.Cmp(v.High) != 0; {
	case open && v.MeasuredOn != "": // carried to this day, by the slowest and the fastest honey
		l.LowValue = v.Low.Short().String()
	case open:
		l.LessThan = true
	}
	if v.Guard.Sign() > 0 {
		l.Guard = v.Guard.Short().String()
	}
	if v.UncertaintyKnown {
		u := v.StdUncertainty
		l.StdUncertainty = &u
	}
	if v.ProbabilityKnown {
		p := v.Probability
		l.Probability = &p
	}
	return l
}

// inEnglish is how a check keeps what was said.
func inEnglish(texts []message.Text) []string {
	var said []string
	for _, t := range texts {
		said = append(said, t.String())
	}
	return said
}

// Complete is ledger.Book.Complete, and works out what a check comes to, and how what a
// dispatch sends stands against what it is held to, as well. It must be called before ledger.Book.Check.
func Complete(b *ledger.Book, e *ledger.Entry) error {
	if had, _ := b.Entry(e.ID); had != nil {
		return b.Complete(e) // sent again: what was worked out then stands
	}
	switch x := e.Body.(type) {
	case *ledger.Check:
		return completeCheck(b, x)
	case *ledger.Dispatch:
		return completeDispatch(b, e, x)
	case *ledger.LotStatus:
		return stillMeets(b, e, x)
	}
	return b.Complete(e)
}

// completeCheck judges the lot. What it cannot find, Check refuses.
func completeCheck(b *ledger.Book, c *ledger.Check) error {
	c.Found = nil
	var sets []ledger.Resolved
	for _, ref := range c.RuleSets {
		set, err := b.RuleSet(ref, c.On)
		if err != nil {
			return nil
		}
		sets = append(sets, set)
	}
	g, err := Gather(b, c.LotID, c.On)
	if err != nil {
		return nil
	}
	rule := standard.SimpleAcceptance()
	if c.Decision != nil {
		rule = *c.Decision
	}
	results, err := Judge(b, g, sets, c.On, rule)
	if err != nil {
		return fmt.Errorf("check of lot %s: %w", g.Lot.Code, err)
	}
	if len(g.Numbers) == 0 {
		none := message.F("Lot %s had no container by %s: there is nothing to check.", g.Lot.Code, string(c.On))
		return &fault.Error{Code: fault.Conflict, Message: none, Fields: []fault.Field{{Pointer: "/lot_id", Sent: c.LotID, Message: none}}}
	}
	c.Found = &ledger.Found{Through: b.Len(), Basis: g.Basis, Results: results}
	c.Found.LeftOut = inEnglish(g.LeftOut)
	return nil
}
