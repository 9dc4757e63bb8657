package books

import (
	"context"
	"pullbook/db"
	"pullbook/db/away"
	"sync"
)

// lastSeen is when the book was last brought up to the database. The answer's value is the
// outfit's access count by then.
type lastSeen struct {
	mu   sync.Mutex
	last away.Answer
}

func (s *lastSeen) get() away.Answer {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.last
}

// see remembers a look at the database, unless one with a later access count is known.
func (s *lastSeen) see(now away.Answer) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if had, ok := s.last.Value.(int64); !ok || had <= now.Value.(int64) {
		s.last = now
	}
}

// outdated forgets the last look if the access count has moved on since.
func (s *lastSeen) outdated(access int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if had, ok := s.last.Value.(int64); ok && had < access {
		s.last = away.Answer{}
	}
}

// headFor looks at the head of the book. A reader who can be given the book as it was
// last seen does not wait for long.
func (b *Books) headFor(ctx context.Context, l *live) (head db.Head, err error) {
	last := l.seen.get()
	if away.ReaderOf(ctx) == nil || last.Value == nil || !b.db.Away.Good(last, l.outfit.ID, b.db.Now()) {
		return b.db.Head(ctx, l.outfit.ID)
	}
	err = b.db.Away.Ask(ctx, func(ctx context.Context) (err error) {
		head, err = b.db.Head(ctx, l.outfit.ID)
		return err
	})
	return head, err
}

// asLastSeen reports whether a reader may be given the book as it was when the database
// last answered, and tells the reader when that was.
func (b *Books) asLastSeen(ctx context.Context, l *live, who *db.Principal) bool {
	reader, last, now := away.ReaderOf(ctx), l.seen.get(), b.db.Now()
	access, looked := last.Value.(int64)
	if reader == nil || !looked || !b.db.Away.Good(last, l.outfit.ID, now) || who != nil && who.Access != access {
		return false
	}
	l.mu.RLock()
	defer l.mu.RUnlock()
	at := last.At
	if n := l.book.Len(); n > 0 {
		if e := l.book.Numbered(n); e.RecordedAt.After(at) && e.RecordedAt.Before(now) {
			at = e.RecordedAt // by this process, since
		}
	}
	reader.Tell(at, l.book.Location())
	return true
}
