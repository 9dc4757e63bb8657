package books

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/gate"
	"pullbook/domain/ledger"
)

// Read lets f look at the outfit's book as the database has it now. While f runs, nobody
// can record, so f takes what it needs and puts nothing into words. f must not keep the
// book, nor anything of its state, beyond its return. Entries never change and may be kept.
//
// Where f asks the book for what it was at an earlier entry (ledger.ErrGoesOn), Read calls
// f again with a copy of the book, which keeps nobody from recording.
func (b *Books) Read(ctx context.Context, p db.Principal, f func(db.Outfit, *ledger.Book) error) error {
	return b.look(ctx, p.Outfit, looking{who: &p, which: latest, upToDate: true}, f)
}

func latest(_ db.Outfit, book *ledger.Book) (int64, error) { return book.Len(), nil }

// ReadAsKnown is Read of the book as it was at an earlier entry, whose number which
// returns. which looks at the book as it is now, except for entries that nobody was told
// of yet.
func (b *Books) ReadAsKnown(ctx context.Context, p db.Principal, which func(db.Outfit, *ledger.Book) (int64, error), f func(db.Outfit, *ledger.Book) error) error {
	return b.look(ctx, p.Outfit, looking{who: &p, which: which}, f)
}

// Verify is Read for a stranger who holds a certificate of one of the outfit's lots. It
// checks no right. So f must check that the stranger's text can only come from the book,
// and may tell no more than whether that still stands. Verify fails with fault.NotFound
// where there is no such outfit.
func (b *Books) Verify(ctx context.Context, outfit uuid.UUID, f func(*ledger.Book) error) error {
	anybody := looking{which: latest, beside: []gate.Share{gate.Of("strangers", mostByStrangers)}}
	return b.look(ctx, outfit, anybody, func(_ db.Outfit, book *ledger.Book) error { return f(book) })
}

// looking is how a book is looked at.
type looking struct {
	// who asks, and must not have been signed out meanwhile; nil for a stranger.
	who *db.Principal
	// which returns the number of the last entry of the book that is looked at.
	which func(db.Outfit, *ledger.Book) (int64, error)
	// upToDate waits for entries that are stored and that nobody was told of yet.
	upToDate bool
	// beside are further shares of the places for past books.
	beside []gate.Share
}

func (b *Books) look(ctx context.Context, outfit uuid.UUID, as looking, f func(db.Outfit, *ledger.Book) error) error {
	l, err := b.current(ctx, outfit, as.who, as.upToDate)
	if err != nil {
		return err
	}
	o, past, err := l.look(as.which, f)
	if !errors.Is(err, ledger.ErrGoesOn) {
		return err
	}
	return b.past.read(ctx, outfit, past, func(book *ledger.Book) error { return f(o, book) }, as.beside...)
}

// look lets f look at the book if its last entry is the one that which returns. Otherwise
// it returns ledger.ErrGoesOn and the past book at which f has to look.
func (l *live) look(which func(db.Outfit, *ledger.Book) (int64, error), f func(db.Outfit, *ledger.Book) error) (db.Outfit, ledger.Past, error) {
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

// Copy returns a copy of the outfit's book, as the database has it now. The caller may
// append to it.
func (b *Books) Copy(ctx context.Context, p db.Principal) (o db.Outfit, book *ledger.Book, err error) {
	var entries []*ledger.Entry
	var loc *time.Location
	err = b.Read(ctx, p, func(outfit db.Outfit, book *ledger.Book) error {
		o, loc = outfit, book.Location()
		entries = make([]*ledger.Entry, 0, book.Len())
		for e := range book.Entries {
			entries = append(entries, e)
		}
		return nil
	})
	if err != nil {
		return o, nil, err
	}
	book, err = ledger.Restore(loc, entries)
	return o, book, err
}
