package standard

import (
	"regexp"

	"pullbook/domain/message"
)

// Bounds says what the line accepts, in words.
func (l *Limit) Bounds() string { return l.Said().String() }

// Said is Bounds in a sentence.
func (l *Limit) Said() message.Text {
	switch {
	case l.Comparator == Is:
		return SayWord(l.Limit)
	case l.Comparator == Exempt || l.Comparator == Permits:
		return message.F("no limit")
	case l.lower.set && l.upper.set:
		return message.F("%s and %s %s", l.lower.said(lowerSide), l.upper.said(upperSide), SayUnit(l.Unit))
	case l.lower.set:
		return message.F("%s %s", l.lower.said(lowerSide), SayUnit(l.Unit))
	}
	return message.F("%s %s", l.upper.said(upperSide), SayUnit(l.Unit))
}

// Most is the highest value of a parameter that the rule set lets any honey have, in the
// parameter's first unit: the upper end of its line without a condition. There is none where
// it has no such line, nor where it tells grades or classes, which keep no honey from sale.
func (s *RuleSet) Most(parameter string) (Decimal, bool) {
	if s.Form != FormLimits {
		return Decimal{}, false
	}
	for i := range s.Limits {
		if l := &s.Limits[i]; l.Parameter == parameter && l.When == nil && l.upper.set {
			if l.unit.same {
				return l.upper.at, true
			}
			return l.upper.at.Mul(l.unit.Factor), true
		}
	}
	return Decimal{}, false
}

// Range returns the ends of what the limit accepts, in its unit: nil where it is open there, and both
// where it is about no figure.
func (l *Limit) Range() (low, high *float64) {
	if l.lower.set {
		low = new(l.lower.at.Float64())
	}
	if l.upper.set {
		high = new(l.upper.at.Float64())
	}
	return low, high
}

// said is one end of what a limit accepts.
func (b bound) said(side int) message.Text {
	switch {
	case side == lowerSide && b.inclusive:
		return message.F("at least %s", b.at.Said())
	case side == lowerSide:
		return message.F("above %s", b.at.Said())
	case b.inclusive:
		return message.F("at most %s", b.at.Said())
	}
	return message.F("below %s", b.at.Said())
}

var (
	twoEnds = regexp.MustCompile(`^(above|at least) ([-\d.]+) and (below|at most) ([-\d.]+) (.+)$`)
	oneEnd  = regexp.MustCompile(`^(above|at least|below|at most) ([-\d.]+) (.+)$`)
)

// ReadBounds reads what Bounds wrote, such as a stored check has it, so that it
// can be said in another language. What Bounds never writes stays as it is.
func ReadBounds(stored string) message.Text {
	if m := twoEnds.FindStringSubmatch(stored); m != nil {
		return message.F("%s and %s %s", readEnd(m[1], m[2]), readEnd(m[3], m[4]), SayUnit(m[5]))
	}
	if m := oneEnd.FindStringSubmatch(stored); m != nil {
		return message.F("%s %s", readEnd(m[1], m[2]), SayUnit(m[3]))
	}
	if stored == "no limit" {
		return message.F("no limit")
	}
	return SayWord(stored)
}

func readEnd(which, figure string) message.Text {
	at, err := ParseDecimal(figure)
	if err != nil {
		return message.Verbatim(which + " " + figure)
	}
	side := lowerSide
	if which == "at most" || which == "below" {
		side = upperSide
	}
	return bound{at: at, inclusive: which == "at least" || which == "at most"}.said(side)
}
