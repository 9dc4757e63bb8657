package ledger

// analysedTooEarly flags a result that was analysed before the day on which its lot or
// container was filled: the sample was of a tank, of other honey, or a date is wrong.
// A result of a lot that is filled later still is left alone, since nothing says when.
func (s *State) analysedTooEarly(f *fact, r *Reading) {
	if r.AnalysedOn == "" {
		return
	}
	fill := s.firstFill(r.On)
	if fill == nil || r.AnalysedOn >= s.book.dayOf(fill.OccurredAt) {
		return
	}
	s.flag(Flag{Code: AnalysedBeforeFilled, Entry: f.root.ID, On: r.On, Entries: []ID{fill.root.ID}})
}

// firstFill is the fill that first put honey into a container or into one of a lot's;
// nil where none did so far.
func (s *State) firstFill(on Place) *fact {
	fills := s.book.fills[s.book.rootID(on.ID)]
	if on.Kind == PlaceContainer {
		fills = []*fact{s.book.fact(on.ID).root.last}
	}
	var first *fact
	for _, f := range fills {
		if s.holders[f.root.slot].Mix != nil && (first == nil || f.precedes(first)) {
			first = f
		}
	}
	return first
}
