package ledger

import (
	"math"
	"slices"
	"time"

	"pullbook/domain/estimate"
)

// Belief is what the book expects of honey in a holder: means with variances.
// It never passes a lot by itself; a laboratory's figure stands beside it.
type Belief struct {
	// Moisture is in percent by mass: what water comes to.
	Moisture estimate.Estimate
	// water is how it is known.
	water knownMoisture
	// hmf (mg/kg) and diastase (Gothe) are as they are at that instant.
	hmf, diastase aged
	// at is when that was, in microseconds.
	at int64
}

// HMF is in mg/kg.
func (b Belief) HMF() estimate.Estimate { return b.hmf.contested().Estimate() }

// Diastase is in Gothe units.
func (b Belief) Diastase() estimate.Estimate { return b.diastase.contested().Estimate() }

// What is believed of honey that was never measured. Moisture: German and US
// surveys run from 16.5 to 17.2 percent on average (domain/honey/README.md),
// single honeys a point or so about it. HMF of fresh honey is mostly below
// 1 mg/kg and seldom above 10. Diastase is common practice.
func freshHoney(at int64) Belief {
	return Belief{
		hmf:      unmeasured(estimate.Estimate{Mean: 1.5, Variance: 1.5 * 1.5}),
		diastase: unmeasured(estimate.Estimate{Mean: 20, Variance: 8 * 8}),
		at:       at,
	}.with(freshMoisture)
}

// freshMoisture is of honey that was never read. A wet season is wet on every yard, so
// that its error is common to all.
var freshMoisture = knownMoisture{
	Contested: estimate.Uncontested(estimate.Estimate{Mean: 17.3, Variance: 1.2 * 1.2}), common: 1.2 * 1.2,
}

// with is the belief with another moisture.
func (b Belief) with(water knownMoisture) Belief {
	b.water, b.Moisture = water, water.Estimate()
	return b
}

// mixed is the belief about a grams of one honey and b grams of another. fresh says
// that the other comes from a run (see knownMoisture.mixed).
func mixed(a Belief, aG int64, b Belief, bG int64, fresh bool) Belief {
	if bG <= 0 {
		return a
	}
	if aG <= 0 {
		return b
	}
	wa := float64(aG) / float64(aG+bG)
	return Belief{
		hmf: a.hmf.mixed(wa, b.hmf), diastase: a.diastase.mixed(wa, b.diastase), at: max(a.at, b.at),
	}.with(a.water.mixed(wa, b.water, fresh))
}

// warm brings the belief about a holder's honey to an instant, by how warm it
// was since.
func (s *State) warm(h grip, at int64) {
	b := &h.Belief
	if b.at < at && h.Grams > 0 {
		formed, lost := s.book.Meter(s.book.standsIn(h.root)).Between(time.UnixMicro(b.at), time.UnixMicro(at))
		b.hmf, b.diastase = b.hmf.forms(formed, hmfRateSD(formed, at-b.at)), b.diastase.loses(lost)
	}
	b.at = max(b.at, at)
}

// standsIn is the place whose temperature a holder's honey has: a tank is its
// own, a container stands in the store of its lot.
func (b *Book) standsIn(root *fact) ID {
	fill, ok := root.subject.(*Fill)
	if !ok {
		return root.ID
	}
	if lot := body[Lot](b, fill.LotID); lot != nil {
		return b.rootID(lot.StoreID)
	}
	return ID{}
}

// BeliefAt is what the book expects of the honey in a tank or container at an
// instant after all that the state knows; false where there is none.
func (s *State) BeliefAt(id ID, at time.Time) (Belief, bool) {
	f := s.book.fact(id)
	if f == nil || f.root.slot < 0 || int(f.root.slot) >= len(s.holders) {
		return Belief{}, false
	}
	h := s.holders[f.root.slot]
	if h.Mix == nil || f.root.Kind == KindRun {
		return Belief{}, false
	}
	s.warm(grip{&h, f.root}, at.UnixMicro())
	return h.Belief, true
}

// BeliefOfAll is BeliefAt of containers together, mixed by their weights as they
// were filled; false where the book expects nothing of any.
func (s *State) BeliefOfAll(containers []ID, at time.Time) (Belief, bool) {
	var all Belief
	var grams int64
	for _, id := range containers {
		one, known := s.BeliefAt(id, at)
		if !known {
			continue
		}
		in := s.holders[s.book.fact(id).root.slot].InG
		all = mixed(all, grams, one, in, false)
		grams += in
	}
	return all, grams > 0
}

// BeliefOfLot is what the book expects at an instant of those containers of a lot
// that are here; of all of them where none is. It follows the temperature of
// their store, also to days that have not come.
func (s *State) BeliefOfLot(lot ID, at time.Time) (Belief, bool) {
	all := s.LotMass(lot).Containers
	here := slices.DeleteFunc(slices.Clone(all), func(id ID) bool { return s.holders[s.book.fact(id).root.slot].Grams == 0 })
	if len(here) == 0 {
		here = all
	}
	return s.BeliefOfAll(here, at)
}

// harvestBelief is what the book expects of honey that comes out of a run: the
// readings on the run, or else on its pulls, and what the hot room cost.
func (b *Book) harvestBelief(run *fact, mix *Mix, at int64, layers layering) Belief {
	boxes, allRead := b.pullsMoisture(mix, layers)
	beside := estimate.Unknown()
	if allRead {
		beside = boxes.Estimate()
		beside.Variance += layers.of(run)
	}
	water := b.readAs(run.ID, beside, layers)
	if !water.Held.Known() {
		water = boxes
	}
	out := freshHoney(at).with(water.ofRun(run))
	for _, p := range mix.Parts {
		pull := b.fact(p.Origin)
		if pull == nil || pull.root.Kind != KindPull {
			continue
		}
		if last := pull.root.last; last.at < at {
			room := ID{}
			if x, ok := pull.root.subject.(*Pull); ok {
				room = x.RoomID
			}
			formed, lost := b.Meter(room).Between(time.UnixMicro(last.at), time.UnixMicro(at))
			out.hmf = out.hmf.forms(p.Share*formed, hmfRateSD(formed, at-last.at))
			out.diastase = out.diastase.loses(p.Share * lost)
		}
	}
	return out
}

// pullsMoisture mixes what was read on the pulls of a run, and reports whether all
// were read. What was not read is taken as unread, all of it alike.
func (b *Book) pullsMoisture(mix *Mix, layers layering) (boxes knownMoisture, allRead bool) {
	var mean, apart, common, rest float64
	for _, p := range mix.Parts {
		m := b.readAs(p.Origin, estimate.Unknown(), layers)
		if !m.Held.Known() {
			rest += p.Share
			continue
		}
		of := m.Estimate()
		mean += p.Share * of.Mean
		apart += p.Share * p.Share * (of.Variance - m.common)
		common += p.Share * math.Sqrt(m.common)
		boxes.frames += p.Share * p.Share
	}
	mean += rest * freshMoisture.Held.Mean
	common += rest * math.Sqrt(freshMoisture.common)
	boxes.common = common * common
	boxes.Held = estimate.Estimate{Mean: mean, Variance: apart + boxes.common}
	return boxes, rest == 0
}

// readAs is what the readings on a run or pull come to; unknown where there are none.
// boxes is what is known of a run's boxes.
func (b *Book) readAs(on ID, boxes estimate.Estimate, layers layering) knownMoisture {
	k := unreadMoisture
	for _, f := range b.readings[b.rootID(on)] {
		if r := f.Body.(*Reading); r.Moisture != nil {
			k, _ = k.takeBeside(boxes, r.Moisture.Pct, b.instrumentVariance(f, r), sampleVariance(r, usualLayering))
		}
	}
	// Frames that were not sampled differ from those that were.
	k.Held.Variance += layers.unsampled()
	k.frames = 1
	return k
}

// instrumentVariance is how far a reading may be from its sample: more where
// the instrument is not to be trusted.
func (b *Book) instrumentVariance(f *fact, r *Reading) float64 {
	u := r.Moisture.StdUncertaintyPct
	trust, off := b.Trust(r.InstrumentID, f.OccurredAt)
	switch trust {
	case Overdue:
		u *= overdueFactor
	case FoundWrong:
		u += math.Abs(r.Moisture.PointsOff(off))
	}
	return u * u
}

// overdueFactor is by how much less a reading is trusted whose instrument was
// not checked in time; common practice.
const overdueFactor = 2
