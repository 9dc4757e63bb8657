package demo

import (
	"time"

	"pullbook/domain/ledger"
)

// calibrate checks the instruments through the season. They belong to the
// outfit: the first house's crew checks them.
func (s *season) calibrate() {
	if s.h.number > 0 {
		return
	}
	first, end := s.at(time.June, 15, 7, 40), s.at(time.November, 17, 0, 0)
	if !s.full {
		first, end = s.at(time.July, 13, 7, 40), s.at(time.September, 10, 0, 0)
	}
	n := 0
	for day := s.monday(first); day.Before(end); day = day.AddDate(0, 0, 7) {
		s.checkRefractometers(day)
		if n%4 == 0 {
			s.checkOthers(day.Add(20 * time.Minute))
		}
		n++
	}
}

// monday is the first Monday from t on.
func (s *season) monday(t time.Time) time.Time {
	for t.Weekday() != time.Monday {
		t = t.AddDate(0, 0, 1)
	}
	return t
}

func (s *season) checkRefractometers(at time.Time) {
	found := rounded(1.4910+0.00008*s.rng.NormFloat64(), 4)
	s.add(at, packer, &ledger.Calibration{InstrumentID: s.s.bench.id, Reference: "test glass 1.4910",
		Expected: 1.4910, AsFound: found, AsLeft: found, Tolerance: 0.0005})
	at = at.Add(6 * time.Minute)
	drift := s.mishaps.drift(s, at)
	c := &ledger.Calibration{InstrumentID: s.s.handHeld.id, Reference: "reference liquid 17.0 %",
		Expected: 17.0, AsFound: rounded(17+drift+0.05*s.rng.NormFloat64(), 1), Tolerance: 0.25}
	c.AsLeft = c.AsFound
	if !c.Good() {
		c.AsLeft, c.Note = 17.0, "zero screw had turned; set back and sealed"
		s.mishaps.setRight = at
	}
	s.add(at, packer, c)
}

func (s *season) checkOthers(at time.Time) {
	check := func(id ledger.ID, reference string, expected, sd float64, digits int, tolerance float64) {
		at = at.Add(7 * time.Minute)
		found := rounded(expected+sd*s.rng.NormFloat64(), digits)
		s.add(at, packer, &ledger.Calibration{InstrumentID: id, Reference: reference,
			Expected: expected, AsFound: found, AsLeft: found, Tolerance: tolerance})
	}
	check(s.s.hoist, "check weights 200 kg", 200, 0.4, 1, 2)
	check(s.s.colour, "glycerin standard 30 mm", 30, 0.4, 0, 2)
	check(s.s.loggers, "ice point", 0, 0.1, 1, 0.5)
}

// checkScale puts a known weight on the drum scale before containers are
// filled.
func (s *season) checkScale(at time.Time) {
	if s.h.number == 0 {
		found := rounded(200+0.05*s.rng.NormFloat64(), 1)
		s.add(at, packer, &ledger.Calibration{InstrumentID: s.s.drumScale, Reference: "check weights 200 kg",
			Expected: 200, AsFound: found, AsLeft: found, Tolerance: 0.4})
	}
}
