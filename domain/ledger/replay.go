package ledger

import (
	"slices"
	"time"
)

// apply takes the state over one fact.
func (s *State) apply(f *fact) {
	s.late(f)
	if len(s.book.gone) > 0 {
		s.restsOnWithdrawn(f)
	}
	switch body := f.Body.(type) {
	case *Pull:
		s.pull(f, body)
	case *RunSupers:
		s.runSupers(f, body)
	case *Load:
		s.load(f, body)
	case *Movement:
		s.move(f, body)
	case *Stocktake:
		s.stocktake(f, body)
	case *Wash:
		s.wash(f, body)
	case *Fill:
		s.fill(f, body)
	case *Dispatch:
		s.dispatch(f, body)
		s.relyOn(f, body.Containers)
	case *Check:
		s.widely()
		s.relyOn(f, s.filledBy(body.LotID, f))
	case *Reading:
		s.reading(f, body)
		s.look(f, body)
		s.believe(f, body)
	case *Settlement:
		s.widely()
		s.oddSettlement(f, body)
	case *TemperatureLog:
		s.oddTemperatures(f, body)
	}
}

// lateAfter is common practice: what is written down within three days is
// still remembered.
const lateAfter = 3 * 24 * time.Hour

// late flags what was written down long after. A correction is not late: what
// counts is when the book first learned of the matter.
func (s *State) late(f *fact) {
	if d, sends := f.Body.(*Dispatch); f.Via == ViaImport || sends && d.BeforeBook {
		return
	}
	if after := time.Duration(f.root.RecordedAt.UnixMicro()-f.at) * time.Microsecond; after > lateAfter {
		s.flag(Flag{Code: RecordedLate, Entry: f.root.ID, Unit: "d",
			Expected: lateAfter.Hours() / 24, Found: after.Hours() / 24})
	}
}

// restsOnWithdrawn flags what names a withdrawn thing; it is carried out all
// the same.
func (s *State) restsOnWithdrawn(f *fact) {
	if f.Kind == KindAcceptance {
		return
	}
	var room [namesRoom]ID
	var said []*fact
	for _, id := range names(room[:0], f.Body) {
		root := s.book.at(id)
		if !s.book.gone[id] || slices.Contains(said, root) {
			continue
		}
		said = append(said, root)
		flag := Flag{Code: RestsOnWithdrawn, Entry: f.root.ID, On: Place{placeOf(root.Kind), root.ID}, Unit: "kg"}
		switch body := f.Body.(type) {
		case *Movement:
			flag.MassG = body.MassG
		case *Fill:
			flag.MassG = body.NetG()
		}
		flag.Found = kg(flag.MassG)
		s.flag(flag)
	}
}

// grip is a holder in the hand, to be changed, with what it is.
type grip struct {
	*Holder
	root *fact
}

// holder takes the holder that id names into the hand; false where the book has
// none of that kind.
func (s *State) holder(id ID, kinds ...Kind) (grip, bool) {
	root := s.book.at(id)
	if root == nil || !slices.Contains(kinds, root.Kind) {
		return grip{}, false
	}
	return s.touch(root), true
}

// draw takes grams out of a holder. What it has not got comes from nowhere the
// book knows of.
func (s *State) draw(f *fact, h grip, grams int64, variance float64) drawn {
	h.OutG += grams
	if h.Place.Kind == PlaceRun {
		s.totals.Harvested += grams
		mix := s.harvest(f, h, grams)
		s.byLayers()
		return drawn{mix: mix, belief: s.book.harvestBelief(h.root, mix, f.at, s.layers), fresh: true, carried: s.book.carriedOutOfRun(f, h.root)}
	}
	s.warm(h, f.at)
	tank, _ := h.root.subject.(*Tank)
	out, had := drawn{h.Mix, h.Belief, tank != nil && tank.Use == Sump, s.carriedOut(f, h)}, h.Grams
	h.MassVariance += variance
	if grams <= had {
		s.hold(f, h, -grams)
		return out
	}
	short := grams - had
	s.hold(f, h, -had)
	s.totals.Unexplained += short
	code := Overdrawn
	if h.Place.Kind == PlaceContainer {
		code = ContainerEmpty
	}
	flag := s.short(f, Flag{Code: code, Entry: f.root.ID, On: h.Place, Unit: "kg",
		Expected: kg(had), Found: kg(grams), MassG: short, spell: h.dry}, h)
	if code == Overdrawn {
		flag.whole = s.runsShort(f, h, had, short)
	}
	s.flag(flag)
	return drawn{blend(out.mix, had, unexplainedMix, short), mixed(out.belief, had, freshHoney(f.at), short, false), false, out.carried}
}

// drawn is honey on its way from one holder to another.
type drawn struct {
	mix    *Mix
	belief Belief
	// fresh says that it comes from a run, by itself or through a sump.
	fresh bool
	*carried
}

// hold changes what is in a holder.
func (s *State) hold(f *fact, h grip, change int64) {
	h.Grams += change
	s.totals.Held += change
	if t, is := h.root.subject.(*Tank); is {
		if change > 0 {
			h.refilled(f)
		}
		if h.Grams <= t.CapacityG {
			h.full = spellOf(f)
		}
	}
	if h.Place.Kind == PlaceTank {
		s.totals.InTanks += change
		s.tide(f, h, h.Grams-change)
	}
}

// pour puts grams of a make-up into a tank or container.
func (s *State) pour(f *fact, h grip, grams int64, variance float64, of drawn) {
	s.warm(h, f.at)
	h.takeAlong(f, of.carried)
	h.Mix = blend(h.Mix, h.Grams, of.mix, grams)
	h.Belief = mixed(h.Belief, h.Grams, of.belief, grams, of.fresh)
	h.InG += grams
	h.MassVariance += variance
	s.hold(f, h, grams)
	if t, ok := h.root.subject.(*Tank); ok && h.Grams > t.CapacityG {
		s.flag(s.tooFull(f, Flag{Code: Overfilled, Entry: f.root.ID, On: h.Place, Unit: "kg",
			Expected: kg(t.CapacityG), Found: kg(h.Grams), MassG: h.Grams - t.CapacityG, spell: h.full}, h))
	}
}

func (s *State) move(f *fact, m *Movement) {
	from, ok := s.holder(m.From.ID, KindRun, KindTank, KindFill)
	if !ok {
		return
	}
	grams := m.MassG
	if grams == 0 {
		grams = from.Grams
	}
	if grams == 0 {
		s.flag(Flag{Code: ContainerEmpty, Entry: f.root.ID, On: from.Place, Unit: "kg", Likely: goneBefore(from)}.trimmed())
		return
	}
	to, known := s.holder(m.To.ID, KindTank, KindFill)
	variance := movedVariance(grams, from.root, to.root)
	out := s.draw(f, from, grams, variance)
	s.emptied(f, from)
	switch {
	case known:
		s.twice(f, m, from, to)
		s.pour(f, to, grams, variance, out)
		s.poured(f, from, to, grams, out)
	case m.To.Kind == PlaceWaste:
		s.totals.Wasted += grams
	default:
		s.totals.Lost += grams
	}
}

// emptied notes what took the last honey out of a container.
func (s *State) emptied(f *fact, h grip) {
	if h.Place.Kind == PlaceContainer && h.Grams == 0 && h.Gone == nil {
		h.Gone = f.Entry
	}
}

func (s *State) stocktake(f *fact, t *Stocktake) {
	h, ok := s.holder(t.TankID, KindTank)
	if !ok {
		return
	}
	s.warm(h, f.at)
	s.residual(f, t, h)
	h.refilled(f)
	switch d := t.MassG - h.Grams; {
	case d > 0:
		h.Belief = mixed(h.Belief, h.Grams, freshHoney(f.at), d, false)
		h.Mix = blend(h.Mix, h.Grams, unexplainedMix, d)
		h.InG += d
		s.totals.Gained += d
	case d < 0:
		h.OutG -= d
		s.totals.Lost -= d
	}
	s.hold(f, h, t.MassG-h.Grams)
}

// washResidue is the share of a tank's capacity that may cling to it when it is
// washed; common practice.
const washResidue = 0.02

func (s *State) wash(f *fact, w *Wash) {
	h, ok := s.holder(w.TankID, KindTank)
	if !ok {
		return
	}
	if t, ok := h.root.subject.(*Tank); ok && float64(h.Grams) > washResidue*float64(t.CapacityG) {
		s.flag(Flag{Code: WashedFull, Entry: f.root.ID, On: h.Place, Unit: "kg", Found: kg(h.Grams), MassG: h.Grams,
			Likely: []Explanation{{Why: NotBooked, Place: h.Place, Value: kg(h.Grams)}}})
	}
	h.refilled(f)
	h.OutG += h.Grams
	s.totals.Lost += h.Grams
	s.totals.Washed += h.Grams
	s.hold(f, h, -h.Grams)
	h.Mix, h.MassVariance, h.carried = nil, 0, nil
}

func (s *State) fill(f *fact, fill *Fill) {
	s.oddFill(f, fill)
	drum := s.touch(f.root)
	out, variance := drawn{mix: unexplainedMix, belief: freshHoney(f.at)}, filledVariance(fill.NetG())
	if tank, ok := s.holder(fill.TankID, KindTank); ok {
		out = s.draw(f, tank, fill.NetG(), variance)
	} else {
		s.totals.Unexplained += fill.NetG()
	}
	s.pour(f, drum, fill.NetG(), variance, out)
}

func (s *State) dispatch(f *fact, d *Dispatch) {
	var left, unreleased int64
	released := map[ID]bool{}
	s.widely()
	for _, id := range d.Containers {
		h, ok := s.holder(id, KindFill)
		if !ok {
			continue
		}
		lot := h.root.lot()
		free, known := released[lot]
		if !known {
			free = d.BeforeBook || s.wasReleased(lot, f)
			released[lot] = free
		}
		if !free {
			unreleased += h.Grams
		}
		if h.Grams == 0 {
			s.flag(Flag{Code: ContainerEmpty, Entry: f.root.ID, On: h.Place, Unit: "kg", Likely: goneBefore(h)}.trimmed())
			continue
		}
		left += h.Grams
		s.draw(f, h, h.Grams, 0)
		h.Gone = f.Entry
	}
	if unreleased > 0 {
		s.flag(Flag{Code: NotReleased, Entry: f.root.ID, On: Place{PlaceBuyer, s.book.rootID(d.BuyerID)}, Unit: "kg",
			Found: kg(unreleased), MassG: unreleased})
	}
	s.totals.Dispatched += left
	put(s, s.dispatched, f.root.ID, left)
}

func kg(grams int64) float64 { return float64(grams) / 1000 }
