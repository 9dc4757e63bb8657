package ledger

import (
	"math"
	"time"

	"pullbook/domain/estimate"
)

// pour is honey that was moved into a tank.
type pour struct {
	f        *fact
	from, to *fact
	grams    int64
	moisture estimate.Estimate
}

// poured notes a movement into a tank.
func (s *State) poured(f *fact, from, to grip, grams int64, of drawn) {
	if to.root.Kind == KindTank {
		s.pours = append(s.pours, pour{f, from.root, to.root, grams, of.belief.Moisture})
	}
}

// How long a mistake of the hose can be looked for, and among how many
// movements: in a week a tank has been packed off.
const (
	hoseLooksBack = 7 * 24 * time.Hour
	hosePours     = 64
)

// lately gives the movements into tanks of the week before an instant, the
// latest first.
func (s *State) lately(at int64, yield func(p *pour) bool) {
	for i := len(s.pours) - 1; i >= max(0, len(s.pours)-hosePours); i-- {
		p := &s.pours[i]
		if at-p.f.at > hoseLooksBack.Microseconds() || !yield(p) {
			return
		}
	}
}

// twiceWithin is how soon after another the same honey of a run is odd, where
// the run then gave more than its boxes should: equal batches out of a sump are
// ordinary (common practice).
const twiceWithin = 30 * time.Minute

// twice flags honey of a run that looks as if it were written down twice.
func (s *State) twice(f *fact, m *Movement, from, to grip) {
	if from.root.Kind != KindRun {
		return
	}
	if r := s.book.runs[from.root.ID]; r == nil || float64(from.OutG) < r.shouldG+float64(m.MassG)/2 {
		return
	}
	s.lately(f.at, func(p *pour) bool {
		apart := time.Duration(f.at-p.f.at) * time.Microsecond
		if apart > twiceWithin {
			return false
		}
		if p.from == from.root && p.to == to.root && p.grams == m.MassG {
			s.flag(Flag{Code: MovementTwice, Entry: f.root.ID, On: from.Place, Unit: "min",
				Expected: twiceWithin.Minutes(), Found: apart.Minutes(), MassG: m.MassG,
				Likely: []Explanation{{Why: Twice, Entry: p.f.root.ID, Value: kg(m.MassG)}}, Entries: []ID{p.f.root.ID}})
			return false
		}
		return true
	})
}

// misrouted looks for movements that explain why a tank holds so many kilograms
// more (off above zero) or less than the book has: honey booked into it that
// went elsewhere or was entered twice, or booked elsewhere that went into it,
// or pounds for kilograms.
func (s *State) misrouted(h grip, off, sd float64, at int64) (out []Explanation) {
	fits := func(kg float64) bool { return math.Abs(kg-math.Abs(off)) < fitting*sd }
	s.lately(at, func(p *pour) bool {
		mass := kg(p.grams)
		switch {
		case p.to == h.root && off < 0 && fits(mass) && s.pouredAgain(p):
			out = append(out, Explanation{Why: Twice, Entry: p.f.root.ID, Value: mass})
		case p.to == h.root && off < 0 && fits(mass):
			out = append(out, Explanation{Why: HoseElsewhere, Place: s.otherTank(h), Entry: p.f.root.ID, Value: mass})
		case p.to == h.root && off < 0 && fits(mass-mass/poundsPerKilogram):
			out = append(out, Explanation{Why: Pounds, Entry: p.f.root.ID, Value: mass / poundsPerKilogram})
		case p.to == h.root && off > 0 && fits(mass*poundsPerKilogram-mass):
			out = append(out, Explanation{Why: Pounds, Entry: p.f.root.ID, Value: mass * poundsPerKilogram})
		case p.to != h.root && p.from != h.root && off > 0 && fits(mass):
			out = append(out, Explanation{Why: HoseHere, Place: Place{PlaceTank, p.to.ID}, Entry: p.f.root.ID, Value: mass})
		}
		return len(out) < mostExplanations
	})
	return out
}

// pouredAgain reports whether as much went the same way at another time of the
// same hours.
func (s *State) pouredAgain(p *pour) bool {
	again := false
	s.lately(p.f.at+twiceWithin.Microseconds(), func(o *pour) bool {
		again = o != p && o.from == p.from && o.to == p.to && o.grams == p.grams
		return !again
	})
	return again
}

// otherTank is the one other tank that honey of a run goes into, where there is
// just one; else none.
func (s *State) otherTank(h grip) Place {
	var other *fact
	several := false
	for i := len(s.pours) - 1; i >= max(0, len(s.pours)-hosePours); i-- {
		p := &s.pours[i]
		if p.to == h.root || p.from.Kind != KindRun || p.to.subject.(*Tank).Use == Sump {
			continue
		}
		several = several || other != nil && other != p.to
		other = p.to
	}
	if other == nil || several {
		return Place{}
	}
	return Place{PlaceTank, other.ID}
}

// misread looks for movements that explain a tank's moisture: honey booked into
// it that went elsewhere, or booked elsewhere that went into it.
func (s *State) misread(h grip, pct, sd float64, at int64) (out []Explanation) {
	held, mean := kg(h.Grams), h.Belief.Moisture.Mean
	s.lately(at, func(p *pour) bool {
		mass := kg(p.grams)
		switch {
		case p.to == h.root && mass < held:
			if without := (held*mean - mass*p.moisture.Mean) / (held - mass); math.Abs(pct-without) < fitting*sd {
				out = append(out, Explanation{Why: HoseElsewhere, Place: s.otherTank(h), Entry: p.f.root.ID, Value: without})
			}
		case p.to != h.root && p.from != h.root && p.to.subject.(*Tank).Use != Sump:
			if with := (held*mean + mass*p.moisture.Mean) / (held + mass); math.Abs(pct-with) < fitting*sd {
				out = append(out, Explanation{Why: HoseHere, Place: Place{PlaceTank, p.to.ID}, Entry: p.f.root.ID, Value: with})
			}
		}
		return len(out) < mostExplanations
	})
	return out
}
