package ledger

import "slices"

// rests is what may come out otherwise once a fact is put into the line or taken out of
// it, beside what it moves: facts that hang on it in another way than by what is in a
// holder.
type rests struct {
	// all says that it may be any fact after it.
	all bool
	// facts are those.
	facts map[*fact]bool
	// pouring says that it is also all that hang on what was moved into tanks lately: what
	// runs should give is not as it was.
	pouring bool
	// in are the facts that came into the line, and out is the one that left it.
	in  []*fact
	out *fact
}

func (r *rests) add(list []*fact) {
	if len(list) > 0 && r.facts == nil {
		r.facts = map[*fact]bool{}
	}
	for _, f := range list {
		r.facts[f] = true
	}
}

// restOn adds what rests on a fact that was entered or struck.
func (b *Book) restOn(r *rests, f *fact) {
	switch body := f.Body.(type) {
	case *Load:
		r.add(b.loads[b.rootID(body.RunID)])
	case *RunSupers:
		run := b.runKnown(body.RunID)
		r.add(run.out)
		r.add(b.readings[run.id])
		r.add(b.pulls[b.rootID(body.PullID)])
		r.pouring = true
	case *Reading:
		b.restOnReading(r, b.rootID(body.On.ID))
	case *Movement, *Stocktake, *Wash: // nothing names them
	case *TemperatureLog, *Calibration:
		r.all = true
	default:
		r.all = r.all || f.Kind.SetUp() || f.root.last != f.root // others may have gone by what it was
	}
}

// restOnReading adds what rests on a reading of a run or pull.
func (b *Book) restOnReading(r *rests, on ID) {
	if root := b.at(on); root == nil || root.Kind == KindTank || root.Kind == KindFill || root.Kind == KindLot {
		return
	}
	r.add(b.readings[on])
	of := []*runFacts{b.runKnown(on)}
	for _, s := range b.pulls[on] {
		of = append(of, b.runKnown(s.Body.(*RunSupers).RunID))
	}
	for _, run := range of {
		r.add(run.out)
		r.add(b.readings[run.id])
	}
}

// again walks the line from where the state was taken back to.
type again struct {
	*State
	rests
	// old are the steps that were taken back and not yet come to again.
	old []*step
	// layered is what was known of the layering where the walk is, before the line changed.
	layered layering
	// poured is how long the list of what was moved into tanks was when it last was not as
	// it was before.
	poured int
	// apart are the holders that are not as they were here before the line changed, and
	// newestTank is above all slots of tanks that ever were in it.
	apart      map[int32]apart
	newestTank int32
}

// apart is how a holder is not as it was: only by what ever went in and out of it, or in
// any way.
type apart struct {
	any     bool
	in, out int64
}

// walkAgain walks to the end of the line after some facts were taken back. A fact that
// nothing changed bears on does what it did before; only the others are applied.
func (s *State) walkAgain(old []*step, r rests) {
	if len(old) == 0 {
		s.replay(len(s.book.line))
		return
	}
	slices.SortFunc(r.in, order)
	a := again{State: s, rests: r, old: old, layered: s.layers, poured: -hosePours - 1, apart: map[int32]apart{}}
	s.makeHolders()
	for ; s.done < len(s.book.line); s.done++ {
		f := s.book.line[s.done]
		before := a.next(f)
		layered := a.layeredAfter(before)
		switch {
		case before == nil:
			st := new(step)
			s.do(f, st)
			a.compare(nil, st)
			s.stepped(st)
		case a.asBefore(before):
			a.redo(before)
		default:
			st := s.draft.emptied()
			s.do(f, st)
			a.compare(before, st)
			before.turnTo(st)
			s.stepped(before)
		}
		a.layered = layered
	}
}

// next is the step that a fact did before; nil where it did none.
func (a *again) next(f *fact) *step {
	if len(a.in) > 0 && f == a.in[0] {
		a.in = a.in[1:]
		return nil
	}
	for len(a.old) > 0 && a.old[0].f == a.out {
		for i := range a.old[0].held {
			a.setApart(a.old[0].held[i].slot)
		}
		if more := a.old[0].more; more != nil && len(more.pours) > 0 {
			a.poured = len(a.pours)
		}
		a.layered = a.layeredAfter(a.old[0])
		a.old = a.old[1:]
	}
	if len(a.old) == 0 {
		return nil
	}
	st := a.old[0]
	if st.f != f { // the line is another one
		a.all, a.old = true, nil
		return nil
	}
	a.old = a.old[1:]
	return st
}

// layeredAfter is what was known of the layering after a step.
func (a *again) layeredAfter(st *step) layering {
	if st == nil || st.more == nil || len(st.more.learnt) == 0 {
		return a.layered
	}
	return st.more.layers
}

// asBefore reports whether a fact does what it did.
func (a *again) asBefore(st *step) bool {
	if a.all || st.wide || a.facts[st.f] || st.layered && !a.layers.sameShown(a.layered) {
		return false
	}
	if st.pouring && (a.pouring || len(a.pours)-a.poured <= hosePours) {
		return false
	}
	if len(a.apart) == 0 {
		return true
	}
	for i := range st.held {
		if a.apart[st.held[i].slot].any {
			return false
		}
	}
	return st.more == nil || !a.lookedAt(st.more)
}

// lookedAt reports whether a step looked at a holder that is not as it was, or at all tanks
// before the book had one that is not.
func (a *again) lookedAt(m *stepMore) bool {
	return m.slots > 0 && m.slots < a.newestTank || slices.ContainsFunc(m.looked, func(slot int32) bool { return a.apart[slot].any })
}

// setApart notes that a holder is not as it was.
func (a *again) setApart(slot int32) {
	by := a.apart[slot]
	by.any = true
	a.apart[slot] = by
	if a.holders[slot].Place.Kind == PlaceTank {
		a.newestTank = max(a.newestTank, slot+1)
	}
}

// redo does once more what a step did.
func (a *again) redo(st *step) {
	s := a.State
	s.lengths(st)
	s.begin(st.f)
	for i := range st.held {
		h := &st.held[i]
		by := a.apart[h.slot]
		h.InG, h.OutG = h.InG+by.in, h.OutG+by.out
		s.holders[h.slot], h.Holder = h.Holder, s.holders[h.slot]
	}
	change := st.totals
	st.totals = s.totals
	s.totals = s.totals.plus(change)
	if st.more != nil {
		a.redoMore(st.more)
	}
	s.stepped(st)
}

func (a *again) redoMore(m *stepMore) {
	s := a.State
	for _, swap := range m.other {
		swap()
	}
	if len(m.learnt) > 0 {
		after := m.layers
		m.layers = s.layers
		if s.layers == a.layered {
			s.layers = after
		} else {
			for _, l := range m.learnt {
				s.layers.learn(l)
			}
		}
	}
	s.flags, s.pours, s.tides = append(s.flags, m.flags...), append(s.pours, m.pours...), append(s.tides, m.tides...)
	m.flags, m.pours, m.tides = nil, nil, nil
}

// compare notes which of the holders that a fact changed, now or before the line changed,
// are not as they were then. before is its step then; nil where it was not in the line.
func (a *again) compare(before, now *step) {
	a.comparePours(before, now)
	if before != nil {
		for i := range before.held {
			a.compareHolder(&before.held[i])
		}
	}
	for i := range now.held {
		h := &now.held[i]
		if before != nil && before.holds(h.slot) {
			continue
		}
		if _, is := a.apart[h.slot]; is {
			a.setApart(h.slot)
			continue
		}
		a.compareHolder(h) // it was as it still is before this fact
	}
}

// comparePours notes where what a fact moved into tanks is not as it was.
func (a *again) comparePours(before, now *step) {
	var was []pour
	if before != nil && before.more != nil {
		was = before.more.pours
	}
	if !slices.EqualFunc(was, a.pours[now.pours:], samePour) {
		a.poured = len(a.pours)
	}
}

// samePour is apart from how moist the honey was.
func samePour(x, y pour) bool {
	return x.f == y.f && x.from == y.from && x.to == y.to && x.grams == y.grams
}

// emptied is a step as it begins, with the room that it had.
func (st *step) emptied() *step {
	*st = step{held: st.held[:0]}
	return st
}

// turnTo makes a step that was taken back another one of the same fact, which may be
// written over afterwards.
func (st *step) turnTo(o *step) {
	held := append(st.held[:0], o.held...)
	*st = *o
	st.held = held
}

func (st *step) holds(slot int32) bool {
	return slices.ContainsFunc(st.held, func(h heldBefore) bool { return h.slot == slot })
}

// compareHolder compares a holder with how it was here before the line changed.
func (a *again) compareHolder(was *heldBefore) {
	is := &a.holders[was.slot]
	if !sameHoney(is, &was.Holder) {
		a.setApart(was.slot)
		return
	}
	in, out := is.InG-was.InG, is.OutG-was.OutG
	*is = was.Holder // shares the make-up
	switch {
	case in == 0 && out == 0:
		delete(a.apart, was.slot)
	case is.Place.Kind == PlaceTank: // of a tank nothing hangs on them
		is.InG, is.OutG = is.InG+in, is.OutG+out
		a.apart[was.slot] = apart{in: in, out: out}
	default:
		is.InG, is.OutG = is.InG+in, is.OutG+out
		a.setApart(was.slot)
	}
}

// sameHoney reports whether two holders are the same apart from what ever went in and out.
func sameHoney(x, y *Holder) bool {
	return x.Grams == y.Grams && x.Belief == y.Belief && x.MassVariance == y.MassVariance && x.Gone == y.Gone &&
		x.shortG == y.shortG && x.hadG == y.hadG && x.dry == y.dry && x.full == y.full && x.Place == y.Place &&
		sameMix(x.Mix, y.Mix) && sameCarried(x.carried, y.carried)
}

func sameCarried(x, y *carried) bool {
	return x == y || x != nil && y != nil && slices.Equal(x.lots, y.lots) && slices.Equal(x.seen, y.seen)
}
