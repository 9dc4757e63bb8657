package standard

// Line is a limit that honey will have to keep to which is not made yet, in the first unit of its
// parameter.
type Line struct {
	*Limit
	// Low and High are the ends of what it accepts, with the guard that the rule set keeps from
	// them taken off; nil where it is open.
	Low, High *float64
}

// Lines are the limits that bind honey of which only its declaration is known, of a grade or class
// where the rule set has such; the empty grade is none. Of the lines of one parameter the narrowest
// counts that certainly applies: a line that rests on a result stays out. What is looked at and
// not measured stays out too, and is in looks. The error is FieldErrors about the declaration.
func (s *RuleSet) Lines(d Declaration, grade string) (lines []Line, looks []*Limit, err error) {
	var p problems
	known := nothingMeasured{d.facts(&p)}
	if len(p) > 0 {
		return nil, nil, p.err()
	}
	for _, group := range s.groups {
		best := -1
		for i, index := range group.limits {
			if s.Limits[index].When.holds(known) == yes && (best < 0 || group.narrower[i][best]) {
				best = i
			}
		}
		if best < 0 {
			continue
		}
		switch l := &s.Limits[group.limits[best]]; {
		case l.Grade != grade || l.Comparator == Exempt || l.Comparator == Permits:
		case l.Comparator == Is:
			looks = append(looks, l)
		default:
			lines = append(lines, l.line())
		}
	}
	return lines, looks, nil
}

// line is the limit in the first unit of its parameter.
func (l *Limit) line() Line {
	out := Line{Limit: l}
	end := func(at Decimal) *float64 {
		if !l.unit.same {
			at = at.Mul(l.unit.Factor)
		}
		return new(at.Float64())
	}
	if l.lower.set {
		out.Low = end(l.lower.at.Add(l.guard))
	}
	if l.upper.set {
		out.High = end(l.upper.at.Sub(l.guard))
	}
	return out
}

// nothingMeasured is what is known of honey of which there are no results yet.
type nothingMeasured struct{ facts }

func (n nothingMeasured) declared(attribute string) [][]string { return n.facts[attribute] }

func (n nothingMeasured) result(*ResultTest) truth { return unknown }
