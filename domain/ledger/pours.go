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
	best := bestFits{off: off, widest: Fitting * sd}
	s.lately(at, func(i int, p *pour) bool {
		mass := kg(p.grams)
		if p.to != h.root {
			if p.from != h.root && best.hasRoomFor(HoseHere, mass) {
				best.take(p, HoseHere, mass, mass, Place{PlaceTank, p.to.ID})
			}
			return true
		}
		pounds := [...]float64{mass / poundsPerKilogram, mass * poundsPerKilogram}
		switch {
		// Whatever it was, it explains nothing, or no better than what was found.
		case !best.hasRoomFor(Twice, -mass) && !best.hasRoomFor(Pounds, pounds[0]-mass) && !best.hasRoomFor(Pounds, pounds[1]-mass):
		case s.pouredBefore(i):
			best.take(p, Twice, -mass, mass, Place{})
		default:
			if best.hasRoomFor(HoseElsewhere, -mass) {
				best.take(p, HoseElsewhere, -mass, mass, s.otherTank(h))
			}
			for _, right := range pounds {
				if best.hasRoomFor(Pounds, right-mass) && s.yieldsBetter(p, right) {
					best.take(p, Pounds, right-mass, right, Place{})
				}
			}
		}
		return true
	})
	return best.explanations()
}

// bestFits are the explanations that fit best of those that were tried. What was entered twice
// comes first, then what is off the least, then what was tried first. How far a tank's mass may
// be off grows with all that went through it, so that in a large book most of what is tried fits:
// whatever could not be among the best is not looked into.
type bestFits struct {
	off, widest float64
	found       [mostExplanations]fit
	n           int
}

// fit is an explanation, and how far it is off what it explains.
type fit struct {
	Explanation
	away float64
}

// place is where an explanation would stand; mostExplanations where nowhere.
func (b *bestFits) place(why Why, change float64) int {
	away := math.Abs(change - b.off)
	if !(away < b.widest) {
		return mostExplanations
	}
	at := b.n
	for at > 0 {
		before := &b.found[at-1]
		if twice := why == Twice; twice == (before.Why == Twice) && away >= before.away || !twice && before.Why == Twice {
			break
		}
		at--
	}
	return at
}

// hasRoomFor reports whether an explanation would be among the best.
func (b *bestFits) hasRoomFor(why Why, change float64) bool {
	return b.place(why, change) < mostExplanations
}

// take puts an explanation among the best if it is one of them.
func (b *bestFits) take(p *pour, why Why, change, value float64, place Place) {
	at := b.place(why, change)
	if at == mostExplanations {
		return
	}
	b.n = min(b.n+1, mostExplanations)
	copy(b.found[at+1:b.n], b.found[at:b.n-1])
	b.found[at] = fit{Explanation{Why: why, Entry: p.f.root.ID, Place: place, Value: value}, math.Abs(change - b.off)}
}

func (b *bestFits) explanations() []Explanation {
	out := make([]Explanation, 0, mostExplanations)
	for _, f := range b.found[:b.n] {
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
	off := func(grams float64) float64 { // how many times more or less
		times := max(1, grams) / r.shouldG
		return max(times, 1/times)
	}
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
