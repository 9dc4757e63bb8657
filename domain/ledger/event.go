package ledger

import "encoding/binary"

// mayBeChance is from which probability on chance explains a figure well enough that it
// is no finding: once among twenty good figures, the usual bar below which a difference
// is taken to mean something (Fisher 1925, Statistical Methods for Research Workers).
const mayBeChance = 0.05

// byChance reports whether scales and dips alone may be that far off.
func (f *Flag) byChance() bool { return f.Unlikely > mayBeChance }

// event is what several flags may have in common: pails drawn from a tank that is empty
// by the book, batches into a tank that is over its capacity, entries that name one thing
// that was withdrawn, batches of one run.
type event struct {
	code Code
	on   ID
	// spell tells the times apart that a tank ran short, or over.
	spell int32
	// accepted is the entry that settled the flags, nil while they are open: what was
	// settled apart stays apart.
	accepted *Entry
}

// eventOf is the event that a flag belongs to; false for a flag that is one by itself.
func eventOf(f *Flag) (event, bool) {
	switch f.Code {
	case Overdrawn, Overfilled, RestsOnWithdrawn, RunWithoutSupers, RunTooRich:
		return event{f.Code, f.On.ID, f.spell, f.Accepted}, true
	}
	return event{}, false
}

// events makes one finding of the flags of each event, and leaves out what chance
// explains. It is about the event's first entry; Flag.With has the others.
func (v *survey) events() {
	flags := map[event][]*Flag{}
	whole := map[event]int{} // how many flags each raised, settled or not
	for _, f := range v.found {
		if e, is := eventOf(f); is {
			flags[e] = append(flags[e], f)
			whole[event{e.code, e.on, e.spell, nil}]++
		}
	}
	rest := v.found[:0]
	for _, f := range v.found {
		e, is := eventOf(f)
		if of := flags[e]; is && len(of) > 1 {
			if of[0] != f {
				continue
			}
			f = together(of, len(of) == whole[event{e.code, e.on, e.spell, nil}])
		}
		if f.Accepted == nil && f.byChance() {
			continue
		}
		rest = append(rest, f)
	}
	v.found = rest
}

// together makes one finding of several flags of one event. all says that they are all
// that the event raised.
func together(flags []*Flag, all bool) *Flag {
	first, last := flags[0], flags[len(flags)-1]
	out := *first
	switch first.Code {
	case Overdrawn:
		out = shortInAll(flags, all)
	case Overfilled, RunTooRich:
		for _, f := range flags { // each says how much was too much by then
			if f.MassG > out.MassG {
				out = *f
			}
		}
	default:
		out.MassG = 0
		for _, f := range flags {
			out.MassG += f.MassG
		}
		if out.Found = kg(out.MassG); first.Code == RunWithoutSupers {
			out.Found = last.Found
		}
	}
	out.Entry, out.Accepted = first.Entry, first.Accepted
	for _, f := range flags { // more that is drawn later makes none of them likelier
		out.Unlikely = min(out.Unlikely, f.Unlikely)
	}
	out.With, out.Entries = make([]ID, 0, len(flags)-1), nil
	for _, f := range flags[1:] {
		out.With = append(out.With, f.Entry)
	}
	out.Entries = append(out.Entries, out.With...)
	out = out.trimmed()
	return &out
}

// shortInAll is what several entries drew from one tank beyond what it had.
func shortInAll(flags []*Flag, all bool) Flag {
	first, last := flags[0], flags[len(flags)-1]
	if all && last.whole != nil {
		return *last.whole
	}
	out := *first
	out.MassG, out.Unlikely = 0, 0 // how far off a part of it is, nobody reckoned
	for _, f := range flags {
		out.MassG += f.MassG
	}
	out.Found = out.Expected + kg(out.MassG)
	out.Likely = []Explanation{{Why: NotBooked, Place: out.On, Value: kg(out.MassG)}}
	return out
}

// runsShort notes what more was drawn from a tank than it had. It returns all that was so
// drawn since anything last came into the tank, with what may lie behind that; nil for the
// first draw. had is what the tank held before this one, in grams.
func (s *State) runsShort(f *fact, h grip, had, short int64) *Flag {
	if h.shortG == 0 {
		h.hadG, h.shortG = had, short
		return nil
	}
	h.shortG += short
	whole := s.short(f, Flag{Code: Overdrawn, On: h.Place, Unit: "kg",
		Expected: kg(h.hadG), Found: kg(h.hadG + h.shortG), MassG: h.shortG}, h)
	return &whole
}

// refilled ends the spell in which a tank ran short: honey came into it, or somebody
// looked.
func (h *Holder) refilled(by *fact) {
	h.hadG, h.shortG = 0, 0
	h.dry = spellOf(by)
}

// spellOf tells the spells apart by what came last before each. It is made of the fact's
// id, so that what comes late elsewhere gives no spell another one.
func spellOf(f *fact) int32 { return int32(binary.BigEndian.Uint32(f.root.ID[12:])) }

// settledWith are the other entries of the finding that an acceptance settles. It is
// about what was found when it was given: an entry of the same event that comes later
// opens the question again.
func (b *Book) settledWith(a *Acceptance) []ID {
	for _, f := range b.state.FindingsOn(a.EntryID) {
		if f.Code == a.Flag && f.Accepted == nil {
			return f.With
		}
	}
	return nil
}
