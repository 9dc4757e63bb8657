package demo

import (
	"time"

	"pullbook/domain/ledger"
)

// overnight is honey that stands in the sump until the morning.
type overnight struct {
	honey  parcel
	booked int64
	since  time.Time
	to     *tank
}

// sumpSDKg is the error of a dip of the sump.
const sumpSDKg = 2.5

func (s *season) sumpPlace() ledger.Place {
	return ledger.Place{Kind: ledger.PlaceTank, ID: s.h.sump}
}

// standInSump leaves the last of a run in the sump. Its tank keeps room for it.
func (s *season) standInSump(run ledger.ID, p parcel, at time.Time, to *tank) {
	o := overnight{honey: p, booked: grams(p.kg+sumpSDKg*s.rng.NormFloat64(), 1), since: at, to: to}
	s.add(at, extractor, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run}, To: s.sumpPlace(), MassG: o.booked,
		Note: "stands in the sump overnight"})
	to.reservedKg += p.kg
	s.sump = append(s.sump, o)
}

// emptySump pumps over, in the mornings that have come, what stood overnight.
// The crew writes down what it dipped the evening before.
func (s *season) emptySump(at time.Time) {
	var waiting []overnight
	for i, o := range s.sump {
		morning := s.clock(o.since, 1, 7, 20+8*i).Add(s.minutes(0, 6))
		if morning.After(at) {
			waiting = append(waiting, o)
			continue
		}
		o.to.advance(s, morning)
		o.to.reservedKg -= o.honey.kg
		o.to.pour(o.honey.aged(30, morning.Sub(o.since).Hours(), s.quick), 29)
		e := s.add(morning, extractor, &ledger.Movement{From: s.sumpPlace(), To: s.tankPlace(o.to), MassG: o.booked})
		s.w.truth.Tanks[e.ID] = s.tanksAt()
	}
	s.sump = waiting
}
