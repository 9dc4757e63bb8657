package ledger

// Code says what is odd about an entry.
type Code string

const (
	// SupersOverrun: more supers in a run than the pull still has.
	SupersOverrun Code = "more_supers_than_pulled"
	// Overdrawn: more drawn than the holder had; the rest is unexplained.
	Overdrawn Code = "drawn_more_than_held"
	// Overfilled: more in a tank than it can hold.
	Overfilled Code = "over_capacity"
	// MoistureUnusual: a moisture that honey seldom has.
	MoistureUnusual Code = "moisture_unusual"
	// PullTooHeavy: a pull heavier than its supers can be.
	PullTooHeavy Code = "pull_too_heavy"
	// PullTooLight: a pull that weighs less than its empty supers.
	PullTooLight Code = "pull_too_light"
	// GrossAsNet: a net that looks like a gross weight.
	GrossAsNet Code = "net_looks_like_gross"
	// PoundsForKilograms: a weight about 2.2 times the usual, or its inverse.
	PoundsForKilograms Code = "pounds_for_kilograms"
	// LoadTwice: a load that looks like one just entered.
	LoadTwice Code = "load_entered_twice"
	// RecordedLate: recorded more than three days after it happened.
	RecordedLate Code = "recorded_late"
	// RunTooRich: more honey out of a run than its boxes could hold.
	RunTooRich Code = "more_honey_than_boxes_hold"
	// RunWithoutSupers: honey out of a run that no pull explains.
	RunWithoutSupers Code = "honey_without_supers"
	// WashedFull: a tank washed while the book has honey in it.
	WashedFull Code = "washed_while_full"
	// RestsOnWithdrawn: names something that was withdrawn.
	RestsOnWithdrawn Code = "rests_on_withdrawn"
	// ContainerEmpty: honey taken from a container that is empty or gone.
	ContainerEmpty Code = "container_empty_or_gone"
)

// Flag is something odd about an entry: stored all the same, and shown until
// a correction or an acceptance settles it.
type Flag struct {
	Code Code
	// Entry is the root ID of the entry that the flag is about.
	Entry ID
	On    Place
	// Expected and Found are in Unit.
	Expected, Found float64
	Unit            string
	// MassG is the honey in question, for putting the dearest first.
	MassG int64
	// Accepted is the entry that settled it, if one did.
	Accepted *Entry
}

type flagKey struct {
	entry ID
	code  Code
}

// Flags gives what is odd in the state, in order of occurrence, the settled
// ones with the entry that settled them.
func (s *State) Flags() []Flag {
	out := make([]Flag, len(s.flags))
	copy(out, s.flags)
	for i := range out {
		if f := s.book.accepted[flagKey{out[i].Entry, out[i].Code}]; f != nil {
			out[i].Accepted = f.Entry
		}
	}
	return out
}

// FlagsOn gives what is odd about one entry.
func (s *State) FlagsOn(root ID) []Flag {
	var out []Flag
	for _, f := range s.flags {
		if f.Entry == root {
			if a := s.book.accepted[flagKey{f.Entry, f.Code}]; a != nil {
				f.Accepted = a.Entry
			}
			out = append(out, f)
		}
	}
	return out
}
