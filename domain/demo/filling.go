package demo

import (
	"time"

	"pullbook/domain/ledger"
)

// share is a part of a run's honey and the tank it goes into.
type share struct {
	tank *tank
	kg   float64
}

// extractAll runs the line through the season.
func (s *season) extractAll() {
	at := s.at(time.June, 1, 8, 0)
	for _, r := range s.cutRuns() {
		at = s.working(later(at, r.ready))
		var into []share
		at, into = s.makeRoom(at, r)
		at = s.extract(r, at, into)
	}
	s.finish(at)
}

// makeRoom finds tanks for a run's honey, waiting until one is packed off where
// it must.
func (s *season) makeRoom(at time.Time, r *run) (time.Time, []share) {
	for {
		s.emptySump(at)
		s.closeIdle(at)
		s.packDue(at)
		if into := s.destinations(at, r); into != nil {
			return at, into
		}
		s.closeFull(at)
		s.packDue(at)
		at = s.working(later(at, s.nextOpening(at)))
	}
}

// open reports whether honey may be put in at an instant.
func (t *tank) open(at time.Time) bool { return !t.closed && !t.openFrom.After(at) }

// least is the least worth changing a hose for, in kilograms.
const least = 250

// destinations are the tanks for a run's honey; nil where there is no room. Wet
// honey goes to the small tank by itself where that is free.
func (s *season) destinations(at time.Time, r *run) []share {
	large, small := s.h.large, s.h.small
	inLarge, inSmall := 0.0, 0.0
	if large.open(at) {
		inLarge = large.freeKg()
	}
	if small.open(at) {
		inSmall = small.freeKg()
	}
	switch {
	case r.wet && small.honey.kg < 50 && inSmall >= r.outKg:
		return []share{{small, r.outKg}}
	case inLarge >= r.outKg:
		return []share{{large, r.outKg}}
	case inLarge >= least && inLarge+inSmall >= r.outKg+30 && r.outKg-inLarge+20 >= least:
		return []share{{large, inLarge - 20}, {small, r.outKg - inLarge + 20}}
	case inSmall >= r.outKg:
		return []share{{small, r.outKg}}
	}
	return nil
}

// fillTanks writes down where a run's honey went. The last of an afternoon's
// run stands in the sump overnight and is pumped over in the morning.
func (s *season) fillTanks(run ledger.ID, honey parcel, from, end time.Time, into []share) {
	for i, d := range into {
		at := end
		if i+1 < len(into) {
			at = from.Add(time.Duration(float64(end.Sub(from)) * d.kg / honey.kg)).Add(10 * time.Minute)
		}
		kg := d.kg
		overnight := 0.0
		if i+1 == len(into) && end.In(s.o.Location).Hour() >= 14 && kg > 300 {
			overnight = s.between(60, 160)
		}
		s.pump(run, honey.part(kg-overnight), at, d.tank)
		if overnight > 0 {
			s.standInSump(run, honey.part(overnight), end.Add(4*time.Minute), d.tank)
		}
	}
}

// pump moves honey from a run into a tank; the mass comes from the rise of the
// tank between two dips.
func (s *season) pump(run ledger.ID, p parcel, at time.Time, to *tank) {
	to.advance(s, at)
	if to.honey.kg == 0 {
		to.tempC = 34
	}
	to.pour(p, s.between(33, 36))
	e := s.add(at, extractor, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run}, To: s.tankPlace(to),
		MassG: grams(max(1, p.kg+to.riseSDKg*s.rng.NormFloat64()), 1)})
	s.w.truth.Tanks[e.ID] = s.tanksAt()
	s.mishaps.pumped(s, e, to)
	s.looked(at.Add(s.minutes(4, 12)), to)
}

// looked is a reading at the gate after a tank was pumped to, now and then, and
// a dip at the end of the day.
func (s *season) looked(at time.Time, t *tank) {
	t.guess()
	if !s.full {
		return
	}
	if s.rng.Float64() < 0.5 {
		e := s.moisture(at, s.tankPlace(t), ledger.PointGate, t.honey.moisturePct+0.06*s.rng.NormFloat64(), s.s.handHeld, extractor)
		t.guessPct = e.Body.(*ledger.Reading).Moisture.Pct
	}
	if at.In(s.o.Location).Hour() >= 13 && s.rng.Float64() < 0.5 && !s.mishaps.noDip(s, t) {
		t.advance(s, at.Add(5*time.Minute))
		t.dip(s, at.Add(5*time.Minute))
	}
}
