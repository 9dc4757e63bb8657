package ledger

import (
	"slices"
	"time"
)

// carried is what goes along with honey from one holder into another, since it may not
// be forgotten: out of which lots it came, and where somebody saw it ferment. It never
// changes once made.
type carried struct {
	lots []fromLot
	seen []sight
}

// fromLot is a lot out of whose containers some honey came, and what brought it. corrected
// tells that the container itself was told to be of that lot, until by corrected it.
type fromLot struct {
	lot       ID
	by        *fact
	corrected bool
}

// sight is a reading on which somebody saw the honey ferment, and what brought the honey
// to where it is. calm says that somebody looked again, and saw nothing: what is drawn
// from then on does not carry it further.
type sight struct {
	reading, by *fact
	calm        bool
}

// since is the later of the reading and of what brought the honey, in order of occurrence.
func (x sight) since() *fact {
	if x.reading.precedes(x.by) {
		return x.by
	}
	return x.reading
}

// learnt is the number of the later of the two in order of recording.
func (x sight) learnt() int64 { return max(x.reading.Number, x.by.Number) }

// SameHoney is how long after somebody read or looked at a tank the honey that they saw may
// be in what is drawn, where the book never has the tank empty: a tank is worked off within
// weeks (common practice), and what the book has left in it is often weighing error.
const SameHoney = 30 * 24 * time.Hour

// carriedOut is what is carried out of a holder: what came into it, and the lot it is a
// container of.
func (s *State) carriedOut(f *fact, h grip) *carried {
	c := h.carried
	switch h.root.Kind {
	case KindTank:
		old := func(x sight) bool { return f.at-x.by.at > SameHoney.Microseconds() }
		if slices.ContainsFunc(c.sights(), old) {
			c = &carried{c.lots, slices.DeleteFunc(slices.Clone(c.seen), old)}
		}
	case KindFill:
		if lot := s.book.rootID(h.root.lot()); !slices.ContainsFunc(c.fromLots(), func(l fromLot) bool { return l.lot == lot }) {
			c = &carried{append(slices.Clone(c.fromLots()), fromLot{lot: lot, by: h.root}), c.sights()}
		}
	}
	return c
}

// carriedOutOfRun is what was seen of a run and of the boxes in it, by the time that honey
// comes out of it.
func (b *Book) carriedOutOfRun(f, run *fact) *carried {
	if len(b.fermenting) == 0 {
		return nil
	}
	places := []ID{run.ID}
	for _, x := range b.runKnown(run.ID).supers {
		places = append(places, b.rootID(x.Body.(*RunSupers).PullID))
	}
	var out carried
	for _, place := range places {
		if last := b.lastLook(place, f); last != nil && last.Body.(*Reading).SeenFermenting() && !slices.ContainsFunc(out.seen, func(x sight) bool { return x.reading == last }) {
			out.seen = append(out.seen, sight{last, last, false})
		}
	}
	if out.seen == nil {
		return nil
	}
	return &out
}

// lastLook is the last reading on a place before a fact on which somebody looked whether the
// honey fermented; nil where nobody did.
func (b *Book) lastLook(place ID, before *fact) *fact {
	for _, r := range slices.Backward(b.readings[place]) {
		if _, looked := r.Body.(*Reading).sawFermenting(); looked && r.precedes(before) {
			return r
		}
	}
	return nil
}

func (c *carried) fromLots() []fromLot {
	if c == nil {
		return nil
	}
	return c.lots
}

func (c *carried) sights() []sight {
	if c == nil {
		return nil
	}
	return c.seen
}

// takeAlong notes what came into a holder with honey; what was in an empty one before is
// forgotten, but for what somebody saw of a container that has been filled up under its
// old number.
func (h grip) takeAlong(f *fact, of *carried) {
	if h.Grams <= 0 && h.root.Kind == KindFill && len(h.carried.sights()) > 0 {
		h.carried = &carried{seen: h.carried.seen} // it was of the lot all the same
	} else if h.Grams <= 0 {
		h.carried = nil
	}
	lots, seen := h.carried.fromLots(), h.carried.sights()
	nLots, nSeen := len(lots), len(seen)
	for _, l := range of.fromLots() {
		if !slices.ContainsFunc(lots, func(o fromLot) bool { return o.lot == l.lot }) {
			lots = append(slices.Clip(lots), fromLot{lot: l.lot, by: f})
		}
	}
	for _, x := range of.sights() {
		again := h.root.Kind == KindFill // a decision about a lot may lie between two pours into its container
		if !x.calm && !slices.ContainsFunc(seen, func(o sight) bool { return o.reading == x.reading && !o.calm && !again }) {
			seen = append(slices.Clip(seen), sight{x.reading, f, false})
		}
	}
	if len(lots) != nLots || len(seen) != nSeen {
		h.carried = &carried{lots, seen}
	}
}

// CameFermenting reports whether honey came into a container that somebody had seen ferment
// where it was before, in boxes, a tank or another container, and nobody had looked at again there.
func (s *State) CameFermenting(fill ID) bool {
	f := s.book.at(fill)
	return f != nil && len(s.cameSeen(f)) > 0
}

// cameSeen are the sights that came with honey into the container of a fill. What somebody
// saw of the tank in the very minute of the pour counts as seen before it.
func (s *State) cameSeen(fill *fact) (out []sight) {
	b := s.book
	if len(b.fermenting) == 0 {
		return nil
	}
	for _, x := range s.carriedBy(fill).sights() {
		if x.by != x.reading {
			out = append(out, x)
		}
	}
	add := func(from ID, by *fact) {
		for _, r := range b.fermenting[b.rootID(from)] {
			if r.at == by.at && by.precedes(r) {
				out = append(out, sight{reading: r, by: by})
			}
		}
	}
	if x, is := fill.Body.(*Fill); is {
		add(x.TankID, fill)
	}
	for _, m := range b.poured[fill.root.ID] {
		if x, is := m.Body.(*Movement); is {
			add(x.From.ID, m)
		}
	}
	return out
}

// notLookedAgain is a container that is here, of which or of whose honey somebody saw that it
// fermented, and that nobody looked at since and saw that it did not; nil where there is
// none, or where nobody saw the honey ferment.
func (b *Book) notLookedAgain(lot ID, saw *fact) *fact {
	if saw.Kind != KindReading {
		return nil
	}
	for _, f := range b.fills[lot] {
		if b.state.holders[f.root.slot].Grams > 0 && b.concerns(saw, lot, f) && !b.calm(saw, f, lot) {
			return f
		}
	}
	return nil
}

// concerns reports whether a sight of fermenting is about a container of a lot: it was seen
// on it, on the lot, or on honey that came into it.
func (b *Book) concerns(saw *fact, lot ID, fill *fact) bool {
	on := b.rootID(saw.Body.(*Reading).On.ID)
	return on == lot || on == fill.root.ID || slices.ContainsFunc(b.state.cameSeen(fill), func(x sight) bool { return x.reading == saw })
}

// calm reports whether somebody looked at a container, or at its lot, after a sight of
// fermenting and after the honey came into it, and saw that it did not ferment.
func (b *Book) calm(saw, fill *fact, lot ID) bool {
	filled := b.LastFilled(fill.root.ID, farFuture)
	for _, list := range [][]*fact{b.readings[lot], b.readings[fill.root.ID]} {
		for _, r := range list {
			present, looked := r.Body.(*Reading).sawFermenting()
			if looked && !present && saw.precedes(r) && r.Number > saw.Number && !r.OccurredAt.Before(filled) {
				return true
			}
		}
	}
	return false
}

// look notes what somebody saw of the honey in a tank or container, or in all containers
// of a lot.
func (s *State) look(f *fact, r *Reading) {
	present, looked := r.sawFermenting()
	if !looked {
		return
	}
	root := s.book.at(r.On.ID)
	if root == nil {
		return
	}
	s.widely()
	if root.Kind != KindLot {
		s.lookAt(f, root, present)
		return
	}
	for _, fill := range s.book.fills[root.ID] {
		if fill.precedes(f) {
			s.lookAt(f, fill.root, present)
		}
	}
}

func (s *State) lookAt(f, root *fact, present bool) {
	if root.Kind != KindTank && root.Kind != KindFill {
		return
	}
	was := s.holders[root.slot]
	c := was.carried
	seen := slices.Clone(c.sights())
	if present {
		seen = append(seen, sight{f, f, false})
	} else {
		for i := range seen {
			seen[i].calm = true
		}
	}
	if len(seen) > 0 {
		h := s.touch(root)
		h.Place, h.carried = was.Place, &carried{c.fromLots(), seen} // no honey went through it by this
	}
}
