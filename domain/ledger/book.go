package ledger

import (
	"fmt"
	"slices"
	"sort"
	"time"
)

// fact is an entry's place in the book: what it corrects, what corrects it.
type fact struct {
	*Entry
	// root is the first entry of its chain of corrections; the chain is known
	// by the root's ID for ever.
	root *fact
	// by is the entry that replaces this one.
	by *fact
	// last is kept on roots: the entry that stands now.
	last *fact
	// slot is kept on roots of tanks, runs and fills: their holder.
	slot int32
	// subject is the body that last stood, kept through a withdrawal so that
	// what names a withdrawn thing can still say what it was.
	subject Body
}

func (f *fact) withdrawn() bool { return f.last.Kind == KindWithdrawal }

// Book is all entries of one outfit and the state they lead to.
//
// A Book is not safe for use by several goroutines at once while it is
// appended to.
type Book struct {
	loc   *time.Location
	facts []*fact
	byID  map[ID]*fact
	// line is what happened, in order of occurrence: entries that stand.
	line []*fact
	// runs holds, by run, what went in and what came out.
	runs map[ID]*runFacts
	// fills holds, by lot, the fills that stand.
	fills map[ID][]*fact
	// roots holds, by kind, the first entries of the chains, in order of number.
	roots map[Kind][]*fact
	// containers holds, by number, the fills that ever had it.
	containers map[string][]*fact
	// accepted says which flags were settled by which entry.
	accepted map[flagKey]*fact
	// missing holds IDs that entries name and the book has not got.
	missing map[ID]bool
	slots   int32
	state   *State
}

type runFacts struct {
	supers []*fact
	out    []*fact
	mix    *Mix
	how    Allocation
	fullG  int64
}

// Open reads a book from its entries, in order of their numbers. loc is the
// outfit's time zone.
func Open(loc *time.Location, entries []*Entry) (*Book, error) {
	b := &Book{
		loc:        loc,
		byID:       make(map[ID]*fact, len(entries)),
		facts:      make([]*fact, 0, len(entries)),
		runs:       map[ID]*runFacts{},
		fills:      map[ID][]*fact{},
		accepted:   map[flagKey]*fact{},
		roots:      map[Kind][]*fact{},
		containers: map[string][]*fact{},
		missing:    map[ID]bool{},
	}
	backing := make([]fact, len(entries))
	for i, e := range entries {
		if err := b.register(&backing[i], e); err != nil {
			return nil, err
		}
	}
	for _, f := range b.facts {
		if f.root == f && !f.withdrawn() {
			b.index(f.last)
			if !f.last.Kind.SetUp() {
				b.line = append(b.line, f.last)
			}
		}
	}
	sort.Slice(b.line, func(i, j int) bool { return before(b.line[i], b.line[j]) })
	b.state = newState(b)
	b.state.replay(len(b.line))
	return b, nil
}

// register gives an entry its place among those that it replaces.
func (b *Book) register(f *fact, e *Entry) error {
	if want := int64(len(b.facts)) + 1; e.Number != want {
		return fmt.Errorf("entry %d follows entry %d: number %d is missing", e.Number, want-1, want)
	}
	if b.byID[e.ID] != nil {
		return fmt.Errorf("entry %d has the id %s of entry %d", e.Number, e.ID, b.byID[e.ID].Number)
	}
	f.Entry, f.slot, f.subject = e, -1, e.Body
	if e.Replaces == (ID{}) {
		f.root = f
	} else {
		old := b.byID[e.Replaces]
		if old == nil {
			return fmt.Errorf("entry %d replaces %s, which is not in the book before it", e.Number, e.Replaces)
		}
		if old.by != nil {
			return fmt.Errorf("entry %d replaces entry %d, which entry %d has replaced", e.Number, old.Number, old.by.Number)
		}
		f.root, old.by = old.root, f
		if e.Kind == KindWithdrawal {
			f.subject = old.subject
		}
	}
	f.root.last = f
	if fill, ok := e.Body.(*Fill); ok {
		key := containerKey(fill.Container)
		if !slices.Contains(b.containers[key], f.root) {
			b.containers[key] = append(b.containers[key], f.root)
		}
	}
	if f.root == f {
		b.roots[e.Kind] = append(b.roots[e.Kind], f)
		switch e.Kind {
		case KindTank, KindRun, KindFill:
			f.slot = b.slots
			b.slots++
		}
	}
	b.facts = append(b.facts, f)
	b.byID[e.ID] = f
	return nil
}

// before orders facts by occurrence. Ties go by rank of kind, then by the id of
// the chain, so that neither the order of recording nor a correction of
// something else can change the order.
func before(a, c *fact) bool {
	if !a.OccurredAt.Equal(c.OccurredAt) {
		return a.OccurredAt.Before(c.OccurredAt)
	}
	if ra, rc := kinds[kindIndex[a.Kind]].rank, kinds[kindIndex[c.Kind]].rank; ra != rc {
		return ra < rc
	}
	return slices.Compare(a.root.ID[:], c.root.ID[:]) < 0
}

// position is where the fact stands in the line, or would.
func (b *Book) position(f *fact) int {
	return sort.Search(len(b.line), func(i int) bool { return !before(b.line[i], f) })
}

// Append adds the next entry and brings the state up to date. It returns what
// the entry changed.
func (b *Book) Append(e *Entry) (Effect, error) {
	f := new(fact)
	if err := b.register(f, e); err != nil {
		return Effect{}, err
	}
	involved := b.involved(f)
	levels := b.levels(involved)
	from := len(b.line)
	if f.root != f {
		old := b.byID[e.Replaces]
		if old.Kind != KindWithdrawal {
			from = min(from, b.remove(old))
		}
	}
	if e.Kind != KindWithdrawal {
		from = min(from, b.insert(f))
	}
	if b.missing[e.ID] {
		delete(b.missing, e.ID)
		from = 0
	}
	b.state.rewind(from)
	b.state.replay(len(b.line))
	return b.effect(f, involved, levels), nil
}

// insert puts a fact that stands into the line and says from where the state
// has to be had anew.
func (b *Book) insert(f *fact) int {
	from := b.index(f)
	if f.Kind.SetUp() {
		if f.root != f {
			return 0
		}
		return len(b.line)
	}
	p := b.position(f)
	b.line = slices.Insert(b.line, p, f)
	return min(from, p)
}

func (b *Book) remove(f *fact) int {
	from := b.unindex(f)
	if f.Kind.SetUp() {
		return 0
	}
	p := b.position(f)
	b.line = slices.Delete(b.line, p, p+1)
	return min(from, p)
}

// index notes what must be known before the line is walked: what went into a
// run is known to the honey that came out of it, whenever it was written down.
func (b *Book) index(f *fact) int {
	from := len(b.line)
	switch body := f.Body.(type) {
	case *RunSupers:
		r := b.run(body.RunID)
		r.supers = append(r.supers, f)
		from = b.changedRun(r)
	case *Movement:
		if body.From.Kind == PlaceRun {
			r := b.run(b.rootID(body.From.ID))
			r.out = append(r.out, f)
		}
	case *Pull:
		from = b.changedPull(f.root.ID)
	case *Fill:
		lot := b.rootID(body.LotID)
		b.fills[lot] = append(b.fills[lot], f)
	case *Acceptance:
		b.accepted[flagKey{b.rootID(body.EntryID), body.Flag}] = f
	case *SuperKind:
		for _, r := range b.runs {
			r.mix = nil
		}
	}
	return from
}

func (b *Book) unindex(f *fact) int {
	from := len(b.line)
	drop := func(in []*fact) []*fact {
		return slices.DeleteFunc(in, func(g *fact) bool { return g == f })
	}
	switch body := f.Body.(type) {
	case *RunSupers:
		r := b.run(body.RunID)
		r.supers = drop(r.supers)
		from = b.changedRun(r)
	case *Movement:
		if body.From.Kind == PlaceRun {
			r := b.run(b.rootID(body.From.ID))
			r.out = drop(r.out)
		}
	case *Pull:
		from = b.changedPull(f.root.ID)
	case *Fill:
		lot := b.rootID(body.LotID)
		b.fills[lot] = drop(b.fills[lot])
	case *Acceptance:
		delete(b.accepted, flagKey{b.rootID(body.EntryID), body.Flag})
	case *SuperKind:
		for _, r := range b.runs {
			r.mix = nil
		}
	}
	return from
}

func (b *Book) run(id ID) *runFacts {
	id = b.rootID(id)
	r := b.runs[id]
	if r == nil {
		r = new(runFacts)
		b.runs[id] = r
	}
	return r
}

// changedRun forgets a run's make-up and gives the first place in the line
// that rests on it.
func (b *Book) changedRun(r *runFacts) int {
	r.mix = nil
	first := len(b.line)
	for _, f := range r.out {
		first = min(first, b.position(f))
	}
	return first
}

func (b *Book) changedPull(id ID) int {
	first := len(b.line)
	for _, r := range b.runs {
		if slices.ContainsFunc(r.supers, func(f *fact) bool {
			return b.rootID(f.Body.(*RunSupers).PullID) == id
		}) {
			first = min(first, b.changedRun(r))
		}
	}
	return first
}

// rootID is the ID by which the thing that id names is known for ever.
func (b *Book) rootID(id ID) ID {
	if f := b.byID[id]; f != nil {
		return f.root.ID
	}
	return id
}

// at finds the root of what id names, noting what the book has not got.
func (b *Book) at(id ID) *fact {
	if f := b.byID[id]; f != nil {
		return f.root
	}
	b.missing[id] = true
	return nil
}

// Len is the number of entries in the book, and the last one's number.
func (b *Book) Len() int64 { return int64(len(b.facts)) }

// Location is the outfit's time zone.
func (b *Book) Location() *time.Location { return b.loc }

// State is what the entries lead to, at the end of the line. It is valid until
// the next Append.
func (b *Book) State() *State { return b.state }

// StateAt is the state right after everything that happened up to the instant.
func (b *Book) StateAt(at time.Time) *State {
	s := newState(b)
	s.replay(sort.Search(len(b.line), func(i int) bool { return b.line[i].OccurredAt.After(at) }))
	return s
}

// Walk takes a state of its own over all that happened and shows it after each
// entry. The state is good until yield returns.
func (b *Book) Walk(yield func(root ID, e *Entry, after *State) bool) {
	s := newState(b)
	for n, f := range b.line {
		s.replay(n + 1)
		if !yield(f.root.ID, f.Entry, s) {
			return
		}
	}
}

// AsKnown is the book as it was when its last entry was the one numbered n.
func (b *Book) AsKnown(n int64) (*Book, error) {
	if n < 0 || n > b.Len() {
		return nil, fmt.Errorf("the book has entries 1 to %d, and so never knew of an entry %d alone", b.Len(), n)
	}
	return Open(b.loc, b.entries(n))
}

// KnownAt is the number of the last entry recorded up to the instant.
func (b *Book) KnownAt(at time.Time) int64 {
	return int64(sort.Search(len(b.facts), func(i int) bool { return b.facts[i].RecordedAt.After(at) }))
}

func (b *Book) entries(n int64) []*Entry {
	out := make([]*Entry, n)
	for i := range out {
		out[i] = b.facts[i].Entry
	}
	return out
}

// Entry gives the entry with that id, and the one that replaced it if any.
func (b *Book) Entry(id ID) (e, replacedBy *Entry) {
	f := b.byID[id]
	if f == nil {
		return nil, nil
	}
	if f.by != nil {
		replacedBy = f.by.Entry
	}
	return f.Entry, replacedBy
}

// Standing gives the entry that now stands for what id names: its latest
// correction. It is nil where there is none or it was withdrawn.
func (b *Book) Standing(id ID) *Entry {
	f := b.byID[id]
	if f == nil || f.root.withdrawn() {
		return nil
	}
	return f.root.last.Entry
}

// Root is the ID by which what id names is known through all corrections.
func (b *Book) Root(id ID) ID { return b.rootID(id) }

// Entries gives all entries in order of their numbers, those that were replaced
// too.
func (b *Book) Entries(yield func(*Entry) bool) {
	for _, f := range b.facts {
		if !yield(f.Entry) {
			return
		}
	}
}

// Happened gives the entries that stand, set-up apart, in order of occurrence.
func (b *Book) Happened(yield func(root ID, e *Entry) bool) {
	for _, f := range b.line {
		if !yield(f.root.ID, f.Entry) {
			return
		}
	}
}

// Of gives the things of a kind that stand, in the order in which the book
// first learned of them, with the ID by which each is known.
func (b *Book) Of(k Kind, yield func(root ID, e *Entry) bool) {
	for _, f := range b.roots[k] {
		if !f.withdrawn() && !yield(f.ID, f.last.Entry) {
			return
		}
	}
}

// body gives what id names as it stands, or as it last stood.
func body[T any](b *Book, id ID) *T {
	f := b.byID[id]
	if f == nil {
		return nil
	}
	t, _ := any(f.root.last.subject).(*T)
	return t
}

// Named gives the thing of type T that id names, as it stands now or last
// stood; nil where id names nothing or something else.
func Named[T any](b *Book, id ID) *T { return body[T](b, id) }
