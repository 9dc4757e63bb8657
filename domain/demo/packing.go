package demo

import (
	"fmt"
	"time"

	"pullbook/domain/ledger"
)

// container is a drum, pail or tote as it truly is.
type container struct {
	id     ledger.ID
	kind   ledger.ID
	lot    ledger.ID
	filled time.Time
	honey  parcel
	gone   bool
}

// shut closes a tank to settle; it is packed off on the next morning but the
// heated one, which is warmed for a day more.
func (s *season) shut(t *tank) {
	t.closed = true
	settles := later(t.lastFill, t.openFrom)
	if t == s.h.small {
		if t.setC = 40; s.rng.Float64() < 0.3 {
			t.setC = 45
		}
		t.emptyAt = s.clock(settles, 2, 13, 0).Add(s.minutes(0, 20))
		return
	}
	t.emptyAt = s.clock(settles, 1, 8, 15).Add(s.minutes(0, 20))
}

func (s *season) tanks() []*tank { return []*tank{s.h.large, s.h.small} }

// closeFull closes the tanks that are too full for another run. Where there is
// nothing to wait for, the large one is closed whatever it has.
func (s *season) closeFull(at time.Time) {
	large, small := s.h.large, s.h.small
	if !large.closed && large.honey.kg > 0.5*large.capacityKg {
		s.shut(large)
	}
	if !small.closed && small.honey.kg > 0.3*small.capacityKg {
		s.shut(small)
	}
	if !large.closed && !small.closed && s.nextOpening(at).IsZero() {
		s.shut(large)
	}
}

// closeIdle closes tanks that have stood for more than a day with honey worth
// packing.
func (s *season) closeIdle(at time.Time) {
	for _, t := range s.tanks() {
		if !t.closed && t.honey.kg > 0.35*t.capacityKg && at.Sub(t.lastFill) > 40*time.Hour {
			s.shut(t)
		}
	}
}

// nextOpening is the first instant after at when a tank is packed off or open
// again.
func (s *season) nextOpening(at time.Time) time.Time {
	var first time.Time
	for _, t := range s.tanks() {
		next := t.openFrom
		if t.closed {
			next = t.emptyAt
		}
		if next.After(at) && (first.IsZero() || next.Before(first)) {
			first = next
		}
	}
	return first
}

// packDue packs off the tanks whose time has come, the earliest first.
func (s *season) packDue(at time.Time) {
	for {
		var due *tank
		for _, t := range s.tanks() {
			if t.closed && !t.emptyAt.After(at) && (due == nil || t.emptyAt.Before(due.emptyAt)) {
				due = t
			}
		}
		if due == nil {
			return
		}
		s.pack(due)
	}
}

// pack takes a tank's honey into containers: readings, a dip, a new lot, and
// sometimes a wash.
func (s *season) pack(t *tank) {
	at := t.emptyAt
	t.emptyings++
	t.advance(s, at)
	s.checkScale(at.Add(-20 * time.Minute))
	s.readTank(t, at)
	at = at.Add(12 * time.Minute)
	if !s.mishaps.noDip(s, t) {
		t.dip(s, at)
	}
	if t == s.h.large {
		s.skim(t, at.Add(6*time.Minute))
		at = s.transfer(at.Add(12 * time.Minute))
	}
	washing := t.emptyings%4 == 0 || t == s.h.small && (t.emptyings%2 == 0 || s.mishaps.short)
	at = s.fillLot(t, at.Add(10*time.Minute), washing)
	t.setC, t.closed = 0, false
	if washing {
		at = s.wash(t, at.Add(30*time.Minute))
	}
	s.mishaps.packed(s, t)
	t.openFrom = at.Add(10 * time.Minute)
	if t.honey.kg == 0 {
		t.flush(s)
	}
}

func (s *season) readTank(t *tank, at time.Time) {
	top := s.moisture(at, s.tankPlace(t), ledger.PointTop, t.honey.moisturePct+0.10+0.05*s.rng.NormFloat64(), s.s.handHeld, packer)
	if s.full {
		s.moisture(at.Add(3*time.Minute), s.tankPlace(t), ledger.PointMiddle, t.honey.moisturePct+0.05*s.rng.NormFloat64(), s.s.handHeld, packer)
		top = s.moisture(at.Add(6*time.Minute), s.tankPlace(t), ledger.PointGate, t.honey.moisturePct-0.03+0.05*s.rng.NormFloat64(), s.s.bench, packer)
	}
	t.guessPct = top.Body.(*ledger.Reading).Moisture.Pct
}

// skim takes the foam off.
func (s *season) skim(t *tank, at time.Time) {
	kg := s.between(3, 9)
	t.draw(kg)
	s.add(at, packer, &ledger.Movement{From: s.tankPlace(t), To: ledger.Place{Kind: ledger.PlaceWaste},
		MassG: grams(kg+0.1*s.rng.NormFloat64(), 0.1), Note: "foam skimmed off"})
}

// transfer takes some honey over to the small tank to be warmed for pails,
// sometimes with a drum or two that set too hard.
func (s *season) transfer(at time.Time) time.Time {
	small, large := s.h.small, s.h.large
	if small.closed || small.now.After(at) || small.honey.kg > 60 || large.honey.kg < 2000 {
		return at
	}
	if s.rng.Float64() > 0.4 && (s.reworked || at.Month() < time.August) {
		return at
	}
	small.advance(s, at)
	kg := s.between(300, 480)
	p := large.draw(kg)
	small.pour(p, large.tempC)
	e := s.add(at, packer, &ledger.Movement{From: s.tankPlace(large), To: s.tankPlace(small),
		MassG: grams(kg-s.mishaps.shortfallKg(s)+small.riseSDKg*s.rng.NormFloat64(), 1)})
	s.w.truth.Tanks[e.ID] = s.tanksAt()
	if small.guessPct == 0 {
		small.guessPct = large.guessPct
	}
	s.rework(at.Add(15 * time.Minute))
	s.shut(small)
	return at.Add(30 * time.Minute)
}

// rework pours two fresh drums back, or one where there is no more room, once a
// season.
func (s *season) rework(at time.Time) {
	if s.reworked || !s.full || at.Month() < time.August {
		return
	}
	for i, n := len(s.h.containers)-1, 0; i >= 0 && n < 2; i-- {
		c := s.h.containers[i]
		if c.gone || c.kind != s.s.drum || at.Sub(c.filled) < 24*time.Hour || at.Sub(c.filled) > 12*24*time.Hour {
			continue
		}
		if s.h.small.freeKg() < c.honey.kg {
			return
		}
		when := at.Add(time.Duration(n*20) * time.Minute)
		s.h.small.advance(s, when)
		s.h.small.pour(c.honey.stored(c.filled, when, s.quick), 32)
		s.add(when, packer, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: c.id}, To: s.tankPlace(s.h.small),
			Note: "set hard already; warmed and poured back"})
		c.gone, s.reworked = true, true
		n++
	}
}

// wash takes the heel down the drain.
func (s *season) wash(t *tank, at time.Time) time.Time {
	t.advance(s, at)
	t.flush(s)
	t.honey = parcel{}
	s.add(at, packer, &ledger.Wash{TankID: t.id, With: "hot water, rinsed and dried"})
	return at.Add(time.Hour)
}

var products = []string{"clover, liquid", "clover and canola, liquid", "summer blossom, liquid", "late blossom, liquid"}

// fillLot fills containers under a new lot code down to the heel.
func (s *season) fillLot(t *tank, at time.Time, toTheEnd bool) time.Time {
	number := s.h.next(s.year, 'L')
	lot := s.add(at, packer, &ledger.Lot{Code: fmt.Sprintf("%s%02d-%03d", houseCode(s.h.number), s.year%100, number),
		Product: products[min(len(products)-1, max(0, int(at.Month())-6))], StoreID: s.h.store})
	f := filling{s: s, t: t, lot: lot.ID, at: at.Add(4 * time.Minute)}
	if t == s.h.large && t.honey.kg > 3000 && s.rng.Float64() < 0.15 {
		f.fill(s.s.tote, &toteKind, 'T')
	}
	pails := 0
	if t == s.h.small {
		pails = 8 + s.rng.IntN(14)
	}
	for range pails {
		if f.left() >= kgOf(pailKind.UsualNetG)+2 {
			f.fill(s.s.pail, &pailKind, 'P')
		}
	}
	for f.left() >= kgOf(drumKind.UsualNetG)+5 {
		f.fill(s.s.drum, &drumKind, 'D')
	}
	if toTheEnd {
		for f.left() >= kgOf(pailKind.UsualNetG)+0.5 {
			f.fill(s.s.pail, &pailKind, 'P')
		}
		if f.left() > 3 {
			f.short()
		}
	}
	s.colour(f.at, lot.ID, t.honey)
	t.advance(s, f.at)
	return f.at
}

// yearly is a series of numbers that begins anew each year.
type yearly struct {
	year   int
	letter byte
}

// next is the next number of a series, from one.
func (h *house) next(year int, letter byte) int {
	h.numbers[yearly{year, letter}]++
	return h.numbers[yearly{year, letter}]
}

// filling is a lot being filled from a tank.
type filling struct {
	s   *season
	t   *tank
	lot ledger.ID
	at  time.Time
}

func (f *filling) left() float64 { return f.t.honey.kg - f.t.heelKg }

// spread of containers: tare and how nearly the crew stops at the usual net.
const (
	drumTareSDKg = 0.8
	netSDShare   = 0.004
)

func (f *filling) fill(kind ledger.ID, k *ledger.ContainerKind, letter byte) {
	usual := kgOf(k.UsualNetG)
	net := within(usual*(1+netSDShare*f.s.rng.NormFloat64()), usual*0.985, usual*1.012)
	f.put(kind, k, letter, net)
	step := map[byte]int{'D': 6, 'P': 2, 'T': 15}[letter]
	f.at = f.at.Add(f.s.minutes(step, step+2))
}

// short is the last pail, not full, and what is weighed last: never about as
// many kilograms as a full one has pounds, or half of it.
func (f *filling) short() {
	net := f.left()
	if share := net / kgOf(pailKind.UsualNetG); share > 0.38 && share < 0.53 {
		net = 0.38 * kgOf(pailKind.UsualNetG)
	}
	f.put(f.s.s.pail, &pailKind, 'P', net)
	f.at = f.at.Add(2 * time.Minute)
}

func (f *filling) put(kind ledger.ID, k *ledger.ContainerKind, letter byte, net float64) {
	s := f.s
	f.t.advance(s, f.at)
	p := f.t.draw(net)
	p.moisturePct += 0.05 * s.rng.NormFloat64()
	tare := kgOf(k.TareG) * (1 + drumTareSDKg/kgOf(drumKind.TareG)*s.rng.NormFloat64()*0.8)
	step := 0.1
	if letter == 'P' {
		step = 0.01
	}
	noise := drumScaleSDKg * within(usualShare(k), 0.1, 1.5)
	e := s.add(f.at, packer, &ledger.Fill{LotID: f.lot, TankID: f.t.id, ContainerKindID: kind,
		Container: fmt.Sprintf("%s%c%02d-%04d", houseCode(s.h.number), letter, s.year%100, s.h.next(s.year, letter)),
		TareG:     grams(tare, step), GrossG: grams(tare+net+noise*s.rng.NormFloat64(), step)})
	s.w.truth.PullShares[e.ID] = p.pulls
	s.mishaps.filled(s, e, letter)
	c := &container{id: e.ID, kind: kind, lot: f.lot, filled: f.at, honey: p}
	s.h.containers = append(s.h.containers, c)
	s.readContainer(c, letter)
}

// usualShare is a container's net beside a drum's.
func usualShare(k *ledger.ContainerKind) float64 {
	return float64(k.UsualNetG) / float64(drumKind.UsualNetG)
}

func (s *season) readContainer(c *container, letter byte) {
	chance := map[byte]float64{'D': 0.4, 'P': 0.1, 'T': 1}[letter]
	if !s.full || s.rng.Float64() >= chance {
		return
	}
	on := ledger.Place{Kind: ledger.PlaceContainer, ID: c.id}
	s.moisture(c.filled.Add(s.minutes(1, 3)), on, ledger.PointCore, c.honey.moisturePct, s.s.handHeld, packer)
	if letter == 'T' {
		s.moisture(c.filled.Add(s.minutes(3, 6)), on, ledger.PointTop, c.honey.moisturePct+0.05, s.s.handHeld, packer)
	}
}

// finish packs off everything and washes up.
func (s *season) finish(at time.Time) {
	s.emptySump(at.AddDate(0, 0, 1))
	s.packDue(at)
	for _, t := range s.tanks() {
		if !t.closed && t.honey.kg > 0.2*t.capacityKg {
			s.shut(t)
		}
	}
	s.packDue(at.AddDate(0, 0, 10))
	// The large tank's last honey may have gone to the small one.
	s.packDue(at.AddDate(0, 0, 20))
	for _, t := range s.tanks() {
		at = later(at, t.openFrom)
	}
	at = s.clock(at, 1, 9, 0)
	if s.rework(at); s.h.small.honey.kg > 200 {
		s.h.small.setC = 40
		at = s.clock(at, 2, 9, 0)
	}
	for _, t := range s.tanks() {
		t.advance(s, at)
		if f := (&filling{s: s, t: t}); f.left() > 3 {
			t.dip(s, at)
			at = s.fillLot(t, at.Add(10*time.Minute), true)
		}
		at = s.wash(t, at.Add(20*time.Minute))
	}
}

// startClean washes the empty tanks before the season.
func (s *season) startClean() {
	at := s.at(time.June, 15, 9, 30)
	for i, t := range s.tanks() {
		t.honey, t.closed, t.guessPct, t.openFrom, t.emptyings = parcel{}, false, 0, time.Time{}, 0
		t.now = at
		s.add(at.Add(time.Duration(i)*time.Hour), packer, &ledger.Wash{TankID: t.id, With: "hot water, rinsed and dried"})
	}
}
