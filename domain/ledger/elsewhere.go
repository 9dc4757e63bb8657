package ledger

import (
	"bytes"
	"cmp"
	"slices"

	"pullbook/domain/message"
)

// Elsewhere is what an entry changes beside what it is about itself.
type Elsewhere struct {
	// Opened are the findings about other entries that came with it, and Closed those of
	// any entry that went. Both are of what the replay finds, in order of occurrence. A
	// finding that only has more entries than before, or fewer, is in neither.
	Opened, Closed []*Flag
	// Outdated are the checks of lots that speak of their lot no more, in order of number.
	Outdated []OutdatedCheck
}

// OutdatedCheck is a check of a lot, and why it no longer speaks of the lot.
type OutdatedCheck struct {
	Check *Entry
	Why   message.Text
}

// elsewhereBefore is how things stood before an entry.
type elsewhereBefore struct {
	// flags are the state's, of which those after the first kept are walked again.
	flags, gone []Flag
	kept        int
	// listed are the open findings. They are worked out early where the entry may change
	// what comes of the same flags; else only once some flag has changed.
	listed []*Flag
	early  bool
	// sound are the checks that spoke of their lots.
	sound []*fact
}

// beforeElsewhere looks at the book before it registers its next entry.
func (b *Book) beforeElsewhere(e *Entry) elsewhereBefore {
	was := elsewhereBefore{flags: b.state.flags, sound: b.soundChecks(b.checksAbout(e))}
	was.early = e.Replaces != ID{} || b.missing[e.ID]
	switch e.Kind {
	case KindAcceptance, KindCalibration, KindUnreadable, KindImport:
		was.early = true
	}
	if was.early {
		was.listed = b.state.listed()
	}
	return was
}

// rewound keeps the flags that are walked again. The state writes over them.
func (was *elsewhereBefore) rewound(s *State) {
	was.kept = len(s.flags)
	was.gone = slices.Clone(was.flags[was.kept:])
}

// listed are those of Findings that the replay finds and nobody settled, by themselves and
// without what may explain them. They are copies, which outlast the state.
func (s *State) listed() []*Flag {
	v := survey{book: s.book, state: s, found: s.flagged()}
	v.doubtful()
	v.events()
	open := slices.DeleteFunc(v.found, func(f *Flag) bool { return f.Accepted != nil })
	copies := make([]Flag, len(open))
	for i, f := range open {
		copies[i] = *f
		open[i] = &copies[i]
	}
	return open
}

// elsewhere compares the book with how it was before its last entry.
func (b *Book) elsewhere(f *fact, was elsewhereBefore) (e Elsewhere) {
	for _, check := range was.sound {
		if why := b.Outdated(check.ID); check.root != f.root && !why.IsEmpty() {
			e.Outdated = append(e.Outdated, OutdatedCheck{check.Entry, why})
		}
	}
	if !was.early {
		if sameFlags(was.gone, b.state.flags[was.kept:]) {
			return e
		}
		flags := b.state.flags
		b.state.flags = slices.Concat(flags[:was.kept], was.gone)
		was.listed = b.state.listed()
		b.state.flags = flags
	}
	now := b.state.listed()
	e.Opened, e.Closed = notIn(now, was.listed), notIn(was.listed, now)
	e.Opened = slices.DeleteFunc(e.Opened, func(flag *Flag) bool { return flag.Entry == f.root.ID })
	for _, list := range [][]*Flag{e.Opened, e.Closed} {
		slices.SortFunc(list, func(x, y *Flag) int {
			return cmp.Or(order(b.byID[x.Entry].last, b.byID[y.Entry].last), cmp.Compare(x.Code, y.Code), bytes.Compare(x.On.ID[:], y.On.ID[:]), cmp.Compare(x.Quantity, y.Quantity))
		})
	}
	return e
}

// oddity is what a finding says of one of its entries.
type oddity struct {
	code      Code
	entry, on ID
	quantity  string
}

func sameFlags(a, c []Flag) bool {
	return slices.EqualFunc(a, c, func(x, y Flag) bool {
		return x.oddityOf(x.Entry) == y.oddityOf(y.Entry) && x.spell == y.spell && x.byChance() == y.byChance()
	})
}

func (f *Flag) oddityOf(entry ID) oddity { return oddity{f.Code, entry, f.On.ID, f.Quantity} }

// notIn are the findings that have no entry in common with one of the same sort in another
// list.
func notIn(list, other []*Flag) (out []*Flag) {
	there := map[oddity]bool{}
	for _, f := range other {
		there[f.oddityOf(f.Entry)] = true
		for _, with := range f.With {
			there[f.oddityOf(with)] = true
		}
	}
	for _, f := range list {
		shares := func(entry ID) bool { return there[f.oddityOf(entry)] }
		if !shares(f.Entry) && !slices.ContainsFunc(f.With, shares) {
			out = append(out, f)
		}
	}
	return out
}

// aboutLots are the lots whose checks an entry may make outdated.
type aboutLots struct {
	all  bool
	lots []ID
}

// checksAbout tells which checks an entry, and what it replaces, bear on. Few entries bear
// on any: then no check is looked at.
func (b *Book) checksAbout(e *Entry) (about aboutLots) {
	about.all = b.missing[e.ID] || e.Kind == KindUnreadable
	about.add(b, e, e.Body)
	if old := b.byID[e.Replaces]; old != nil {
		for _, said := range []Body{old.Body, old.root.subject} {
			about.add(b, e, said)
		}
	}
	return about
}

func (a *aboutLots) add(b *Book, e *Entry, said Body) {
	lot := func(p Place) {
		if p.Kind == PlaceLot || p.Kind == PlaceContainer {
			a.lots = append(a.lots, b.lotOf(p))
		}
	}
	corrects := e.Replaces != ID{}
	switch x := said.(type) {
	case *Fill:
		a.lots = append(a.lots, b.rootID(x.LotID))
	case *Reading:
		lot(x.On)
	case *Movement:
		lot(x.From)
		lot(x.To)
	case *Dispatch:
		for _, id := range x.Containers {
			lot(Place{PlaceContainer, id})
		}
	case *Lot:
		a.lots = append(a.lots, b.rootID(cmp.Or(e.Replaces, e.ID)))
	case *Calibration:
		a.all = a.all || corrects || !x.Good() || x.LeftWrong()
	case *RuleSet, *Import, *Unreadable, *Instrument:
		a.all = a.all || corrects
	}
}

// soundChecks are the checks of such lots that speak of them, in order of number.
func (b *Book) soundChecks(about aboutLots) (out []*fact) {
	if !about.all && len(about.lots) == 0 {
		return nil
	}
	for _, root := range b.roots[kindIndex[KindCheck]] {
		c, is := root.last.Body.(*Check)
		if is && (about.all || slices.Contains(about.lots, b.rootID(c.LotID))) && b.Outdated(root.last.ID).IsEmpty() {
			out = append(out, root.last)
		}
	}
	return out
}
