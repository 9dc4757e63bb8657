package db

import (
	"context"
	"errors"

	"pullbook/domain/ledger"
)

// Steps looks at a book again and again without holding it in between, so that
// a long answer to a slow reader keeps nobody from recording. The book may go
// on meanwhile; Number says up to which entry the answer goes.
type Steps struct {
	books  *Books
	live   *live
	Outfit Outfit
	// Number is the book's last entry when the steps began.
	Number int64
}

// Steps begins to look at the outfit's book as the database has it now.
func (b *Books) Steps(ctx context.Context, p Principal) (*Steps, error) {
	l, err := b.asStored(ctx, p.Outfit, &p, true)
	if err != nil {
		return nil, err
	}
	l.mu.RLock()
	defer l.mu.RUnlock()
	return &Steps{books: b, live: l, Outfit: l.outfit, Number: l.book.Len()}, nil
}

// Look lets f look at the book for one step. f must not keep the book, nor
// anything of its state, beyond its return; entries never change and may be
// kept.
func (s *Steps) Look(f func(*ledger.Book) error) error {
	s.live.mu.RLock()
	defer s.live.mu.RUnlock()
	return f(s.live.book)
}

// LookBack is Look for a step that asks the book for what it was at an earlier entry: it
// looks again at a copy then, as by Read.
func (s *Steps) LookBack(ctx context.Context, f func(*ledger.Book) error) error {
	look := func(_ Outfit, book *ledger.Book) error { return f(book) }
	_, past, err := s.live.look(latest, look)
	if !errors.Is(err, ledger.ErrGoesOn) {
		return err
	}
	return s.books.pasts.read(ctx, s.Outfit.ID, past, f)
}
