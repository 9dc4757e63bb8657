package ledger

import "slices"

// undoing is how a late entry is applied without walking the whole line again:
// the latest facts are undone one by one, the late one applied, and they are
// applied again.
type undoing struct {
	// keepUndo is false in states that are walked once and thrown away.
	keepUndo bool
	// marks says how things were before each of the latest facts in the line.
	marks []mark
	// base is the place in the line of the first mark; what lies before it
	// cannot be undone.
	base  int
	held  []heldBefore
	other []func()
}

// mark is how much there was to undo, and how many flags, before a fact.
type mark struct {
	held, other, flags int
	totals             Totals
}

// heldBefore is a holder as it was.
type heldBefore struct {
	slot int32
	Holder
}

// keptUndo bounds how far back a late entry can be applied without walking the
// whole line again.
const keptUndo = 1 << 14

// mark notes how things are before the next fact.
func (s *State) mark() {
	if !s.keepUndo {
		return
	}
	u := &s.undoing
	if len(u.marks) == 2*keptUndo {
		u.forget(keptUndo)
	}
	u.marks = append(u.marks, mark{len(u.held), len(u.other), len(s.flags), s.totals})
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
	case n < u.base:
		*s = *newState(s.book)
		s.keepUndo = true
		return
	}
	to := u.marks[n-u.base]
	for i := len(u.held) - 1; i >= to.held; i-- {
		s.holders[u.held[i].slot] = u.held[i].Holder
	}
	for i := len(u.other) - 1; i >= to.other; i-- {
		u.other[i]()
	}
	s.totals, s.flags, s.done = to.totals, s.flags[:to.flags], n
	clear(u.held[to.held:])
	clear(u.other[to.other:])
	u.held, u.other, u.marks = u.held[:to.held], u.other[:to.other], u.marks[:n-u.base]
}

// touch gives a holder to be changed.
func (s *State) touch(root *fact) *Holder {
	h := &s.holders[root.slot]
	if s.keepUndo {
		s.held = append(s.held, heldBefore{root.slot, *h})
	}
	h.Place = Place{placeOf(root.Kind), root.ID}
	return h
}

// undoWith says how to undo something that is no holder's.
func (s *State) undoWith(f func()) {
	if s.keepUndo {
		s.other = append(s.other, f)
	}
}
