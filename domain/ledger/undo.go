package ledger

import "slices"

// stepping keeps what each of the latest facts of the line did to the state. So a late entry
// is applied without applying again all that happened after it: the latest facts are taken
// back, the late one is applied, and of the others those that it bears on are applied again,
// while what the rest did is done once more as it was (see again.go).
type stepping struct {
	// kept is how many facts can be taken back at least; 0 in states that are walked once
	// and thrown away.
	kept int
	// steps are those of the latest facts in the line.
	steps []*step
	// base is the place in the line of the first of them; what lies before it cannot be
	// taken back.
	base int
	// now is the step that is under way; nil where it is not kept.
	now *step
	// draft is where a step is noted that takes the place of another one.
	draft step
}

// step is what a fact did to the state.
type step struct {
	f *fact
	// totals are those before it; of a step that is taken back, how far it changed them.
	totals Totals
	// held are the holders that it changed, as they were before it; of a step that is taken
	// back, as they were after it.
	held []heldBefore
	// How long the lists were before it.
	flags, days, pours, tides int32
	// wide says that what it did may hang on anything in the state, layered that it hangs
	// on how unlike their holder samples are, and pouring that it hangs on what was moved
	// into tanks lately.
	wide, layered, pouring bool
	// more is nil for most.
	more *stepMore
}

// stepMore is what few facts do.
type stepMore struct {
	// looked are the holders that it only looked at. Where it looked at all tanks, slots is
	// how many holders the book had then; else 0.
	looked []int32
	slots  int32
	// other swaps what is no holder's with how it was before, and back.
	other []func()
	// learnt is what a reading told of the layering, and layers is what was known before it;
	// of a step that is taken back, after it.
	learnt []lesson
	layers layering
	// What it added to the lists of the state, of a step that is taken back.
	flags []Flag
	pours []pour
	tides []tide
}

// heldBefore is a holder as it was.
type heldBefore struct {
	slot int32
	Holder
}

// keptUndo bounds how far back a late entry can be applied without walking the
// whole line again: a season of a large outfit.
const keptUndo = 1 << 15

// keeps reports whether the step of the next fact of a walk to the n-th is kept. A walk
// from where nothing can be taken back keeps its last steps only.
func (s *State) keeps(n int) bool {
	return s.kept > 0 && (len(s.steps) > 0 || n-s.done <= s.kept)
}

// do applies the next fact. st notes what it does; nil where nobody wants to know.
func (s *State) do(f *fact, st *step) {
	if s.now = st; st != nil {
		st.f, st.totals = f, s.totals
		s.lengths(st)
	}
	s.begin(f)
	s.apply(f)
	s.now = nil
}

func (s *State) lengths(st *step) {
	st.flags, st.days, st.pours, st.tides = int32(len(s.flags)), int32(len(s.days)), int32(len(s.pours)), int32(len(s.tides))
}

// stepped adds a step that is done. The oldest go where there are too many.
func (s *State) stepped(st *step) {
	if len(s.steps) == 0 {
		s.base = s.done
	}
	if len(s.steps) >= s.kept+s.kept/4+1 {
		gone := len(s.steps) - s.kept
		s.steps = slices.Delete(s.steps, 0, gone)
		s.base += gone
	}
	s.steps = append(s.steps, st)
}

// rewind takes the state back to before the n-th fact. It returns the steps that it took
// back, in order of occurrence; nil where the state begins anew.
func (s *State) rewind(n int) []*step {
	switch {
	case n >= s.done:
		return nil
	case n < s.base || len(s.steps) == 0:
		kept := s.kept
		*s = *newState(s.book)
		s.kept = kept
		return nil
	}
	last := s.steps[n-s.base:]
	back := slices.Clone(last)
	for _, st := range slices.Backward(back) {
		s.takeBack(st)
	}
	clear(last)
	s.steps, s.done = s.steps[:n-s.base], n
	return back
}

// takeBack takes back the last step.
func (s *State) takeBack(st *step) {
	for i := range slices.Backward(st.held) {
		h := &st.held[i]
		s.holders[h.slot], h.Holder = h.Holder, s.holders[h.slot]
	}
	before := st.totals
	st.totals = s.totals.less(before)
	s.totals = before
	if m := st.more; m != nil {
		for _, swap := range slices.Backward(m.other) {
			swap()
		}
		if len(m.learnt) > 0 {
			s.layers, m.layers = m.layers, s.layers
		}
	}
	if int(st.flags) < len(s.flags) {
		st.rare().flags = slices.Clone(s.flags[st.flags:])
	}
	if int(st.pours) < len(s.pours) {
		st.rare().pours = slices.Clone(s.pours[st.pours:])
	}
	if int(st.tides) < len(s.tides) {
		st.rare().tides = slices.Clone(s.tides[st.tides:])
	}
	s.flags, s.days, s.pours, s.tides = s.flags[:st.flags], s.days[:st.days], s.pours[:st.pours], s.tides[:st.tides]
}

func (st *step) rare() *stepMore {
	if st.more == nil {
		st.more = new(stepMore)
	}
	return st.more
}

// touch gives a holder to be changed.
func (s *State) touch(root *fact) grip {
	h := &s.holders[root.slot]
	if s.now != nil {
		s.now.hold(root.slot, h)
	}
	h.Place = Place{placeOf(root.Kind), root.ID}
	return grip{h, root}
}

// hold keeps how a holder was before the step.
func (st *step) hold(slot int32, h *Holder) {
	if len(st.held) < 8 { // a dispatch may have hundreds
		for i := range st.held {
			if st.held[i].slot == slot {
				return
			}
		}
	}
	if st.held == nil {
		n := 2
		if st.f.Kind == KindReading {
			n = 1
		}
		st.held = make([]heldBefore, 0, n)
	}
	st.held = append(st.held, heldBefore{slot, *h})
}

// widely says that what the step does hangs on more than the holders that it changes or
// looks at.
func (s *State) widely() {
	if s.now != nil {
		s.now.wide = true
	}
}

// byLayers says that what the step does hangs on the layering.
func (s *State) byLayers() {
	if s.now != nil {
		s.now.layered = true
	}
}

// byPours says that what the step does hangs on what was moved into tanks lately.
func (s *State) byPours() {
	if s.now != nil {
		s.now.pouring = true
	}
}

// looks says that what the step does hangs on a holder that it may not change.
func (s *State) looks(root *fact) *Holder {
	if s.now != nil {
		if more := s.now.rare(); !slices.Contains(more.looked, root.slot) {
			more.looked = append(more.looked, root.slot)
		}
	}
	return &s.holders[root.slot]
}

// looksAtTanks says that what the step does hangs on every tank, also on one that the book
// is told of later.
func (s *State) looksAtTanks() {
	if s.now != nil {
		s.now.rare().slots = s.book.slots
	}
}

// learn takes in what a reading tells of the layering.
func (s *State) learn(of lesson) {
	if s.now != nil {
		more := s.now.rare()
		if len(more.learnt) == 0 {
			more.layers = s.layers
		}
		more.learnt = append(more.learnt, of)
	}
	s.layers.learn(of)
}

// put puts a value into a map of the state, and keeps how it was.
func put[K comparable, V any](s *State, of map[K]V, key K, value V) {
	other, had := of[key]
	of[key] = value
	if s.now == nil {
		return
	}
	more := s.now.rare()
	more.other = append(more.other, func() {
		now, has := of[key]
		if had {
			of[key] = other
		} else {
			delete(of, key)
		}
		other, had = now, has
	})
}
