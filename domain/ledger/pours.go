package ledger

import (
	"cmp"
	"math"
	"slices"
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

// lately gives the places in the list of the movements into tanks of the week before an
// instant, the latest first.
func (s *State) lately(at int64, yield func(i int, p *pour) bool) {
	s.byPours()
	for i := len(s.pours) - 1; i >= s.firstPour(); i-- {
		p := &s.pours[i]
		if at-p.f.at > hoseLooksBack.Microseconds() || !yield(i, p) {
			return
		}
	}
}

// firstPour is the place of the first movement that is looked at.
func (s *State) firstPour() int { return max(0, len(s.pours)-hosePours) }

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
	s.lately(f.at, func(_ int, p *pour) bool {
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
// or pounds for kilograms. What was entered twice comes first, then what fits
// best.
func (s *State) misrouted(h grip, off, sd float64, at int64) []Explanation {
	type fit struct {
		Explanation
		away float64
	}
	var found []fit
	fits := func(change float64) bool { return math.Abs(change-off) < Fitting*sd }
	try := func(p *pour, why Why, change, value float64, place Place) {
		if fits(change) {
			found = append(found, fit{Explanation{Why: why, Entry: p.f.root.ID, Place: place, Value: value}, math.Abs(change - off)})
		}
	}
	s.lately(at, func(i int, p *pour) bool {
		mass := kg(p.grams)
		switch {
		case p.to != h.root && p.from != h.root:
			try(p, HoseHere, mass, mass, Place{PlaceTank, p.to.ID})
		case p.to != h.root:
		case !fits(-mass) && !fits(mass/poundsPerKilogram-mass) && !fits(mass*poundsPerKilogram-mass): // Whatever it was, it explains nothing.
		case s.pouredBefore(i):
			try(p, Twice, -mass, mass, Place{})
		default:
			try(p, HoseElsewhere, -mass, mass, s.otherTank(h))
			for _, right := range []float64{mass / poundsPerKilogram, mass * poundsPerKilogram} {
				if s.yieldsBetter(p, right) {
					try(p, Pounds, right-mass, right, Place{})
				}
			}
		}
		return true
	})
	slices.SortStableFunc(found, func(a, b fit) int {
		if (a.Why == Twice) != (b.Why == Twice) {
			if a.Why == Twice {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.away, b.away)
	})
	out := make([]Explanation, 0, mostExplanations)
	for _, f := range found[:min(len(found), mostExplanations)] {
		out = append(out, f.Explanation)
	}
	return out
}

// yieldsBetter reports whether a run would have given more nearly what its
// boxes should if one of its movements had been of another mass.
func (s *State) yieldsBetter(p *pour, rightKg float64) bool {
	r := s.book.runs[p.from.ID]
	if r == nil || r.shouldG == 0 {
		return false
	}
	out := float64(s.looks(p.from).OutG)
	off := func(grams float64) float64 { return math.Abs(math.Log(max(1, grams) / r.shouldG)) }
	return off(out-float64(p.grams)+1000*rightKg) < off(out)
}

// pouredBefore reports whether as much as with the i-th movement went the same way shortly
// before it.
func (s *State) pouredBefore(i int) bool {
	p := &s.pours[i]
	for j := i - 1; j >= s.firstPour(); j-- {
		o := &s.pours[j]
		if p.f.at-o.f.at > twiceWithin.Microseconds() {
			return false
		}
		if o.from == p.from && o.to == p.to && o.grams == p.grams {
			return true
		}
	}
	return false
}

// otherTank is the one other tank that honey of a run goes into, where there is
// just one; else none.
func (s *State) otherTank(h grip) Place {
	s.byPours()
	var other *fact
	several := false
	for i := len(s.pours) - 1; i >= s.firstPour(); i-- {
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
	s.widely() // by how moist what was poured was
	held, mean := kg(h.Grams), h.Belief.Moisture.Mean
	s.lately(at, func(_ int, p *pour) bool {
		mass := kg(p.grams)
		switch {
		case p.to == h.root && mass < held:
			if without := (held*mean - mass*p.moisture.Mean) / (held - mass); math.Abs(pct-without) < Fitting*sd {
				out = append(out, Explanation{Why: HoseElsewhere, Place: s.otherTank(h), Entry: p.f.root.ID, Value: without})
			}
		case p.to != h.root && p.from != h.root && p.to.subject.(*Tank).Use != Sump:
			if with := (held*mean + mass*p.moisture.Mean) / (held + mass); math.Abs(pct-with) < Fitting*sd {
				out = append(out, Explanation{Why: HoseHere, Place: Place{PlaceTank, p.to.ID}, Entry: p.f.root.ID, Value: with})
			}
		}
		return len(out) < mostExplanations
	})
	return out
}
