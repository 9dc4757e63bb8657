package warm

import (
	"math"

	"pullbook/domain/heat"
)

// Figure is what a plan rests on that may be otherwise.
type Figure string

const (
	// LossOf is what the tank, or the room of containers, loses, in W/K.
	LossOf Figure = "loss_w_per_k"
	// CrystalsOf is how much of the honey has set, in percent of the mass.
	CrystalsOf Figure = "crystals_pct"
	// StartOf is how warm the honey begins, in degrees Celsius.
	StartOf Figure = "start_temperature_c"
)

// Figures are all of them.
func Figures() []Figure { return []Figure{LossOf, CrystalsOf, StartOf} }

// Change is what would become of a plan.
type Change string

const (
	// Late is that the best way is more likely late than not.
	Late Change = "late"
	// Never is that no way as hot as allowed comes there in time as surely as asked.
	Never Change = "never"
	// Better is that another way of the answer costs less.
	Better Change = "better"
)

// Turn is what would change a plan: from a figure on, all else being as it is.
type Turn struct {
	Of      Figure
	Changes Change
	// Now is the figure as it is taken, At where the plan turns; Above says that it does from there up.
	Now, At float64
	Above   bool
	// Way is that which is better; nil of other changes.
	Way *Way
	// Room says that a loss is that of a room.
	Room bool
}

// turnHalvings is how often the stretch is halved in which a plan turns.
const turnHalvings = 9

// Turns finds what would change the best way of an answer: from which loss, crystals and beginning on it is late, and nothing is in
// time, and on the other side from which on another way of the answer is better. A best way has nothing to spare of how sure it is to be
// in time, so that it is late from where as likely as not.
func (s *Spec) Turns(a *Answer) (out []Turn, err error) {
	if len(a.Choices) == 0 || a.Choices[0].HottestC == Off {
		return nil, nil
	}
	p, err := s.problem(s.Hours)
	if err != nil {
		return nil, err
	}
	t := &turning{problem: p, best: a.Choices[0].Sets()}
	moisture, crystals := s.Vessel.honeyPct()
	if t.half, err = targetOf(s.Aim, 0.5, moisture, crystals); err != nil {
		return nil, err
	}
	for i := range a.Choices[1:] {
		t.others = append(t.others, &a.Choices[1+i])
	}
	for _, w := range []*Way{a.Hottest, a.AsNow} {
		if w != nil && w.Arrives {
			t.others = append(t.others, w)
		}
	}
	_, room := s.Vessel.(Containers)
	for _, figure := range Figures() {
		now, least, most := s.Vessel.tried(figure)
		worse, easier := most, least
		if figure == StartOf {
			worse, easier = least, most
		}
		for _, of := range []struct {
			changes Change
			end     float64
			turns   func(Vessel) (*Way, bool, error)
		}{{Late, worse, t.late}, {Never, worse, t.never}, {Better, easier, t.better}} {
			turn := Turn{Of: figure, Changes: of.changes, Now: now, Above: of.end > now, Room: room && figure == LossOf}
			turns, err := t.towards(&turn, of.end, of.turns)
			if err != nil {
				return nil, err
			}
			if turns {
				out = append(out, turn)
			}
		}
	}
	return out, nil
}

// turning is the ways of an answer in a vessel that may be otherwise.
type turning struct {
	*problem
	// half is what half of honeys have to go through.
	half   target
	best   []int
	others []*Way
}

// towards finds where a plan turns on the way of a figure to an end; false where it does not.
func (t *turning) towards(turn *Turn, end float64, turns func(Vessel) (*Way, bool, error)) (bool, error) {
	at := func(v float64) (there bool, err error) {
		vessel, err := t.Vessel.otherwise(turn.Of, v)
		if err != nil {
			return false, err
		}
		way, there, err := turns(vessel)
		if there {
			turn.At, turn.Way = v, way
		}
		return there, err
	}
	if end == turn.Now {
		return false, nil
	}
	if there, err := at(end); !there || err != nil {
		return false, err
	}
	holds := turn.Now
	for range turnHalvings {
		middle := (holds + turn.At) / 2
		there, err := at(middle)
		if err != nil {
			return false, err
		}
		if !there {
			holds = middle
		}
	}
	return true, nil
}

// late reports whether the best way is late where honey and vessel are as expected.
func (t *turning) late(v Vessel) (*Way, bool, error) {
	p := *t.problem
	p.target = t.half
	var err error
	if p.follower, err = v.ready(t.Hours, 0, nil); err != nil {
		return nil, false, err
	}
	_, arrives := p.follows(t.best)
	return nil, !arrives, nil
}

// never reports whether not even as hot as allowed all the time comes there in time.
func (t *turning) never(v Vessel) (*Way, bool, error) {
	p := *t.problem
	var err error
	if p.follower, err = v.ready(t.Hours, t.sds(), nil); err != nil {
		return nil, false, err
	}
	n := p.follower.begin()
	for range t.Hours {
		if p.roughly(&n, t.HottestC); p.arrived(&n) {
			return nil, false, nil
		}
	}
	return nil, true, nil
}

// better is which of the others costs less than the best way, of those that come there in time.
func (t *turning) better(v Vessel) (way *Way, better bool, err error) {
	p := *t.problem
	if p.follower, err = v.ready(t.Hours, t.sds(), t.hmfPerHour); err != nil {
		return nil, false, err
	}
	least, _ := p.follows(t.best)
	for _, other := range t.others {
		if cost, arrives := p.follows(other.Sets()); arrives && cost < least-1e-9 {
			way, least = other, cost
		}
	}
	return way, way != nil, nil
}

// follows is what a course costs, and whether the honey comes to what is asked by it.
func (p *problem) follows(sets []int) (cost float64, arrives bool) {
	n := p.follower.begin()
	for _, set := range sets {
		p.step(&n, set)
		arrives = arrives || p.arrived(&n)
	}
	return p.cost(&n), arrives
}

// What is tried of a figure: a loss from nothing to four times what it is, crystals from hardly any to what the physics takes, and
// a beginning within so many kelvin.
const (
	timesLoss     = 4
	hardlySetPct  = 0.5
	mostSetPct    = 40
	beginsWithinK = 15
)

func (t Tank) tried(f Figure) (now, least, most float64) {
	switch f {
	case LossOf:
		return t.LossWPerK, 0, min(timesLoss*t.LossWPerK, 5000)
	case CrystalsOf:
		return triedCrystals(t.CrystalsPct)
	}
	return triedStart(t.StartC)
}

func (c Containers) tried(f Figure) (now, least, most float64) {
	switch f {
	case LossOf:
		return c.RoomLossWPerK, 0, min(timesLoss*c.RoomLossWPerK, 50_000)
	case CrystalsOf:
		return triedCrystals(c.CrystalsPct)
	}
	return triedStart(c.StartC)
}

// triedCrystals leaves honey that has not set as it is: it is asked something else.
func triedCrystals(now float64) (float64, float64, float64) {
	if now < hardlySetPct {
		return now, now, now
	}
	return now, hardlySetPct, max(mostSetPct, now)
}

func triedStart(now float64) (float64, float64, float64) {
	return now, max(now-beginsWithinK, heat.ColdestC), min(now+beginsWithinK, 60)
}

func (t Tank) otherwise(f Figure, v float64) (Vessel, error) {
	switch f {
	case LossOf:
		t.LossWPerK = v
	case CrystalsOf:
		t.CrystalsPct = v
	case StartOf:
		t.StartC = v
	}
	return NewTank(t)
}

func (c Containers) otherwise(f Figure, v float64) (Vessel, error) {
	switch f {
	case LossOf:
		c.RoomLossWPerK = v
	case CrystalsOf:
		c.CrystalsPct = v
	case StartOf:
		c.StartC = v
	}
	return c, nil
}

// Shown are where it turns and what it is now as they are said: a loss to two figures, the others to a tenth.
func (t *Turn) Shown() (at, now float64) { return t.said(t.At), t.said(t.Now) }

func (t *Turn) said(v float64) float64 {
	if t.Of != LossOf || v == 0 {
		return math.Round(10*v) / 10
	}
	scale := math.Pow(10, 1-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*scale) / scale
}
