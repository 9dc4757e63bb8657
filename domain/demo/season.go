package demo

import (
	"math"
	"math/rand/v2"
	"time"

	"pullbook/domain/ledger"
)

// season is one house's season while it is being made up.
type season struct {
	h     *house
	s     *shared
	w     *writer
	o     Options
	rng   *rand.Rand
	index int
	year  int
	// full is false for a season told in outline.
	full bool
	// eventful is true where what goes wrong in real life does.
	eventful bool
	// quick is how fast this season's honey makes HMF beside the middle honey.
	quick float64
	// more is how many times the usual supers the season has, later by how many days its pulls are late.
	more  float64
	later int
	pulls []*pull
	runs  int
	// sump holds what stands in it overnight.
	sump []overnight
	// reworked is true once drums were poured back.
	reworked bool
	mishaps  mishaps
}

func newSeason(h *house, index int) *season {
	full := index >= h.o.Outline
	s := &season{h: h, s: h.shared, w: h.w, o: h.o, index: index, year: h.o.FirstYear + index, full: full,
		rng:      rand.New(rand.NewPCG(h.o.Seed, uint64(h.number+1)<<32|uint64(index))),
		eventful: h.o.Happenings && h.number == 0 && index == h.o.Seasons-1,
	}
	s.quick = math.Exp(0.2 * s.rng.NormFloat64())
	// All houses of an outfit have the same year.
	year := rand.New(rand.NewPCG(h.o.Seed, uint64(index)))
	s.more, s.later = math.Exp(h.o.UnlikeSupers*year.NormFloat64()), int(math.Round(h.o.UnlikeDays*year.NormFloat64()))
	return s
}

// tell makes up the season from the first hive count to the last truck.
func (s *season) tell() {
	s.countHives()
	s.startClean()
	s.planPulls()
	s.calibrate()
	s.writePulls()
	s.extractAll()
	s.logRooms()
	s.sendToLaboratory()
	s.dispatchAll()
	s.warmForWinter()
	s.prepareNext()
	s.prepareBlend()
	s.adoptWarming()
	s.agree()
	s.mishaps.settle(s)
}

// add writes down what happened, a few minutes later.
func (s *season) add(at time.Time, by string, body ledger.Body) *ledger.Entry {
	return s.w.add(at, time.Duration(40+s.rng.IntN(500))*time.Second, by, body)
}

// at is a local time of the season's year.
func (s *season) at(month time.Month, day, hour, minute int) time.Time {
	return time.Date(s.year, month, day, hour, minute, 0, 0, s.o.Location)
}

// morning is a local time on the day of t, some days later.
func (s *season) clock(t time.Time, days, hour, minute int) time.Time {
	y, m, d := t.In(s.o.Location).Date()
	return time.Date(y, m, d+days, hour, minute, 0, 0, s.o.Location)
}

// working is the first instant from t on at which a run may be started: Monday
// to Saturday, 8:00 to 16:00.
func (s *season) working(t time.Time) time.Time {
	local := t.In(s.o.Location)
	if local.Hour() >= 16 {
		local = s.clock(local, 1, 8, 0)
	} else if local.Hour() < 8 {
		local = s.clock(local, 0, 8, 0)
	}
	if local.Weekday() == time.Sunday {
		local = s.clock(local, 1, 8, 0)
	}
	return local
}

// minutes is a random number of minutes.
func (s *season) minutes(low, high int) time.Duration {
	return time.Duration(low)*time.Minute + time.Duration(s.rng.IntN((high-low)*60+1))*time.Second
}

func (s *season) between(low, high float64) float64 { return low + (high-low)*s.rng.Float64() }

// shedC is the air round the tanks.
func (s *season) shedC(at time.Time) float64 { return storeC(at) + 5 }

// logged is what a logger shows.
func (s *season) logged(at time.Time, trueC float64) ledger.TemperaturePoint {
	return ledger.TemperaturePoint{At: at.UTC(), TemperatureC: rounded(trueC+loggerSDC*s.rng.NormFloat64(), 1)}
}

func (s *season) tankPlace(t *tank) ledger.Place {
	return ledger.Place{Kind: ledger.PlaceTank, ID: t.id}
}

// tanksAt is how the house's tanks stand.
func (s *season) tanksAt() []TankTruth {
	out := make([]TankTruth, 0, 2)
	for _, t := range []*tank{s.h.large, s.h.small} {
		out = append(out, TankTruth{t.id, int64(t.honey.kg * 1000), t.honey.moisturePct, int64(t.capacityKg * 1000)})
	}
	return out
}
