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
	// any entry that went, in order of occurrence. They are of what the replay finds, and
	// of what shows beside runs, pulls and tanks that the entry bears on (besides): of these
	// Opened has also what is about the entry itself. A finding that only has more
	// entries than before, or fewer, is in neither.
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
	broken bool
	// roots are those of the entries.
	roots []ID
	// sound are the checks that spoke of their lots.
	sound []*fact
	// beside are the findings that showed beside the runs, pulls and tanks.
	besides
	beside []*Flag
	// byTides says that of these nothing but when tanks were full can change, so that they are
	// looked for only once that has. tides is the state's list, of which those after the first
	// keptTides are walked again.
	byTides          bool
	tides, tidesGone []tide
	keptTides        int
}

// beforeElsewhere looks at the book before it registers its next entries. Of those that it
// breaks down at nothing is told: registering them or the replay sets them aside.
func (b *Book) beforeElsewhere(entries ...*Entry) (was elsewhereBefore) {
	defer func() {
		if recover() != nil {
			was = elsewhereBefore{broken: true}
		}
	}()
	was = b.before(entries)
	for _, e := range entries {
		was.early = was.early || b.readsAnew(e)
	}
	if was.early {
		was.listed = b.state.listed()
	}
	if was.byTides {
		was.tides = b.state.tides
		return was
	}
	was.beside = b.state.besideBook(was.besides)
	return was
}

// before is what the book's next entries bear on, and how that stands before them.
func (b *Book) before(entries []*Entry) (was elsewhereBefore) {
	var about aboutLots
	was.flags, was.byTides = b.state.flags, true
	for i, e := range entries {
		root := e.ID
		if old := b.fact(e.Replaces); old != nil {
			root = old.root.ID
		}
		was.roots = append(was.roots, root)
		about.join(b.checksAbout(e))
		x := b.besidesOf(e)
		was.byTides = was.byTides && b.hangsOnTides(e, x)
		if i == 0 {
			was.besides = x
		} else {
			was.join(x)
		}
	}
	was.sound = b.soundChecks(about)
	return was
}

// beforeAll is how things stand in a book before entries of which another one tells.
func (b *Book) beforeAll(entries []*Entry) elsewhereBefore {
	was := b.before(entries)
	was.early, was.byTides, was.listed = true, false, b.state.listed()
	was.beside = b.state.besideBook(was.besides)
	return was
}

// hangsOnTides reports whether of what shows beside an entry nothing but when tanks were
// full can change.
func (b *Book) hangsOnTides(e *Entry, x besides) bool {
	if x.all || len(x.runs)+len(x.pulls) > 0 || e.Replaces != (ID{}) {
		return false
	}
	switch e.Kind {
	case KindMovement, KindFill, KindStocktake, KindWash:
		return true
	}
	return false
}

// readsAnew reports whether an entry may change what comes of flags that no replay changes:
// what settles them, and what readings that are in doubt hang on.
func (b *Book) readsAnew(e *Entry) bool {
	kind := e.Kind
	old := b.fact(e.Replaces)
	if old != nil {
		kind = old.root.Kind
	}
	switch kind {
	case KindAcceptance, KindCalibration, KindUnreadable, KindImport:
		return true
	case KindReading:
		if old != nil && slices.ContainsFunc(b.state.FlagsOn(old.ID), func(f Flag) bool { return f.Code == InstrumentDoubtful }) {
			return true
		}
	}
	return b.missing[e.ID] || old != nil && (old.root.withdrawn() || b.spoiltIn(old.ID))
}

// rewound keeps the flags that are walked again. The state writes over them.
func (was *elsewhereBefore) rewound(s *State) {
	if was.broken {
		return
	}
	was.kept = len(s.flags)
	was.gone = slices.Clone(was.flags[was.kept:])
	if was.byTides {
		was.keptTides = len(s.tides)
		was.tidesGone = slices.Clone(was.tides[was.keptTides:])
	}
}

// listed are those of Findings that the replay finds and nobody settled, by themselves and
// without what may explain them. They are copies, which outlast the state.
func (s *State) listed() []*Flag { return s.listedOf(s.flagged()) }

func (s *State) listedOf(flags []*Flag) []*Flag {
	v := survey{book: s.book, state: s, found: flags}
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

// apart are the open findings before and now that flags make which are not as they were,
// with all flags of the same events. Any other finding is as it was.
func (was *elsewhereBefore) apart(s *State) (before, now []*Flag) {
	came := s.flags[was.kept:]
	from := 0
	for from < min(len(was.gone), len(came)) && sameFlag(&was.gone[from], &came[from]) {
		from++
	}
	same := 0
	for same < min(len(was.gone), len(came))-from && sameFlag(&was.gone[len(was.gone)-1-same], &came[len(came)-1-same]) {
		same++
	}
	goneTo, cameTo := len(was.gone)-same, len(came)-same
	if from == goneTo && !slices.ContainsFunc(came[from:cameTo], func(f Flag) bool { return was.mayOpen(s, &f) }) {
		return nil, nil
	}
	touched := map[event]bool{}
	for _, changed := range [][]Flag{was.gone[from:goneTo], came[from:cameTo]} {
		for i := range changed {
			touched[sortOf(&changed[i])] = true
		}
	}
	of := func(tail []Flag, to int) []*Flag {
		var out []*Flag
		add := func(f *Flag, changed bool) {
			if sort := sortOf(f); changed || touched[sort] && sort != (event{}) {
				out = append(out, f)
			}
		}
		for i := range was.kept {
			add(&s.flags[i], false)
		}
		for i := range tail {
			add(&tail[i], from <= i && i < to)
		}
		return s.listedOf(s.settledOf(out))
	}
	return butOnce(of(was.gone, goneTo), s.flags[:was.kept], came), butOnce(of(came, cameTo), s.flags[:was.kept], was.gone)
}

// butOnce leaves out those findings by themselves of which another one just alike is among
// flags: what a dispatch says twice of one container is one thing.
func butOnce(found []*Flag, among ...[]Flag) []*Flag {
	return slices.DeleteFunc(found, func(f *Flag) bool {
		return sortOf(f) == event{} && slices.ContainsFunc(among, func(flags []Flag) bool {
			for i := range flags {
				if o := &flags[i]; o.Entry == f.Entry && o.Code == f.Code && sameFlag(o, f) {
					return true
				}
			}
			return false
		})
	})
}

// mayOpen reports whether a flag may open a finding about another entry where no flag
// went: not where it is the entry's own, or joins what was a finding before. Only so does a
// tank that is over its capacity for weeks cost nothing more with each batch.
func (was *elsewhereBefore) mayOpen(s *State, f *Flag) bool {
	of := sortOf(f)
	switch {
	case of == event{}:
		return !slices.Contains(was.roots, f.Entry)
	case f.Code == InstrumentDoubtful:
		return true
	}
	for i := was.kept - 1; i >= 0; i-- {
		if mate := &s.flags[i]; mate.Code == f.Code && !mate.byChance() && sortOf(mate) == of && s.book.settled(*mate) == nil {
			return false
		}
	}
	return true
}

// sortOf is the event of a flag whoever settled it, or of all readings in doubt; zero for a
// flag that is a finding by itself.
func sortOf(f *Flag) event {
	if f.Code == InstrumentDoubtful {
		return event{code: f.Code}
	}
	e, _ := eventOf(f)
	e.accepted = nil
	return e
}

// elsewhere compares the book with how it was before its last entries.
func (b *Book) elsewhere(was elsewhereBefore) (e Elsewhere) {
	if was.broken {
		return e
	}
	for _, check := range was.sound {
		if why := b.Outdated(check.ID); !slices.Contains(was.roots, check.root.ID) && !why.IsEmpty() {
			e.Outdated = append(e.Outdated, OutdatedCheck{check.Entry, why})
		}
	}
	if !was.early {
		e.differ(was.apart(b.state))
	} else {
		e.differ(was.listed, b.state.listed())
	}
	e.Opened = slices.DeleteFunc(e.Opened, func(flag *Flag) bool { return slices.Contains(was.roots, flag.Entry) })
	if before, beside, changed := was.besideNow(b.state); changed {
		e.Opened, e.Closed = append(e.Opened, notIn(beside, before)...), append(e.Closed, notIn(before, beside)...)
	}
	if len(e.Opened) == 0 {
		e.Opened = nil
	}
	for _, list := range [][]*Flag{e.Opened, e.Closed} {
		slices.SortFunc(list, func(x, y *Flag) int {
			return cmp.Or(order(b.fact(x.Entry).last, b.fact(y.Entry).last), cmp.Compare(x.Code, y.Code), bytes.Compare(x.On.ID[:], y.On.ID[:]), cmp.Compare(x.Quantity, y.Quantity))
		})
	}
	return e
}

// besideNow are the findings that show beside the entry, before it and now; false where
// they are the same.
func (was *elsewhereBefore) besideNow(s *State) (before, now []*Flag, changed bool) {
	if !was.byTides {
		return was.beside, s.besideBook(was.besides), true
	}
	if slices.Equal(was.tidesGone, s.tides[was.keptTides:]) {
		return nil, nil, false
	}
	then := *s
	then.tides = slices.Concat(s.tides[:was.keptTides], was.tidesGone)
	return then.besideBook(was.besides), s.besideBook(was.besides), true
}

func (e *Elsewhere) differ(before, now []*Flag) {
	e.Opened, e.Closed = notIn(now, before), notIn(before, now)
}

// oddity is what a finding says of one of its entries.
type oddity struct {
	code      Code
	entry, on ID
	quantity  string
}

// comesTo is all of a flag that a finding rests on: later is true of one that is not the
// first of its tank's shortage.
type comesTo struct {
	oddity
	spell                        int32
	byChance, later, allByChance bool
}

func (f *Flag) comesTo() comesTo {
	c := comesTo{oddity: f.oddityOf(f.Entry), spell: f.spell, byChance: f.byChance(), later: f.whole != nil}
	if c.later {
		c.allByChance = f.whole.byChance()
	}
	return c
}

// sameFlag reports whether two flags come to the same finding.
func sameFlag(x, y *Flag) bool { return x.comesTo() == y.comesTo() }

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
	about.all = b.missing[e.ID]
	about.add(b, e, e.Body)
	if old := b.fact(e.Replaces); old != nil {
		for _, said := range []Body{old.Body, old.root.subject} {
			about.add(b, e, said)
		}
	}
	return about
}

func (a *aboutLots) join(o aboutLots) {
	a.all, a.lots = a.all || o.all, append(a.lots, o.lots...)
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
