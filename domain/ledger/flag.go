package ledger

import "slices"

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
	// ResultUnusual: another figure of a reading that honey seldom has.
	ResultUnusual Code = "result_unusual"
	// ResultsDisagree: figures of one reading that do not go together.
	ResultsDisagree Code = "results_disagree"
	// ResultUnlikeEarlier: an HMF below an earlier one of the same honey, or a
	// diastase above; or either far from what earlier ones and warmth lead to
	// expect, which names no earlier entry.
	ResultUnlikeEarlier Code = "result_unlike_earlier"
	// AnalysedBeforeFilled: a result that was analysed before its lot or container was
	// filled.
	AnalysedBeforeFilled Code = "analysed_before_filled"
	// TemperatureUnusual: a temperature log that no place with honey has.
	TemperatureUnusual Code = "temperature_unusual"
	// SettlementOdd: a buyer's figures or payment far from what was dispatched and
	// agreed.
	SettlementOdd Code = "settlement_odd"
	// SampleTemperatureMissing: an instrument that does not correct for the sample's
	// temperature, and nobody says it.
	SampleTemperatureMissing Code = "sample_temperature_missing"
	// InstrumentUnlike: a figure in another scale than the instrument's.
	InstrumentUnlike Code = "instrument_of_another_scale"
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
	// NotReleased: containers left whose lot was not released.
	NotReleased Code = "dispatched_not_released"
	// ReadingUnexpected: a reading that does not fit what the book expects.
	ReadingUnexpected Code = "reading_does_not_fit"
	// ReadEmpty: a reading of a tank that the book has empty.
	ReadEmpty Code = "read_while_empty"
	// InstrumentDoubtful: a reading by an instrument that was not checked in
	// time, or was found wrong by its next check. It weighs less.
	InstrumentDoubtful Code = "instrument_doubtful"
	// StocktakeFarOff: a tank that holds much more or less than the book says,
	// beyond what dip and scales may err.
	StocktakeFarOff Code = "stocktake_far_off"
	// MovementTwice: honey of a run that looks as if it were entered twice.
	MovementTwice Code = "movement_entered_twice"
	// RunYieldUnusual: a run whose honey per super is far from the season's.
	RunYieldUnusual Code = "run_yield_unusual"
	// MoreSpun: a run whose loads have many more frames than its supers.
	MoreSpun Code = "more_spun_than_booked"
	// NetUnusual: a container whose net is far from what its kind holds here.
	NetUnusual Code = "net_unlike_its_kind"
	// NeverExtracted: supers pulled that went into no run.
	NeverExtracted Code = "supers_never_extracted"
	// WarmWithoutLog: a tank warm for days without a temperature log.
	WarmWithoutLog Code = "warm_without_log"
	// OldStock: containers of an old sheet that were filled more than a year before it came
	// in, and were never sold.
	OldStock Code = "old_stock_unsold"
	// EntryUnreadable: an entry that cannot be read, so that it has no effect.
	EntryUnreadable Code = "entry_unreadable"
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
	// Quantity is the figure of a reading that the flag is about, where it is about
	// one beside its moisture.
	Quantity string
	// MassG is the honey in question, for putting the dearest first.
	MassG int64
	// Unlikely is the probability that chance alone is so far off; 0 where it
	// was not reckoned.
	Unlikely float64
	// Likely is what may lie behind it, the likeliest first.
	Likely []Explanation
	// Entries are the other entries concerned, by the IDs they are known by.
	Entries []ID
	// With are those of Entries that are the same event, in order of occurrence: each was
	// flagged, and all together are one finding.
	With []ID
	// Accepted is the entry that settled it, if one did.
	Accepted *Entry
	// spell tells the times apart that one tank ran short, or over.
	spell int32
	// whole is a tank's whole shortage up to this flag, where it is not the first.
	whole *Flag
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
		out[i].Accepted = s.book.settled(out[i])
	}
	return out
}

// flagged gives the flags without a copy of those that are open.
func (s *State) flagged() []*Flag {
	out := make([]*Flag, len(s.flags))
	for i := range s.flags {
		out[i] = &s.flags[i]
	}
	return s.settledOf(out)
}

// settledOf puts a copy in the place of each flag that somebody settled.
func (s *State) settledOf(flags []*Flag) []*Flag {
	for i, f := range flags {
		if by := s.book.settled(*f); by != nil {
			settled := *f
			settled.Accepted = by
			flags[i] = &settled
		}
	}
	return flags
}

// FlagsOn gives what is odd about one entry and hardly chance.
func (s *State) FlagsOn(id ID) []Flag {
	f := s.book.at(id)
	if f == nil || f.withdrawn() {
		return nil
	}
	// Flags are raised along the line, and so are in its order.
	from, _ := slices.BinarySearchFunc(s.flags, f.last, func(flag Flag, f *fact) int {
		return order(s.book.fact(flag.Entry).last, f)
	})
	var out []Flag
	for _, flag := range s.flags[from:] {
		if flag.Entry != f.ID {
			break
		}
		flag.Accepted = s.book.settled(flag)
		if flag.Accepted == nil && flag.byChance() && (flag.whole == nil || flag.whole.byChance()) {
			continue
		}
		out = append(out, flag)
	}
	return out
}

// settled is the acceptance that settles a flag: the first, if there are more;
// nil while it is open.
func (b *Book) settled(f Flag) *Entry {
	if len(b.accepted) == 0 {
		return nil
	}
	all := b.accepted[flagKey{f.Entry, f.Code}]
	if len(all) == 0 {
		return nil
	}
	return all[0].Entry // they are in order of occurrence
}

// Accepted reports whether a flag on an entry was settled by an acceptance.
func (b *Book) Accepted(entry ID, code Code) bool {
	return len(b.accepted[flagKey{b.rootID(entry), code}]) > 0
}
