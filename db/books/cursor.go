package books

import (
	"context"
	"errors"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// Cursor looks at a book step by step without holding it in between, so that a long answer
// to a slow reader keeps nobody from recording. The book may go on meanwhile: the answer
// goes up to the entry of Number.
type Cursor struct {
	books  *Books
	live   *live
	Outfit db.Outfit
	// Number is the number of the book's last entry when the cursor was opened.
	Number int64
}

// Cursor opens a cursor on the outfit's book as the database has it now.
func (b *Books) Cursor(ctx context.Context, p db.Principal) (*Cursor, error) {
	l, err := b.current(ctx, p.Outfit, &p, true)
	if err != nil {
		return nil, err
	}
	l.mu.RLock()
	defer l.mu.RUnlock()
	return &Cursor{books: b, live: l, Outfit: l.outfit, Number: l.book.Len()}, nil
}

// Step lets f look at the book for one step. Nobody can record meanwhile. f must not keep
// the book, nor anything of its state, beyond its return. Entries never change and may be
// kept.
func (c *Cursor) Step(f func(*ledger.Book) error) error {
	c.live.mu.RLock()
	defer c.live.mu.RUnlock()
	return f(c.live.book)
}

// StepBack is Step for a step that may ask the book for what it was at an earlier entry. It
// calls f again with a copy then, as Read does.
func (c *Cursor) StepBack(ctx context.Context, f func(*ledger.Book) error) error {
	look := func(_ db.Outfit, book *ledger.Book) error { return f(book) }
	_, past, err := c.live.look(latest, look)
	if !errors.Is(err, ledger.ErrGoesOn) {
		return err
	}
	return c.books.past.read(ctx, c.Outfit.ID, past, f)
}
