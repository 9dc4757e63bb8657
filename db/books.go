package db

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/semaphore"
	"golang.org/x/sync/singleflight"

	"pullbook/db/gate"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// Books keeps the books of the outfits at work open in memory, as current as
// the database. A book in memory is never the truth: it is had from the
// entries, and can be had again.
type Books struct {
	db      *DB
	writers []*writer

	mu   sync.Mutex
	open map[uuid.UUID]*live
	// most bounds how many books are open at once.
	most    int
	reading singleflight.Group
	keys    sync.Map // SHA-256 of a token that is good -> Principal
	pasts   *pasts
	lanes   sync.WaitGroup
	watches watches
}

// live is one outfit's book in memory.
type live struct {
	outfit Outfit
	// mu guards book and recent. It is held for reading while a report is made.
	mu     sync.RWMutex
	book   *ledger.Book
	recent recentReplies
	used   time.Time
	seen   seen
	// reopening lets one at a time open the book anew, with nobody waiting for mu.
	reopening *semaphore.Weighted
	lane      lane
	// gate lets entries through one by one while no import is under way, which
	// takes all of it: those that come meanwhile wait here rather than in a writer,
	// which other outfits need.
	gate *semaphore.Weighted
}

// wholeGate is more entries than ever wait at once.
const wholeGate = 1 << 30

// OpenBooks keeps at most so many books open at once, one at the least.
func OpenBooks(d *DB, most int) *Books {
	b := &Books{db: d, open: map[uuid.UUID]*live{}, most: max(most, 1), pasts: newPasts()}
	for range writersPerPool {
		b.writers = append(b.writers, startWriter(b))
	}
	return b
}

// Close ends the writers once what they hold is stored. Entries that come
// afterwards are refused.
func (b *Books) Close() {
	for _, w := range b.writers {
		w.stop()
	}
	b.lanes.Wait()
}

// book gives the outfit's book, opening it if need be. It may lag behind the
// database: see catchUp.
func (b *Books) book(ctx context.Context, outfit uuid.UUID) (*live, error) {
	b.mu.Lock()
	l := b.open[outfit]
	if l != nil {
		l.used = b.db.Now()
	}
	b.mu.Unlock()
	if l != nil {
		return l, nil
	}
	// Requests that come while a large book is read wait for the same reading,
	// which does not end when the first of them gives up.
	reading := b.reading.DoChan(outfit.String(), func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), readWithin)
		defer cancel()
		return b.read(ctx, outfit)
	})
	select {
	case r := <-reading:
		if r.Err != nil {
			return nil, r.Err
		}
		return r.Val.(*live), nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// readWithin bounds how long a book may take to be read.
const readWithin = 2 * time.Minute

func (b *Books) read(ctx context.Context, outfit uuid.UUID) (_ *live, err error) {
	defer unpanicked(&err)
	defer easeCollector()()
	o, err := b.db.Outfit(ctx, outfit)
	if err != nil {
		return nil, err
	}
	head, err := b.db.Head(ctx, outfit)
	if err != nil {
		return nil, err
	}
	entries, err := b.entriesAfter(ctx, outfit, nil, head.Number)
	if err != nil {
		return nil, err
	}
	o = o.as(lastTold(entries)) // it may have changed in between
	loc, err := o.Location()
	if err != nil {
		return nil, err
	}
	book, err := ledger.Restore(loc, entries)
	if err != nil {
		return nil, err
	}
	tellUnreadable(o.ID, book)
	book.GoOn()
	return b.keep(&live{outfit: o, book: book, used: b.db.Now(), gate: semaphore.NewWeighted(wholeGate), reopening: semaphore.NewWeighted(1)}), nil
}

// entriesAfter is DB.EntriesAfter behind the book's last entry so far, with what is missing
// up to the one numbered last, which the book's head was seen to have before.
func (b *Books) entriesAfter(ctx context.Context, outfit uuid.UUID, sofar *ledger.Entry, last int64) ([]*ledger.Entry, error) {
	after := int64(0)
	if sofar != nil {
		after = sofar.Number
	}
	entries, err := b.db.EntriesAfter(ctx, outfit, after)
	if err != nil {
		return nil, err
	}
	return ledger.Whole(sofar, entries, last)
}

// keep puts a book among the open ones, unless another request was quicker,
// and closes the one that was not used for the longest.
func (b *Books) keep(l *live) *live {
	b.mu.Lock()
	defer b.mu.Unlock()
	if had := b.open[l.outfit.ID]; had != nil {
		return had
	}
	b.open[l.outfit.ID] = l
	if len(b.open) > b.most {
		var oldest *live
		for _, o := range b.open {
			if o != l && (oldest == nil || o.used.Before(oldest.used)) {
				oldest = o
			}
		}
		delete(b.open, oldest.outfit.ID)
		b.pasts.drop(oldest.outfit.ID)
	}
	return l
}

// catchUp reads what the database has beyond the book in memory, if that lacks entries up
// to number.
func (b *Books) catchUp(ctx context.Context, l *live, number int64) error {
	if !l.lacks(number) {
		return nil
	}
	if err := l.reopening.Acquire(ctx, 1); err != nil {
		return err
	}
	defer l.reopening.Release(1)
	if !l.lacks(number) {
		return nil // another request was quicker
	}
	past, err := l.soFar()
	if err != nil {
		return err
	}
	more, err := b.entriesAfter(ctx, l.outfit.ID, past.Last(), number)
	if err != nil {
		return err
	}
	if l.anyLate(more) {
		return l.reopenAside(past, more)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.takeIn(more)
}

func (l *live) lacks(number int64) bool {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.book.Len() < number
}

// anyLate reports whether entries that follow the book have too much walked again to be
// taken in one by one while the book is held.
func (l *live) anyLate(more []*ledger.Entry) bool {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return len(more) > mostOneByOne || l.moves(more...) || slices.ContainsFunc(more, func(e *ledger.Entry) bool { return l.book.Walks(e) > mostWalkedHeld })
}

// reopenAside opens a book anew with more entries, as after a large import, while others
// go on with the one that is open.
func (l *live) reopenAside(past ledger.Past, more []*ledger.Entry) error {
	book, err := past.In(zoneAfter(past.Location(), more...)).With(more...)
	if err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if book.Len() > l.book.Len() {
		l.turnTo(book)
		l.settle(more...)
		tellUnreadable(l.outfit.ID, book)
	}
	return nil
}

// catchUpTo is catchUp for callers that hold the book's lock.
func (b *Books) catchUpTo(ctx context.Context, l *live, number int64) error {
	if l.book.Len() >= number {
		return nil
	}
	entries, err := b.entriesAfter(ctx, l.outfit.ID, l.book.Last(), number)
	if err != nil {
		return err
	}
	if len(entries) > mostOneByOne {
		return l.reopen(entries)
	}
	return l.takeIn(entries)
}

// takeIn takes entries into the book that it lacks. The caller holds the book's lock.
func (l *live) takeIn(entries []*ledger.Entry) error {
	for i, e := range entries {
		if e.Number <= l.book.Len() {
			continue
		}
		if l.moves(e) {
			return l.reopen(entries[i:])
		}
		effect, err := l.book.Append(e)
		if err != nil {
			return l.reopen(entries[i:])
		}
		l.settle(e)
		l.recent.add(e.ID, season.ReplyTo(l.book, effect))
	}
	return nil
}

// mostOneByOne is how many entries are taken into a book one by one. More come
// only with imports, and then mostly of times long gone, each of which would walk
// the line again: the book is opened anew.
const mostOneByOne = 1000

// reopen opens the book anew with more entries. The caller holds the book's lock.
func (l *live) reopen(more []*ledger.Entry) error {
	all := make([]*ledger.Entry, 0, int(l.book.Len())+len(more))
	for e := range l.book.Entries {
		all = append(all, e)
	}
	book, err := ledger.Restore(zoneAfter(l.book.Location(), more...), append(all, more...))
	if err == nil {
		l.turnTo(book)
		l.settle(more...)
		tellUnreadable(l.outfit.ID, book)
	}
	return err
}

// Read lets f look at the outfit's book as the database has it now. f must not
// keep the book, nor anything of its state, beyond its return.
//
// Where f asks the book for what it was at an earlier entry (ledger.ErrGoesOn), f is
// called again, with a copy of the book that keeps nobody from recording.
func (b *Books) Read(ctx context.Context, p Principal, f func(Outfit, *ledger.Book) error) error {
	return b.look(ctx, p.Outfit, looking{who: &p, which: latest, upToDate: true}, f)
}

func latest(_ Outfit, book *ledger.Book) (int64, error) { return book.Len(), nil }

// ReadAsKnown is Read of the book as it was when its last entry was the one whose number
// which gives. Only which looks at the book as it is now, which may lack entries that
// nobody was told of yet.
func (b *Books) ReadAsKnown(ctx context.Context, p Principal, which func(Outfit, *ledger.Book) (int64, error), f func(Outfit, *ledger.Book) error) error {
	return b.look(ctx, p.Outfit, looking{who: &p, which: which}, f)
}

// Verify lets f look at an outfit's book for somebody who is nobody to the
// outfit: a holder of one of its sheets. It checks no right, so f must check
// that what it was handed could only be had from the book, and may tell no more
// than whether that still stands. f must not keep the book. There being no such
// outfit is a fault of code NotFound.
func (b *Books) Verify(ctx context.Context, outfit uuid.UUID, f func(*ledger.Book) error) error {
	anybody := looking{which: latest, beside: []gate.Share{gate.Of("sheets", mostBySheets)}}
	return b.look(ctx, outfit, anybody, func(_ Outfit, book *ledger.Book) error { return f(book) })
}

// looking is how a book is looked at.
type looking struct {
	// who asks, whose secret has to be as good as when it was looked up; nil for anybody.
	who *Principal
	// which gives the last entry of the book that is looked at.
	which func(Outfit, *ledger.Book) (int64, error)
	// upToDate has it wait for entries that are stored and that nobody was told of yet.
	upToDate bool
	// beside are shares of the places for earlier books.
	beside []gate.Share
}

func (b *Books) look(ctx context.Context, outfit uuid.UUID, as looking, f func(Outfit, *ledger.Book) error) error {
	l, err := b.asStored(ctx, outfit, as.who, as.upToDate)
	if err != nil {
		return err
	}
	o, past, err := l.look(as.which, f)
	if !errors.Is(err, ledger.ErrGoesOn) {
		return err
	}
	return b.pasts.read(ctx, outfit, past, func(book *ledger.Book) error { return f(o, book) }, as.beside...)
}

// look lets f look at the book if its last entry is the one that is asked for, and gives
// the book that f has to look at otherwise, with ledger.ErrGoesOn.
func (l *live) look(which func(Outfit, *ledger.Book) (int64, error), f func(Outfit, *ledger.Book) error) (Outfit, ledger.Past, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	n, err := which(l.outfit, l.book)
	if err != nil {
		return l.outfit, ledger.Past{}, err
	}
	o, past, err := l.past(n)
	if err != nil {
		return o, past, err
	}
	if n < l.book.Len() {
		return o, past, ledger.ErrGoesOn
	}
	return o, past, f(o, l.book)
}

// SignIn says who a token speaks for. What it remembers is checked against the
// outfit's access count by Read and Append.
func (b *Books) SignIn(ctx context.Context, secret string) (Principal, error) {
	return b.signIn(ctx, token(secret))
}

// Resume says who a page's session speaks for, remembered as by SignIn.
func (b *Books) Resume(ctx context.Context, s Session) (Principal, error) { return b.signIn(ctx, s) }

func (b *Books) signIn(ctx context.Context, by credential) (Principal, error) {
	key := by.key()
	if p, ok := b.keys.Load(key); ok {
		return p.(Principal), nil
	}
	p, err := by.principal(ctx, b.db)
	if err != nil {
		return p, err
	}
	p.by = by
	b.keys.Store(key, p)
	return p, nil
}

// renew looks a principal up again after its outfit's people or tokens changed,
// and refuses it if it may not do now what it might before.
func (b *Books) renew(ctx context.Context, p Principal) (Principal, error) {
	b.keys.Delete(p.by.key())
	now, err := b.signIn(ctx, p.by)
	if err == nil && now.Role != p.Role {
		err = fault.New(fault.NotYours, "Your role has changed to %s since: please try again.", now.Role)
	}
	return now, err
}

// recentReplies remembers what the latest entries changed, so that a phone that
// sends again is answered without walking the book.
type recentReplies struct {
	byID  map[ledger.ID]season.Reply
	order []ledger.ID
}

const keptReplies = 4096

func (r *recentReplies) add(id ledger.ID, reply season.Reply) {
	if _, has := r.byID[id]; has {
		return
	}
	if r.byID == nil {
		r.byID = make(map[ledger.ID]season.Reply)
	}
	if len(r.order) == keptReplies {
		delete(r.byID, r.order[0])
		r.order = r.order[1:]
	}
	r.byID[id] = reply
	r.order = append(r.order, id)
}
