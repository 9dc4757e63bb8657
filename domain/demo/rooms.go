package demo

import (
	"math"
	"time"

	"pullbook/domain/ledger"
)

// hotRoomC is the usual aim, 90 to 95 F (common practice).
const hotRoomC = 33.0

// logRooms writes down the hot room day by day and the store week by week.
func (s *season) logRooms() {
	if !s.full || len(s.pulls) == 0 {
		return
	}
	first, last := s.pulls[0].at, s.pulls[len(s.pulls)-1].at.AddDate(0, 0, 12)
	for day := s.clock(first, 0, 0, 0); day.Before(last); day = day.AddDate(0, 0, 1) {
		s.logHotRoom(day)
	}
	end := s.at(time.November, 16, 0, 0)
	for week := s.at(time.June, 15, 6, 0); week.Before(end); week = week.AddDate(0, 0, 7) {
		s.logStore(week)
	}
}

func (s *season) logHotRoom(day time.Time) {
	b := &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: s.h.hot}, WaterG: grams(s.between(2, 7), 0.1)}
	humid := s.between(38, 50)
	for hour := logEvery; hour <= 24; hour += logEvery {
		at := s.clock(day, 0, hour, 0)
		p := s.logged(at, hotRoomC+0.8*math.Sin(float64(hour)/24*2*math.Pi))
		rh := rounded(within(humid+2*s.rng.NormFloat64(), 25, 54), 0)
		p.HumidityPct = &rh
		b.Points = append(b.Points, p)
	}
	s.add(b.Points[len(b.Points)-1].At, logger, b)
}

func (s *season) logStore(week time.Time) {
	b := &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: s.h.store}}
	for i := range 14 {
		at := s.clock(week, i/2, 6+12*(i%2), 0)
		b.Points = append(b.Points, s.logged(at, storeC(at)+float64(i%2)*0.8-0.4))
	}
	s.add(b.Points[len(b.Points)-1].At, logger, b)
}
