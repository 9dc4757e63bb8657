package ledger

import "iter"

// Expected is what the book expects of honey: moisture in percent, HMF in mg/kg, and
// diastase as Gothe's units.
type Expected struct{ Moisture, HMF, Diastase float64 }

// relyOn keeps what was expected of the honey in containers when something relied on it:
// a dispatch, or a check. What comes later has other honey in them, or has read them.
func (s *State) relyOn(f *fact, containers []ID) {
	belief, known := s.BeliefOfAll(containers, f.OccurredAt)
	if !known {
		return
	}
	put(s, s.relied, f.root.ID, Expected{belief.Moisture.Mean, belief.HMF().Mean, belief.Diastase().Mean})
}

// filledBy are the containers of a lot that were filled by the time of a fact, and not
// emptied again other than to a buyer.
func (s *State) filledBy(lot ID, f *fact) (out []ID) {
	for _, fill := range s.book.fills[s.book.rootID(lot)] {
		slot := int(fill.root.slot)
		if fill.at > f.at || slot < 0 || slot >= len(s.holders) {
			continue
		}
		if gone := s.holders[slot].Gone; gone == nil || gone.Kind == KindDispatch {
			out = append(out, fill.root.ID)
		}
	}
	return out
}

// ExpectedWhen is what was expected, when a dispatch or a check of a lot was made, of the
// containers that it is about; false where nothing was.
func (s *State) ExpectedWhen(made ID) (Expected, bool) {
	e, known := s.relied[s.book.rootID(made)]
	return e, known
}

// Again gives what stands and has to be walked again if the next entry is e, in order of
// occurrence, and rather more than less: what happened before is as it was.
func (b *Book) Again(e *Entry) iter.Seq2[ID, *Entry] {
	return func(yield func(ID, *Entry) bool) {
		for _, f := range b.line[len(b.line)-b.Walks(e):] {
			if !yield(f.root.ID, f.Entry) {
				return
			}
		}
	}
}
