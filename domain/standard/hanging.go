package standard

import "slices"

// HangsOn tells whether results of some parameters decide which lines of those
// parameters apply to a lot: a diastase of 3 that is enough while HMF is low.
func (s *RuleSet) HangsOn(e *Evidence, parameters ...string) bool {
	without := withoutResults{e, parameters}
	return slices.ContainsFunc(s.Limits, func(l Limit) bool {
		return slices.Contains(parameters, l.Parameter) && l.When.holds(without) == unknown
	})
}

// withoutResults is a lot of which some parameters were not measured.
type withoutResults struct {
	*Evidence
	parameters []string
}

func (w withoutResults) result(test *ResultTest) truth {
	if slices.Contains(w.parameters, test.Parameter) {
		return unknown
	}
	return w.Evidence.result(test)
}

// Asks tells whether a condition of the rule set asks for a parameter.
func (s *RuleSet) Asks(parameter string) bool {
	var turns []float64
	for i := range s.Limits {
		s.Limits[i].When.turns(parameter, &turns)
	}
	return len(turns) > 0
}

// Turns are the figures of a parameter, in its first unit, at which a line of the
// rule set is passed, or another begins to apply.
func (s *RuleSet) Turns(parameter string) []float64 {
	var out []float64
	for i := range s.Limits {
		l := &s.Limits[i]
		for _, b := range []bound{l.lower, l.upper} {
			if l.Parameter == parameter && b.set {
				out = append(out, b.at.Mul(l.unit.Factor).Float64())
			}
		}
		l.When.turns(parameter, &out)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func (c *Condition) turns(parameter string, out *[]float64) {
	if c == nil {
		return
	}
	for i := range c.All {
		c.All[i].turns(parameter, out)
	}
	for i := range c.Any {
		c.Any[i].turns(parameter, out)
	}
	c.Not.turns(parameter, out)
	if t := c.Result; t != nil && t.Parameter == parameter {
		unit, _ := parameterByID[parameter].unit(t.Unit)
		*out = append(*out, t.Limit.Mul(unit.Factor).Float64())
	}
}
