package demo

import (
	"fmt"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/units"
)

// pull is supers of one yard as they truly are.
type pull struct {
	id           ledger.ID
	at           time.Time
	yard         *yard
	round        round
	medium, deep int
	// perUsual is how full the boxes are beside the usual.
	perUsual float64
	honey    parcel
	tareKg   float64
	weighed  bool
	// watched is true once its drying was written down.
	watched bool
}

// round is one time round the yards.
type round struct {
	first, last [2]int // month, day
	// share of the yards visited.
	share float64
	// supers and fullness beside the average.
	supers, fullness float64
	moisturePct      float64
	pfundMM          float64
}

var fullRounds = []round{
	{[2]int{6, 20}, [2]int{7, 14}, 0.60, 0.80, 0.92, 0.35, 0},
	{[2]int{7, 18}, [2]int{8, 13}, 1.00, 1.15, 1.03, 0, 3},
	{[2]int{8, 17}, [2]int{9, 12}, 0.90, 0.95, 0.97, -0.15, 10},
}

var outlineRounds = []round{{[2]int{7, 20}, [2]int{8, 28}, 0.40, 1, 0.97, 0.1, 3}}

// outlineShare is the part of a full season's supers that an outline tells.
const outlineShare = 0.27

func (s *season) countHives() {
	for i := range s.h.yards {
		y := &s.h.yards[i]
		if s.index > 0 {
			y.hives = max(8, y.hives+s.rng.IntN(7)-3)
		}
		if s.full {
			s.add(s.at(time.May, 4+i%12, 10, 0).Add(s.minutes(0, 300)), driver,
				&ledger.HiveCount{YardID: y.id, Name: "after winter", Hives: y.hives - s.rng.IntN(5)})
		}
		s.add(s.at(time.June, 8+i%10, 10, 0).Add(s.minutes(0, 300)), driver,
			&ledger.HiveCount{YardID: y.id, Name: "main flow", Hives: y.hives})
	}
}

// planPulls spreads the season's supers over yards and days.
func (s *season) planPulls() {
	rounds, supers := fullRounds, s.more*float64(s.o.Supers)
	if !s.full {
		rounds, supers = outlineRounds, outlineShare*supers
	}
	var weights []float64
	sum := 0.0
	for _, r := range rounds {
		for _, p := range s.visits(r) {
			s.pulls = append(s.pulls, p)
			weights = append(weights, float64(p.yard.hives)*p.yard.supers*r.supers*s.between(0.85, 1.15))
			sum += weights[len(weights)-1]
		}
	}
	for i := range weights {
		weights[i] /= sum
	}
	for i, n := range ledger.Apportion(int64(supers), weights) {
		s.fillBoxes(s.pulls[i], int(n))
	}
	s.pulls = slices.DeleteFunc(s.pulls, func(p *pull) bool { return p.medium+p.deep == 0 })
	slices.SortStableFunc(s.pulls, func(a, b *pull) int { return a.at.Compare(b.at) })
}

// visits are the pulls of one round, spread over its days but Sundays.
func (s *season) visits(r round) []*pull {
	first, last := s.at(time.Month(r.first[0]), r.first[1]+s.later, 9, 0), s.at(time.Month(r.last[0]), r.last[1]+s.later, 9, 0)
	yards := s.rng.Perm(len(s.h.yards))
	n := max(1, int(math.Round(r.share*float64(len(yards)))))
	out := make([]*pull, 0, n)
	days := last.Sub(first).Hours() / 24
	for i, y := range yards[:n] {
		at := s.clock(first, int(days*float64(i)/float64(n)), 9, 0).Add(s.minutes(0, 400))
		if at.Weekday() == time.Sunday {
			at = at.AddDate(0, 0, 1)
		}
		out = append(out, &pull{at: at, yard: &s.h.yards[y], round: r})
	}
	return out
}

// fillBoxes gives a pull its supers and their honey.
func (s *season) fillBoxes(p *pull, supers int) {
	if p.yard.deeps {
		p.deep = supers * 3 / 10
	}
	p.medium = supers - p.deep
	fullest := float64(deepKind.FullestNetG) / float64(deepKind.UsualNetG)
	p.perUsual = within(p.yard.yield*p.round.fullness*(1+0.05*s.rng.NormFloat64()), 0.68, fullest-0.02)
	usual := float64(p.medium)*kgOf(mediumKind.UsualNetG) + float64(p.deep)*kgOf(deepKind.UsualNetG)
	tare := float64(p.medium)*kgOf(mediumKind.TareG) + float64(p.deep)*kgOf(deepKind.TareG)
	p.tareKg = tare + 0.25*math.Sqrt(float64(supers))*s.rng.NormFloat64()
	p.honey = parcel{
		kg:          usual * p.perUsual,
		moisturePct: within(p.yard.moisturePct+p.round.moisturePct+0.25*s.rng.NormFloat64(), 15.3, 20.4),
		hmf:         s.between(0.6, 1.8),
		diastase:    s.between(17, 27),
		pfundMM:     p.yard.pfundMM + p.round.pfundMM + 3*s.rng.Float64(),
		msPerCM:     p.yard.msPerCM + 0.02*s.rng.Float64(),
	}
	if p.yard.wet && s.eventful {
		p.honey.moisturePct = s.between(20.8, 21.1)
	}
	p.weighed = s.rng.Float64() < weighedShare
}

// weighedShare of the pulls went over the hoist scale.
const weighedShare = 0.65

func (s *season) writePulls() {
	for _, p := range s.pulls {
		b := &ledger.Pull{YardID: p.yard.id, RoomID: s.h.hot,
			HivesWorked: max(1, p.yard.hives-s.rng.IntN(4))}
		if p.medium > 0 {
			b.Supers = append(b.Supers, ledger.SuperCount{SuperKindID: s.s.medium, Supers: p.medium})
		}
		if p.deep > 0 {
			b.Supers = append(b.Supers, ledger.SuperCount{SuperKindID: s.s.deep, Supers: p.deep})
		}
		// Pulls are written down when the truck is back.
		e := s.w.add(p.at, s.minutes(60, 300), driver, b)
		if p.weighed {
			gross := (p.honey.kg + p.tareKg) * (1 + hoistShare*s.rng.NormFloat64())
			pounds := math.Round(gross / units.KilogramsPerPound)
			b.GrossG = int64(math.Round(pounds * units.KilogramsPerPound * 1000))
			e.AsEntered = map[string]string{"gross_kg": fmt.Sprintf("%.0f lb", pounds)}
		}
		p.id = e.ID
		s.w.truth.HoneyG[p.id] = int64(p.honey.kg * 1000)
		s.readPull(p)
	}
}

// readPull reads the honey of several frames as the boxes come in.
func (s *season) readPull(p *pull) {
	on := ledger.Place{Kind: ledger.PlacePull, ID: p.id}
	at := p.at.Add(s.minutes(310, 400))
	s.moisture(at, on, ledger.PointMixed, p.honey.moisturePct, s.s.handHeld, driver)
	if s.full {
		s.moisture(at.Add(s.minutes(2, 8)), on, ledger.PointMixed, p.honey.moisturePct, s.s.bench, driver)
	}
}

// moisture writes down a refractometer reading of honey of a true moisture.
func (s *season) moisture(at time.Time, on ledger.Place, point ledger.Point, truePct float64, with instrument, by string) *ledger.Entry {
	drift := 0.0
	if with.honeyScale {
		drift = s.mishaps.drift(s, at)
	}
	e := s.add(at, by, &ledger.Reading{On: on, Point: point, InstrumentID: with.id, Moisture: with.read(s.rng, truePct, drift)})
	s.w.truth.MoisturePct[e.ID] = truePct
	s.mishaps.read(s, e)
	if on.Kind == ledger.PlaceTank {
		s.w.truth.Tanks[e.ID] = s.tanksAt()
	}
	return e
}

func kgOf(grams int64) float64 { return float64(grams) / 1000 }
