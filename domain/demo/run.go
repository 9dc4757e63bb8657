package demo

import (
	"fmt"
	"time"

	"pullbook/domain/ledger"
)

// batch is the boxes of one pull that go into one run.
type batch struct {
	pull         *pull
	medium, deep int
}

func (b batch) supers() int { return b.medium + b.deep }

// netKg is the honey truly in the boxes.
func (b batch) netKg() float64 {
	all := float64(b.pull.medium)*kgOf(mediumKind.UsualNetG) + float64(b.pull.deep)*kgOf(deepKind.UsualNetG)
	return b.pull.honey.kg * (float64(b.medium)*kgOf(mediumKind.UsualNetG) + float64(b.deep)*kgOf(deepKind.UsualNetG)) / all
}

func (b batch) frames() int {
	return b.medium*mediumKind.FramesPerSuper + b.deep*deepKind.FramesPerSuper
}

// run is a stretch of extracting as it truly goes.
type run struct {
	batches []batch
	ready   time.Time
	waxKg   float64
	outKg   float64
	wet     bool
}

// snap is how many boxes a run is made longer or shorter to end with a yard.
const snap = 5

// mostInRun is how many boxes a run may have, so that its honey has room in the large tank.
const mostInRun = 150

// cutRuns takes the pulls' boxes in the order in which they came in and cuts
// them into runs.
func (s *season) cutRuns() []*run {
	total, n := 0, s.o.Runs
	for _, p := range s.pulls {
		total += p.medium + p.deep
	}
	if !s.full {
		n = max(1, n/5)
	}
	if total == 0 {
		return nil // an outline of a handful of boxes
	}
	n = max(n, (total+mostInRun-1)/mostInRun)
	ends := s.cuts(total, n)
	runs := []*run{{}}
	place := 0
	for _, p := range s.pulls {
		left := batch{p, p.medium, p.deep}
		for left.supers() > 0 {
			r := runs[len(runs)-1]
			room := ends[0] - place
			take := batch{pull: p, medium: min(left.medium, room)}
			take.deep = min(left.deep, room-take.medium)
			left.medium -= take.medium
			left.deep -= take.deep
			place += take.supers()
			r.batches = append(r.batches, take)
			if place == ends[0] && len(ends) > 1 {
				ends = ends[1:]
				runs = append(runs, &run{})
			}
		}
	}
	for _, r := range runs {
		s.prepare(r)
	}
	return runs
}

// cuts gives the places in the row of boxes at which runs end.
func (s *season) cuts(total, n int) []int {
	weights, sum := make([]float64, n), 0.0
	for i := range weights {
		weights[i] = s.between(0.85, 1.15)
		sum += weights[i]
	}
	for i := range weights {
		weights[i] /= sum
	}
	yardEnds, place := []int{}, 0
	for _, p := range s.pulls {
		place += p.medium + p.deep
		yardEnds = append(yardEnds, place)
	}
	ends, at := []int{}, 0
	for _, w := range ledger.Apportion(int64(total), weights) {
		at += int(w)
		end := at
		for _, y := range yardEnds {
			if y-at <= snap && at-y <= snap && y > last(ends) {
				end = y
			}
		}
		if end > last(ends) {
			ends = append(ends, end)
		}
	}
	ends[len(ends)-1] = total
	return ends
}

func last(of []int) int {
	if len(of) == 0 {
		return 0
	}
	return of[len(of)-1]
}

// prepare works out what a run will truly give. Wax 1 to 1.7 % of the honey,
// and 1 to 2.2 % left in combs, on the floor and in the cappings.
func (s *season) prepare(r *run) {
	net := 0.0
	for _, b := range r.batches {
		net += b.netKg()
		wait := 20 * time.Hour
		if b.pull.yard.wet {
			wait, r.wet = 44*time.Hour, true
		}
		r.ready = later(r.ready, b.pull.at.Add(wait))
	}
	wax, loss := s.between(0.010, 0.017), s.between(0.010, 0.022)
	r.waxKg = net * wax
	r.outKg = net * (1 - wax - loss)
}

// balancePct is the moisture at which the air of the hot room dries no further.
const balancePct = 15.8

// dryingPerDay is how fast boxes lose moisture in the hot room, in points.
func dryingPerDay(moisturePct float64) float64 {
	return within(0.08*(moisturePct-balancePct), 0, 0.3)
}

// wetPct is the moisture from which the crew follows a stack as it dries.
const wetPct = 18.3

// layerPct is how much wetter the top of a stack is than its middle, and the
// bottom drier.
const layerPct = 0.2

// watchDrying reads wet stacks each morning, top and bottom, until they go to
// the line.
func (s *season) watchDrying(r *run, until time.Time) {
	for _, b := range r.batches {
		p := b.pull
		if p.watched || !s.full || p.honey.moisturePct < wetPct {
			continue
		}
		p.watched = true
		on := ledger.Place{Kind: ledger.PlacePull, ID: p.id}
		for at := s.clock(p.at, 1, 8, 5); at.Before(until); at = s.clock(at, 1, 8, 5) {
			now := p.moistureAt(at)
			s.moisture(at, on, ledger.PointTop, now+layerPct, s.s.handHeld, extractor)
			s.moisture(at.Add(4*time.Minute), on, ledger.PointBottom, now-layerPct, s.s.handHeld, extractor)
		}
	}
}

// moistureAt is a stack's moisture after its days in the hot room.
func (p *pull) moistureAt(at time.Time) float64 {
	came := p.honey.moisturePct
	return max(min(came, balancePct), came-at.Sub(p.at).Hours()/24*dryingPerDay(came))
}

// honey is what comes out of the run: its pulls' honey after its days in the
// hot room.
func (r *run) honey(at time.Time, quick float64) parcel {
	var sum parcel
	for _, b := range r.batches {
		p := b.pull.honey.part(b.netKg())
		p.pulls = map[ledger.ID]float64{b.pull.id: 1}
		days := at.Sub(b.pull.at).Hours() / 24
		p.moisturePct = b.pull.moistureAt(at)
		sum = sum.mixed(p.aged(hotRoomC, 24*days, quick))
	}
	return sum.part(r.outKg)
}

// extract writes down a run from its first box to its last and gives its end.
func (s *season) extract(r *run, at time.Time, into []share) time.Time {
	s.runs++
	s.watchDrying(r, at)
	e := s.add(at, extractor, &ledger.Run{Name: fmt.Sprintf("%s%d-%02d", houseCode(s.h.number), s.year, s.runs), FramesPerSide: 30})
	for i, b := range r.batches {
		s.putIn(e.ID, b, at.Add(time.Duration(3+2*i)*time.Minute))
	}
	end := s.spin(e.ID, r, at.Add(12*time.Minute))
	honey := r.honey(at, s.quick)
	on := ledger.Place{Kind: ledger.PlaceRun, ID: e.ID}
	s.moisture(at.Add(end.Sub(at)/2), on, ledger.PointMixed, honey.moisturePct+0.04*s.rng.NormFloat64(), s.s.handHeld, extractor)
	if s.full && s.rng.Float64() < 0.5 {
		s.moisture(at.Add(end.Sub(at)/2+s.minutes(3, 9)), on, ledger.PointMixed, honey.moisturePct+0.04*s.rng.NormFloat64(), s.s.bench, extractor)
	}
	s.fillTanks(e.ID, honey, at, end, into)
	s.endRun(e.ID, r, end.Add(s.minutes(6, 15)))
	return end.Add(20 * time.Minute)
}

func (s *season) putIn(run ledger.ID, b batch, at time.Time) {
	put := func(kind ledger.ID, n int) {
		if n > 0 {
			s.add(at, extractor, &ledger.RunSupers{RunID: run, PullID: b.pull.id, SuperCount: ledger.SuperCount{SuperKindID: kind, Supers: n}})
		}
	}
	put(s.s.medium, b.medium)
	put(s.s.deep, b.deep)
}

// spin writes down the loads. Sixty frames go in at a time; at a change of yard
// what is left goes in by itself, the two sides alike, unless it is too little
// to spin.
func (s *season) spin(run ledger.ID, r *run, at time.Time) time.Time {
	n, waiting := 0, 0
	spin := func(frames int) {
		n++
		if s.full {
			l := &ledger.Load{RunID: run, Load: n, FramesLeft: (frames + 1) / 2, FramesRight: frames / 2}
			e := s.add(at, extractor, l)
			s.mishaps.loaded(s, e)
		}
		at = at.Add(s.minutes(13, 18))
	}
	for i, b := range r.batches {
		waiting += b.frames()
		for waiting >= 60 {
			take := 60
			if s.rng.Float64() < 0.15 {
				take = 58
			}
			spin(take)
			waiting -= take
		}
		if waiting >= 20 || i == len(r.batches)-1 && waiting > 0 {
			spin(waiting)
			waiting = 0
		}
	}
	return at
}

// tareG is what empty boxes usually weigh.
func tareG(medium, deep int) int64 {
	return int64(medium)*mediumKind.TareG + int64(deep)*deepKind.TareG
}

func (s *season) endRun(run ledger.ID, r *run, at time.Time) {
	b := &ledger.RunEnd{RunID: run, WaxG: grams(r.waxKg*(1+0.03*s.rng.NormFloat64()), 0.1)}
	weighed, tare := true, 0.0
	for _, p := range r.batches {
		weighed = weighed && p.pull.weighed
		tare += p.pull.tareKg * kgOf(tareG(p.medium, p.deep)) / kgOf(tareG(p.pull.medium, p.pull.deep))
	}
	if weighed {
		b.EmptiesG = grams(tare*(1+hoistShare*s.rng.NormFloat64()), 0.5)
	}
	if s.rng.Float64() < 0.4 {
		b.SetAsideFrames = 1 + s.rng.IntN(6)
	}
	s.add(at, extractor, b)
}
