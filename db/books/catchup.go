package books

import (
	"context"
	"slices"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/away"
	"pullbook/domain/ledger"
)

// entriesAfter reads the entries that follow the book's last entry so far. The book's head
// counted last entries: an unreadable entry stands for each one up to it that is missing.
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

// catchUp reads what the database has beyond the book in memory, if the book lacks an
// entry up to number.
func (b *Books) catchUp(ctx context.Context, l *live, number int64) error {
	if !l.lacks(number) {
		return nil
	}
	if err := l.copying.Acquire(ctx, 1); err != nil {
		return err
	}
	defer l.copying.Release(1)
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
	if l.needCopy(more) {
		return l.reopenOnCopy(past, more)
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

// needCopy reports whether entries that follow the book have too much walked again to be
// taken in one by one while the book is held.
func (l *live) needCopy(more []*ledger.Entry) bool {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return len(more) > mostOneByOne || l.changesZone(more...) || slices.ContainsFunc(more, func(e *ledger.Entry) bool { return l.book.Walks(e) > mostWalkedHeld })
}

// reopenOnCopy opens the book anew with more entries, as after a large import, while
// others go on with the one that is open.
func (l *live) reopenOnCopy(past ledger.Past, more []*ledger.Entry) error {
	book, err := past.In(zoneAfter(past.Location(), more...)).With(more...)
	if err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if book.Len() > l.book.Len() {
		l.turnTo(book)
		l.takeSettings(more...)
		logUnreadable(l.outfit.ID, book)
	}
	return nil
}

// catchUpHeld is catchUp for callers that hold the book's lock.
func (b *Books) catchUpHeld(ctx context.Context, l *live, number int64) error {
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

// takeIn appends those entries that the book lacks. The caller holds the book's lock.
func (l *live) takeIn(entries []*ledger.Entry) error {
	entries = slices.DeleteFunc(slices.Clone(entries), func(e *ledger.Entry) bool { return e.Number <= l.book.Len() })
	for group := range partedBy(entries, atOneMoment) {
		left := entries[slices.Index(entries, group[0]):]
		if l.changesZone(group...) {
			return l.reopen(left)
		}
		replies, err := taken(l.book, group...)
		if err != nil {
			return l.reopen(left)
		}
		l.takeSettings(group...)
		for i, e := range group {
			l.replies.add(e.ID, replies[i])
		}
	}
	return nil
}

// mostOneByOne is how many entries are taken into a book one by one. More come only with
// imports, mostly of times long gone, and each would walk the line again. So the book is
// opened anew.
const mostOneByOne = 1000

// reopen opens the book anew with more entries, of which it may have the first already: where
// some could not be taken in together. The caller holds the book's lock.
func (l *live) reopen(more []*ledger.Entry) error {
	more = slices.DeleteFunc(slices.Clone(more), func(e *ledger.Entry) bool { return e.Number <= l.book.Len() })
	all := make([]*ledger.Entry, 0, int(l.book.Len())+len(more))
	for e := range l.book.Entries {
		all = append(all, e)
	}
	book, err := ledger.Restore(zoneAfter(l.book.Location(), more...), append(all, more...))
	if err == nil {
		l.turnTo(book)
		l.takeSettings(more...)
		logUnreadable(l.outfit.ID, book)
	}
	return err
}

// current returns the outfit's book for who asks: upToDate with the database, or else
// with what anybody was told of. While the database is away, a reader gets the book as
// it was.
func (b *Books) current(ctx context.Context, outfit uuid.UUID, who *db.Principal, upToDate bool) (*live, error) {
	l, err := b.live(ctx, outfit)
	if err != nil {
		return nil, err
	}
	sight := b.db.Away.Asking(outfit, b.db.Now())
	head, err := b.headFor(ctx, l)
	if err == nil {
		l.seen.outdated(head.Access)
		if who != nil && head.Access != who.Access {
			if _, err := b.renew(ctx, *who); err != nil {
				return nil, err
			}
		}
		err = b.catchUpAsTold(ctx, l, head.Number, upToDate)
	}
	switch {
	case err == nil:
		sight.Value = head.Access
		l.seen.see(sight)
	case !away.Is(err) || !b.asLastSeen(ctx, l, who):
		return nil, err
	}
	return l, nil
}

// catchUpAsTold is catchUp, except that a book that need not be upToDate does not wait for
// entries that nobody was told of yet.
func (b *Books) catchUpAsTold(ctx context.Context, l *live, number int64, upToDate bool) error {
	l.mu.RLock()
	next := l.book.Len() + 1
	l.mu.RUnlock()
	if next > number || !upToDate && l.late.hasAll(next, number) {
		return nil
	}
	return b.catchUp(ctx, l, number)
}

// refresh brings the book up to the database, and returns the principal as it is now. It
// refuses one that was signed out.
func (b *Books) refresh(ctx context.Context, l *live, p db.Principal) (db.Principal, error) {
	head, err := b.db.Head(ctx, p.Outfit)
	if err != nil {
		return p, err
	}
	if head.Access != p.Access {
		if p, err = b.renew(ctx, p); err != nil {
			return p, err
		}
	}
	return p, b.catchUp(ctx, l, head.Number)
}
