package ledger

import "slices"

// undoing is how a late entry is applied without walking the whole line again:
// the latest facts are undone one by one, the late one applied, and they are
// applied again.
type undoing struct {
	// kept is how many facts back one can go at least; 0 in states that are
	// walked once and thrown away.
	kept int
	// marks says how things were before each of the latest facts in the line.
	marks []mark
	// base is the place in the line of the first mark; what lies before it
	// cannot be undone.
	base  int
	held  []heldBefore
	other []func()
}

// mark is how much there was to undo, and what else there was, before a fact.
type mark struct {
	held, other, flags, days, pours, tides int
	totals                                 Totals
	layers                                 layering
}

// heldBefore is a holder as it was.
type heldBefore struct {
	slot int32
	Holder
}

// keptUndo bounds how far back a late entry can be applied without walking the
// whole line again: some days of a large outfit.
const keptUndo = 1 << 13

// mark notes how things are before the next fact of a walk to the n-th. A walk
// from where nothing can be undone notes its last facts only.
func (s *State) mark(n int) {
	u := &s.undoing
	if u.kept == 0 || len(u.marks) == 0 && n-s.done > u.kept {
		return
	}
	switch len(u.marks) {
	case 0:
		u.base = s.done
	case 2 * u.kept:
		u.forget(u.kept)
	}
	s.note()
}

// note notes how things are before the next fact.
func (s *State) note() {
	u := &s.undoing
	u.marks = append(u.marks, mark{len(u.held), len(u.other), len(s.flags), len(s.days), len(s.pours), len(s.tides), s.totals, s.layers})
}

// forget drops the oldest marks and what they would undo.
func (u *undoing) forget(n int) {
	first := u.marks[n]
	u.base += n
	u.held = slices.Delete(u.held, 0, first.held)
	u.other = slices.Delete(u.other, 0, first.other)
	u.marks = slices.Delete(u.marks, 0, n)
	for i := range u.marks {
		u.marks[i].held -= first.held
		u.marks[i].other -= first.other
	}
}

// rewind takes the state back to before the n-th fact.
func (s *State) rewind(n int) {
	u := &s.undoing
	switch {
	case n >= s.done:
		return
	case n < u.base || len(u.marks) == 0:
		kept := u.kept
		*s = *newState(s.book)
		s.kept = kept
		return
	}
	s.backTo(n)
}

// backTo is rewind to a fact before which it was noted how things were.
func (s *State) backTo(n int) {
	u := &s.undoing
	to := u.marks[n-u.base]
	for i := len(u.held) - 1; i >= to.held; i-- {
		s.holders[u.held[i].slot] = u.held[i].Holder
	}
	for i := len(u.other) - 1; i >= to.other; i-- {
		u.other[i]()
	}
	s.layers = to.layers
	s.totals, s.flags, s.days, s.done = to.totals, s.flags[:to.flags], s.days[:to.days], n
	s.pours, s.tides = s.pours[:to.pours], s.tides[:to.tides]
	clear(u.held[to.held:])
	clear(u.other[to.other:])
	u.held, u.other, u.marks = u.held[:to.held], u.other[:to.other], u.marks[:n-u.base]
}

// touch gives a holder to be changed.
func (s *State) touch(root *fact) grip {
	h := &s.holders[root.slot]
	if len(s.marks) > 0 {
		s.held = append(s.held, heldBefore{root.slot, *h})
	}
	h.Place = Place{placeOf(root.Kind), root.ID}
	return grip{h, root}
}

// undoWith says how to undo something that is no holder's.
func (s *State) undoWith(f func()) {
	if len(s.marks) > 0 {
		s.other = append(s.other, f)
	}
}
