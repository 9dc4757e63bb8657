package demo

import (
	"time"

	"pullbook/domain/ledger"
)

// warmForWinter pours drums that set hard back into the small tank in November
// and warms them for the pails of the winter market, so that a tank holds honey
// when the book is shown.
func (s *season) warmForWinter() {
	if !s.eventful {
		return
	}
	small, at := s.h.small, s.at(time.November, 9, 9, 0)
	small.advance(s, at)
	for _, c := range s.h.containers {
		if c.kind == s.s.drum && small.freeKg() > c.honey.kg {
			small.setC = 42
			small.advance(s, at)
			small.pour(c.honey.stored(c.filled, at, s.quick), storeC(at))
			s.add(at, packer, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: c.id}, To: s.tankPlace(small),
				Note: "set hard; warmed for winter pails"})
			c.gone = true
			at = at.Add(25 * time.Minute)
		}
	}
	if small.honey.kg == 0 {
		return // a small season keeps no drum that could be warmed
	}
	for _, day := range []int{12, 16} {
		at = s.at(time.November, day, 9, 0)
		small.advance(s, at)
		s.moisture(at, s.tankPlace(small), ledger.PointGate, small.honey.moisturePct+0.05*s.rng.NormFloat64(), s.s.bench, packer)
	}
	small.dip(s, at.Add(10*time.Minute))
	small.advance(s, s.at(time.November, 18, 6, 0))
	small.flush(s)
}

// adoptWarming has the owner go by a plan for the last days of the winter's warming.
func (s *season) adoptWarming() {
	if !s.eventful || s.h.small.honey.kg == 0 {
		return
	}
	at := func(day, hour int) *time.Time { return new(s.at(time.November, day, hour, 0)) }
	small := s.h.small.id
	s.w.add(s.at(time.November, 14, 11, 0), 2*time.Minute, owner, &ledger.AdoptedPlan{
		Title: "hold the small tank until it is filled", Of: ledger.PlanOfWarming,
		Steps:   []ledger.PlanStep{{Does: ledger.PlanHeats, AboutID: small, At: at(14, 12), SetC: new(42)}, {Does: ledger.PlanHeats, AboutID: small, At: at(18, 6)}},
		Expects: []ledger.PlanExpected{{Figure: ledger.PlanTemperature, AboutID: small, At: at(16, 9), Value: 42, Low: new(41.0), High: new(43.0)}},
	})
}
