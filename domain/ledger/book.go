package ledger

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"iter"
	"slices"
	"sort"
	"time"
)

// fact is an entry's place in the book: what it corrects, what corrects it.
type fact struct {
	*Entry
	// Kind is the entry's, or, of the root of a chain that begins with an unreadable
	// entry, that of its first correction.
	Kind Kind
	// at is OccurredAt in microseconds, the precision that the database keeps,
	// so that a book in memory and one read back order alike.
	at int64
	// root is the first entry of its chain of corrections; the chain is known
	// by the root's ID for ever.
	root *fact
	// by is the entry that replaces this one.
	by *fact
	// last is kept on roots: the entry that stands now.
	last *fact
	// subject is kept on roots: the body that last stood, kept through a
	// withdrawal so that what names a withdrawn thing can still say what it was.
	subject Body
	// slot is kept on roots of tanks, runs and fills: their holder.
	slot int32
	// kind is the place of Kind in kinds.
	kind int8
	// takenBack is kept on roots: the import that it came with was withdrawn.
	takenBack bool
}

func (f *fact) withdrawn() bool { return f.takenBack || f.last.Kind == KindWithdrawal }

// Book is all entries of one outfit and the state they lead to.
//
// Any number of goroutines may read a Book at once, but none while it is
// appended to.
type Book struct {
	loc   *time.Location
	facts []*fact
	byID  byID
	// line is what happened, in order of occurrence: entries that stand.
	line []*fact
	// roots holds, by kind, the first entries of the chains, in order of number.
	roots [][]*fact
	// ofKind holds all entries by kind, in order of number.
	ofKind [][]*fact
	// owners holds, by name or code, the roots that ever had it, in the order in which
	// they took it.
	owners map[nameKey][]*fact
	// told holds, by the row's id, the entries that say how it stands.
	told map[ID][]*fact
	// learnt holds, by lot or container, the number of the last entry that says something of
	// it, and lastHold, by lot, that of the last one that held it or took that back.
	learnt, lastHold map[ID]int64
	// lastFill holds, by lot, the number of the last entry that says something of its fills.
	lastFill map[ID]int64
	// calendar is made anew when a season changes, so that Ahead may share it.
	calendar *calendar
	index
	slots int32
	// began is the first entry of something that happened that was recorded here; nil as
	// long as all of them were brought in.
	began *fact
	state *State
	// goesOn says that the book is the one that is recorded in.
	goesOn bool
}

// Open reads a book from its entries, in order of their numbers. loc is the
// outfit's time zone. It fails where a number is missing, an id comes twice, or
// an entry replaces what it cannot.
func Open(loc *time.Location, entries []*Entry) (*Book, error) {
	return open(loc, entries, keptUndo)
}

func open(loc *time.Location, entries []*Entry, kept int) (*Book, error) {
	b := newBook(loc, entries)
	if err := b.fill(entries, opening{kept: kept}); err != nil {
		return nil, err
	}
	return b, nil
}

// newBook is an empty book with room for entries.
func newBook(loc *time.Location, entries []*Entry) *Book {
	b := &Book{
		loc:    loc,
		byID:   makeByID(len(entries)),
		facts:  make([]*fact, 0, len(entries)),
		roots:  make([][]*fact, len(kindIndex)),
		ofKind: make([][]*fact, len(kindIndex)),
		told:   map[ID][]*fact{},

		learnt:   map[ID]int64{},
		lastFill: map[ID]int64{},
		lastHold: map[ID]int64{},

		calendar: new(calendar),
	}
	b.makeRoom(entries)
	return b
}

// opening is how a book is opened.
type opening struct {
	// kept is how far back entries are undone one by one.
	kept int
	// stop says whether nobody wants the book any more; nil where it is wanted whatever
	// happens.
	stop func() bool
	// aside says which entries are set aside as unreadable, rather than have it fail.
	aside setAside
}

// askedEvery is after how many entries stop is asked, which take about a millisecond.
const askedEvery = 1 << 10

func (o opening) stopped(n int) bool { return o.stop != nil && n%askedEvery == 0 && o.stop() }

// fill puts entries into an empty book.
func (b *Book) fill(entries []*Entry, how opening) error {
	if err := b.registerAll(entries, how); err != nil {
		return err
	}
	b.arrange()
	b.state = newState(b)
	b.state.kept = how.kept
	return b.state.walk(len(b.line), how)
}

// makeRoom makes lists as long as the entries need.
func (b *Book) makeRoom(entries []*Entry) {
	n := make([]int, len(kindIndex))
	for _, e := range entries {
		n[kindIndex[e.Kind]]++
	}
	for i := range n {
		b.ofKind[i] = make([]*fact, 0, n[i])
		b.roots[i] = make([]*fact, 0, n[i])
	}
	b.owners = make(map[nameKey][]*fact, n[kindIndex[KindFill]])
}

// registerAll registers entries in an empty book, one after the other.
func (b *Book) registerAll(entries []*Entry, how opening) error {
	backing := make([]fact, len(entries))
	for i, e := range entries {
		if how.stopped(i) {
			return ErrStopped
		}
		if err := b.registerOr(&backing[i], e, how.aside); err != nil {
			return err
		}
	}
	return nil
}

// arrange puts what stands into its order of occurrence, and indexes it.
func (b *Book) arrange() {
	b.arrangeBy(b.stand)
	b.share()
}

// stand puts a fact that stands into the index, and behind the line.
func (b *Book) stand(f *fact) {
	b.enter(f)
	if !f.Kind.SetUp() {
		b.line = append(b.line, f)
	}
}

// arrangeBy is arrange in which stand takes each fact, and without what is shared out.
func (b *Book) arrangeBy(stand func(*fact)) {
	b.index = newIndex()
	b.line = make([]*fact, 0, len(b.facts))
	for _, f := range b.facts {
		switch {
		case f.root != f:
		case f.withdrawn():
			b.setWithdrawn(f, true)
		case f.last.unreadable():
		default:
			stand(f.last)
		}
	}
	slices.SortFunc(b.line, order)
}

// register gives an entry its place among those that it replaces. Where it fails, the
// book is as before.
func (b *Book) register(f *fact, e *Entry) error {
	says, err := b.fits(e)
	if err != nil {
		return err
	}
	f.Entry, f.Kind, f.at, f.kind, f.slot = e, e.Kind, e.OccurredAt.UnixMicro(), says.kind, -1
	switch {
	case f.unreadable():
		b.putAside(f)
	case e.Replaces == (ID{}):
		b.found(f)
	default:
		b.replace(f)
	}
	if !f.unreadable() {
		f.root.last = f
		if e.Kind != KindWithdrawal {
			f.root.subject = e.Body
		}
	}
	if f.root.Kind == KindImport && f.Kind == KindWithdrawal {
		b.takeBack(f.root)
	}
	if says.named {
		b.takeName(f, says.name)
	}
	b.turnCalendar(f)
	if says.operators {
		b.told[says.about] = append(b.told[says.about], f)
	}
	b.learn(f, e.Body)
	if old := b.fact(e.Replaces); old != nil {
		b.learn(f, old.Body)
	}
	b.begins(f)
	b.facts = append(b.facts, f)
	b.ofKind[f.kind] = append(b.ofKind[f.kind], f)
	b.indexLast()
	return nil
}

// saying is what an entry says that has to be known to register it.
type saying struct {
	kind      int8
	name      string
	named     bool
	about     ID
	operators bool
}

// fits reads what an entry says, and fails where it cannot be the book's next. It only
// looks: what register does afterwards looks into no body and cannot fail.
func (b *Book) fits(e *Entry) (says saying, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &breakdown{p}
		}
	}()
	kind, known := kindIndex[e.Kind]
	switch want := int64(len(b.facts)) + 1; {
	case e.Number != want:
		return says, fmt.Errorf("entry %d follows entry %d: number %d is missing", e.Number, want-1, want)
	case b.fact(e.ID) != nil:
		return says, fmt.Errorf("entry %d has the id %s of entry %d", e.Number, e.ID, b.fact(e.ID).Number)
	case !known || e.Body == nil || e.Body.Kind() != e.Kind:
		return says, fmt.Errorf("entry %d is a %q, and its content is something else", e.Number, e.Kind)
	}
	if i, ok := e.Body.(*Import); ok && (i.Entries < 1 || i.Entries >= e.Number || e.Replaces != (ID{})) {
		return says, fmt.Errorf("entry %d says that %d entries before it were imported, and there are %d", e.Number, i.Entries, e.Number-1)
	}
	if o, ok := e.Body.(*Operator); ok {
		says.about, says.operators = o.About(), true
	}
	var room [namesRoom]ID
	names(room[:0], e.Body) // a body that is not there breaks down here
	says.kind = int8(kind)
	says.name, says.named = nameOf(e.Body)
	return says, b.replaces(e)
}

// found begins a chain of corrections.
func (b *Book) found(f *fact) {
	f.root = f
	b.roots[f.kind] = append(b.roots[f.kind], f)
	b.giveSlot(f)
}

func (b *Book) giveSlot(f *fact) {
	switch f.Kind {
	case KindTank, KindRun, KindFill:
		f.slot = b.slots
		b.slots++
	}
}

// replaces fails where an entry cannot replace the one that it says it does.
func (b *Book) replaces(e *Entry) error {
	old := b.fact(e.Replaces)
	switch {
	case e.Replaces == (ID{}) || e.Kind == KindUnreadable:
		return nil
	case old == nil:
		return fmt.Errorf("entry %d replaces %s, which is not in the book before it", e.Number, e.Replaces)
	case old.by != nil:
		return fmt.Errorf("entry %d replaces entry %d, which entry %d has replaced", e.Number, old.Number, old.by.Number)
	case old.Kind == KindOperator:
		return fmt.Errorf("entry %d replaces entry %d, which the operator made and nothing replaces", e.Number, old.Number)
	case e.Kind != KindWithdrawal && !old.root.correctedBy(e.Kind):
		return fmt.Errorf("entry %d is a %s, and cannot replace the %s of entry %d", e.Number, words(string(e.Kind)), words(string(old.root.Kind)), old.root.Number)
	}
	return nil
}

// replace puts a fact at the end of the chain that it corrects or withdraws.
func (b *Book) replace(f *fact) {
	old := b.fact(f.Replaces)
	f.root, old.by = old.root, f
	if f.Kind != KindWithdrawal && f.Kind != f.root.Kind {
		b.adopt(f.root, f)
	}
}

// correctedBy reports whether an entry of a kind can correct what the root of a chain
// began: of an unreadable one only its stored kind is known, or not even that.
func (f *fact) correctedBy(k Kind) bool {
	if u, is := f.Body.(*Unreadable); is && f.Kind == KindUnreadable {
		_, known := kindIndex[u.Was]
		return !known || u.Was == KindUnreadable || u.Was == k
	}
	return f.Kind == k
}

// order puts facts in order of occurrence. Ties go by rank of kind, of movements first
// those out of runs, then by the id of the chain, so that neither the order of recording
// nor a correction of something else can change the order.
func order(a, c *fact) int {
	switch {
	case a.at != c.at:
		return cmp.Compare(a.at, c.at)
	case a.kind != c.kind:
		return cmp.Compare(a.kind, c.kind)
	}
	return cmp.Or(a.movedOn()-c.movedOn(), bytes.Compare(a.root.ID[:], c.root.ID[:]))
}

// movedOn is 1 for honey that was moved on from where it was, and 0 for what else there is:
// of a day of which a sheet says no hours, honey came out of runs before it was pumped.
func (f *fact) movedOn() int {
	if m, moved := f.Body.(*Movement); moved && m.From.Kind != PlaceRun {
		return 1
	}
	return 0
}

// precedes reports whether a fact comes before another one in order of occurrence.
func (f *fact) precedes(g *fact) bool { return order(f, g) < 0 }

// position is where the fact stands in the line, or would.
func (b *Book) position(f *fact) int {
	p, _ := slices.BinarySearchFunc(b.line, f, order)
	return p
}

// Append adds the next entry and brings the state up to date. It returns what
// the entry changed. Where it fails, the book is as before.
func (b *Book) Append(e *Entry) (effect Effect, err error) {
	f, was := new(fact), b.beforeElsewhere(e)
	if err := b.register(f, e); errors.As(err, new(*breakdown)) {
		return b.mend(e)
	} else if err != nil {
		return Effect{}, err
	}
	defer func() {
		if recover() != nil {
			effect, err = b.mend(e)
		}
	}()
	involved := b.involved(f)
	levels := b.levels(involved)
	old, rests := b.place(f)
	was.rewound(b.state)
	b.state.walkAgain(old, rests)
	effect = b.effect(f, involved, levels)
	effect.Elsewhere = b.elsewhere(was)
	return effect, nil
}

// Learn adds the next entries, and brings the book's own state to that right after
// everything that happened up to an instant. It is for a book that is asked about one
// instant after another as it grows: entries that come late cost no replay of all that
// happened after them. Append needs a book whose state is at the end of the line, as
// Learn leaves it for an instant not before Latest.
func (b *Book) Learn(at time.Time, entries ...*Entry) (err error) {
	defer func() {
		if recover() != nil {
			if _, err = b.mend(b.facts[len(b.facts)-1].Entry); err == nil {
				known := b.Len()
				err = b.Learn(at, slices.DeleteFunc(slices.Clone(entries), func(e *Entry) bool { return e.Number <= known })...)
			}
		}
	}()
	for _, e := range entries {
		f := new(fact)
		if err := b.register(f, e); err != nil {
			return err
		}
		b.place(f)
	}
	n := b.upTo(at)
	b.state.rewind(n)
	b.state.replay(n)
	return nil
}

// upTo is the place in the line of the first that happened after an instant.
func (b *Book) upTo(at time.Time) int {
	return sort.Search(len(b.line), func(i int) bool { return b.line[i].at > at.UnixMicro() })
}

// place puts a new fact into the line and takes the state back to before the first
// that is not as it was. It returns the steps that were taken back, and what rests on the fact.
func (b *Book) place(f *fact) (old []*step, r rests) {
	first := f.root != f && !f.unreadable() && f.Kind != KindWithdrawal && b.readBefore(f) == nil
	if first || b.missing[f.ID] || f.root.Kind == KindImport && f.root != f {
		b.state.rewind(0)
		b.arrange()
		return nil, r
	}
	from := b.rearrange(f, &r)
	b.share()
	return b.state.rewind(from), r
}

// rearrange puts a new fact where it belongs, in the stead of the one that it
// replaces, and gives the first place in the line that is not as it was.
func (b *Book) rearrange(f *fact, r *rests) int {
	from := len(b.line)
	if f.root.takenBack {
		b.gone[f.ID] = true
		return from
	}
	if f.unreadable() {
		if f.root.withdrawn() {
			b.gone[f.ID] = true
		}
		return from
	}
	gone := f.Kind == KindWithdrawal
	wasGone := gone
	if old := b.readBefore(f); f.root != f {
		if wasGone = old != nil && old.Kind == KindWithdrawal; !wasGone && old != nil {
			from = min(from, b.remove(old, r))
		}
	}
	if gone != wasGone && f.root != f {
		b.setWithdrawn(f.root, gone)
		r.all = true
		from = min(from, b.firstNaming(f.root))
	}
	if !gone {
		from = min(from, b.insert(f, r))
	}
	return from
}

// insert puts a fact that stands into the line and says from where the state
// has to be had anew.
func (b *Book) insert(f *fact, r *rests) int {
	b.enter(f)
	b.restOn(r, f)
	from := b.firstResting(f)
	if f.Kind.SetUp() {
		return from
	}
	r.in = append(r.in, f)
	p := b.position(f)
	b.line = slices.Insert(b.line, p, f)
	return min(from, p)
}

func (b *Book) remove(f *fact, r *rests) int {
	b.strike(f)
	b.restOn(r, f)
	r.out = f
	from := b.firstResting(f)
	if f.Kind.SetUp() {
		return from
	}
	p := b.position(f)
	b.line = slices.Delete(b.line, p, p+1)
	return min(from, p)
}

// rootID is the ID by which the thing that id names is known for ever.
func (b *Book) rootID(id ID) ID {
	if f := b.fact(id); f != nil {
		return f.root.ID
	}
	return id
}

// at finds the root of what id names; nil where the book has not got it.
func (b *Book) at(id ID) *fact {
	if f := b.fact(id); f != nil {
		return f.root
	}
	return nil
}

// Len is the number of entries in the book, and the last one's number.
func (b *Book) Len() int64 { return int64(len(b.facts)) }

// Latest is when the last thing in the book happened, which stands in for now;
// the zero time where nothing did.
func (b *Book) Latest() time.Time {
	if len(b.line) == 0 {
		return time.Time{}
	}
	return b.line[len(b.line)-1].OccurredAt
}

// Location is the outfit's time zone.
func (b *Book) Location() *time.Location { return b.loc }

// State is what the entries lead to, at the end of the line. It is valid until
// the next Append.
func (b *Book) State() *State { return b.state }

// StateAt is the state right after everything that happened up to the instant.
func (b *Book) StateAt(at time.Time) *State {
	s := newState(b)
	s.Until(at)
	return s
}

// Until brings a state that StateAt gave on to a later instant. An earlier one
// leaves it as it is.
func (s *State) Until(at time.Time) {
	s.replay(s.book.upTo(at))
}

// KnownAt is the number of the last entry recorded up to the instant. (A clock
// that was set back may have let a later number in at an earlier time.)
func (b *Book) KnownAt(at time.Time) int64 {
	n := len(b.facts)
	for n > 0 && b.facts[n-1].RecordedAt.After(at) {
		n--
	}
	return int64(n)
}

// Entry gives the entry with that id, and the one that replaced it if any.
func (b *Book) Entry(id ID) (e, replacedBy *Entry) {
	f := b.fact(id)
	if f == nil {
		return nil, nil
	}
	if f.by != nil {
		replacedBy = f.by.Entry
	}
	return f.Entry, replacedBy
}

// Numbered gives the entry with that number, from 1 to Len.
func (b *Book) Numbered(n int64) *Entry { return b.facts[n-1].Entry }

// Last is the book's last entry; nil where it has none.
func (b *Book) Last() *Entry {
	if len(b.facts) == 0 {
		return nil
	}
	return b.facts[len(b.facts)-1].Entry
}

// Chain gives the entry that id names with all that it replaced or that
// replaced it, oldest first; nil where there is none.
func (b *Book) Chain(id ID) []*Entry {
	f := b.fact(id)
	if f == nil {
		return nil
	}
	var out []*Entry
	for f = f.root; f != nil; f = f.by {
		out = append(out, f.Entry)
	}
	return out
}

// RecordedOf returns the entries of a kind whose numbers are above after, in order of
// their numbers, those that were replaced too.
func (b *Book) RecordedOf(k Kind, after int64) iter.Seq[*Entry] {
	return func(yield func(*Entry) bool) {
		of := b.ofKind[kindIndex[k]]
		for _, f := range of[sort.Search(len(of), func(i int) bool { return of[i].Number > after }):] {
			if !yield(f.Entry) {
				return
			}
		}
	}
}

// InForce returns the entry that is in force for what id names: its latest
// correction. It returns nil where the book has none, or where it was withdrawn.
func (b *Book) InForce(id ID) *Entry {
	f := b.fact(id)
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

// HappenedIn is Happened from one instant until right before another.
func (b *Book) HappenedIn(from, until time.Time, yield func(root ID, e *Entry) bool) {
	first := sort.Search(len(b.line), func(i int) bool { return b.line[i].at >= from.UnixMicro() })
	for _, f := range b.line[first:] {
		if f.at >= until.UnixMicro() || !yield(f.root.ID, f.Entry) {
			return
		}
	}
}

// InForceOf yields the entries of a kind that are in force, each with the ID of the
// first entry of its chain, in the order in which the book first learned of them.
// RecordedOf yields the replaced ones too.
func (b *Book) InForceOf(k Kind, yield func(root ID, e *Entry) bool) {
	i, known := kindIndex[k]
	if !known {
		return
	}
	for _, f := range b.roots[i] {
		if !f.withdrawn() && !yield(f.ID, f.last.Entry) {
			return
		}
	}
}

// body gives what id names as it stands, or as it last stood.
func body[T any](b *Book, id ID) *T {
	f := b.fact(id)
	if f == nil {
		return nil
	}
	t, _ := any(f.root.subject).(*T)
	return t
}

// Named gives the thing of type T that id names, as it stands now or last
// stood; nil where id names nothing or something else.
func Named[T any](b *Book, id ID) *T { return body[T](b, id) }
