package db

import (
	"context"
	"sync"

	"github.com/google/uuid"
)

// asStored gives the outfit's book brought up to what the database has, for who asks;
// or, unless that is to be upToDate, up to what anybody was told of. While the database
// is away, a reader is given the book as it was.
func (b *Books) asStored(ctx context.Context, outfit uuid.UUID, who *Principal, upToDate bool) (*live, error) {
	l, err := b.book(ctx, outfit)
	if err != nil {
		return nil, err
	}
	sight := noted{at: b.db.Now(), changed: b.db.away.changes(outfit)}
	head, err := b.headFor(ctx, l)
	if err == nil {
		l.seen.outdated(head.Access)
		if who != nil && head.Access != who.Access {
			if _, err := b.renew(ctx, *who); err != nil {
				return nil, err
			}
		}
		err = b.bringUp(ctx, l, head.Number, upToDate)
	}
	switch {
	case err == nil:
		sight.value = head.Access
		l.seen.see(sight)
	case !isAway(err) || !b.asSeen(ctx, l, who):
		return nil, err
	}
	return l, nil
}

// bringUp brings the book up to the entry of a number, unless that is one that nobody was
// told of yet and the book need not be upToDate.
func (b *Books) bringUp(ctx context.Context, l *live, number int64, upToDate bool) error {
	l.mu.RLock()
	next := l.book.Len() + 1
	l.mu.RUnlock()
	if next > number || !upToDate && l.lane.hasAll(next, number) {
		return nil
	}
	return b.catchUp(ctx, l, number)
}

// seen is when the book was last brought up to the database, and the outfit's access
// count by then.
type seen struct {
	mu   sync.Mutex
	last noted
}

func (s *seen) get() noted {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.last
}

// see takes a look at the database down; a later access count stands.
func (s *seen) see(now noted) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if had, ok := s.last.value.(int64); !ok || had <= now.value.(int64) {
		s.last = now
	}
}

// outdated forgets the last look where the access count has moved on since.
func (s *seen) outdated(access int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if had, ok := s.last.value.(int64); ok && had < access {
		s.last = noted{}
	}
}

// headFor looks at the head of the book, for a reader who can do without not for long.
func (b *Books) headFor(ctx context.Context, l *live) (head Head, err error) {
	last := l.seen.get()
	if mayBeAsKnown(ctx) == nil || last.value == nil || !b.db.away.good(last, l.outfit.ID, b.db.Now()) {
		return b.db.Head(ctx, l.outfit.ID)
	}
	err = b.db.away.ask(ctx, func(ctx context.Context) (err error) {
		head, err = b.db.Head(ctx, l.outfit.ID)
		return err
	})
	return head, err
}

// asSeen reports whether a reader may be given the book as it was when the database last
// answered, and says to the reader when that was.
func (b *Books) asSeen(ctx context.Context, l *live, who *Principal) bool {
	reader, last, now := mayBeAsKnown(ctx), l.seen.get(), b.db.Now()
	access, looked := last.value.(int64)
	if reader == nil || !looked || !b.db.away.good(last, l.outfit.ID, now) || who != nil && who.Access != access {
		return false
	}
	l.mu.RLock()
	defer l.mu.RUnlock()
	at := last.at
	if n := l.book.Len(); n > 0 {
		if e := l.book.Numbered(n); e.RecordedAt.After(at) && e.RecordedAt.Before(now) {
			at = e.RecordedAt // by this process, since
		}
	}
	reader.note(at, l.book.Location())
	return true
}
