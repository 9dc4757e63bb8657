package db

import (
	"context"
	"errors"
	"fmt"

	"pullbook/domain/ledger"
)

// ready is a sheet that was taken over before the book is held.
type ready struct {
	// seen is the last entry of the book that the sheet was held against.
	seen    int64
	entries []*ledger.Entry
	about   *ledger.Import // nil where nothing is to be stored
}

// mostReady bounds the entries that are kept until the book is held: a season of a large
// outfit several times over, and some tens of megabytes.
const mostReady = 50_000

var errMoreThanReady = errors.New("more entries than are kept ready")

// makeReady takes a sheet over with nobody waiting; nil where it comes to more entries
// than are kept ready.
func (b *Books) makeReady(ctx context.Context, p Principal, take TakeOver) (r *ready, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic while a sheet was taken over: %v", p)
		}
	}()
	_, book, err := b.Private(ctx, p)
	if err != nil {
		return nil, err
	}
	r = &ready{seen: book.Len()}
	r.about, err = take(book, func(e *ledger.Entry) error {
		if len(r.entries) == mostReady {
			return errMoreThanReady
		}
		r.entries = append(r.entries, e)
		return ctx.Err()
	})
	if errors.Is(err, errMoreThanReady) {
		return nil, nil
	}
	return r, err
}

// good reports whether what was made ready can follow the book as it is now: since then
// it has only got entries that no row of a sheet is held against. (Of names and ids the
// database sees to it that none comes twice.)
func (r *ready) good(book *ledger.Book) bool {
	if r == nil {
		return false
	}
	for n := r.seen + 1; n <= book.Len(); n++ {
		if e := book.Numbered(n); e.Replaces != (ledger.ID{}) || !asideOfSheets[e.Kind] {
			return false
		}
	}
	return true
}

// asideOfSheets are kinds of entry that crew record while others bring sheets in.
var asideOfSheets = map[ledger.Kind]bool{
	ledger.KindHiveCount: true, ledger.KindPull: true, ledger.KindRunSupers: true, ledger.KindLoad: true,
	ledger.KindRunEnd: true, ledger.KindReading: true, ledger.KindStocktake: true, ledger.KindWash: true,
}

// again is the TakeOver of what was made ready.
func (r *ready) again(_ *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error) {
	for _, e := range r.entries {
		if err := emit(e); err != nil {
			return nil, err
		}
	}
	return r.about, nil
}
