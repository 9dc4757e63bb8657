package books

import (
	"context"
	"errors"
	"fmt"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// prepared is what an import comes to, worked out before the book is held.
type prepared struct {
	// seen is the last entry of the book against which the rows were checked.
	seen    int64
	entries []*ledger.Entry
	about   *ledger.Import // nil where nothing is to be stored
}

// mostPrepared bounds the entries that wait until the book is held: a season of a large
// outfit several times over, and some tens of megabytes.
const mostPrepared = 50_000

var errTooManyToPrepare = errors.New("more entries than are prepared")

// prepare works out, with nobody waiting, what an import comes to; nil where that is more
// than mostPrepared entries.
func (b *Books) prepare(ctx context.Context, p db.Principal, take ImportFunc) (r *prepared, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic while an import was prepared: %v", p)
		}
	}()
	_, book, err := b.Copy(ctx, p)
	if err != nil {
		return nil, err
	}
	r = &prepared{seen: book.Len()}
	r.about, err = take(book, func(e *ledger.Entry) error {
		if len(r.entries) == mostPrepared {
			return errTooManyToPrepare
		}
		r.entries = append(r.entries, e)
		return ctx.Err()
	})
	if errors.Is(err, errTooManyToPrepare) {
		return nil, nil
	}
	return r, err
}

// canFollow reports whether what was prepared can follow the book as it is now: since then
// the book got only entries against which no row is checked. (The database sees to it that
// no name and no id comes twice.)
func (r *prepared) canFollow(book *ledger.Book) bool {
	if r == nil {
		return false
	}
	for n := r.seen + 1; n <= book.Len(); n++ {
		if e := book.Numbered(n); e.Replaces != (ledger.ID{}) || !besideSheets[e.Kind] {
			return false
		}
	}
	return true
}

// besideSheets are kinds of entry that crew record while others import.
var besideSheets = map[ledger.Kind]bool{
	ledger.KindHiveCount: true, ledger.KindPull: true, ledger.KindRunSupers: true, ledger.KindLoad: true,
	ledger.KindRunEnd: true, ledger.KindReading: true, ledger.KindStocktake: true, ledger.KindWash: true,
}

// emit is the ImportFunc of what was prepared.
func (r *prepared) emit(_ *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error) {
	for _, e := range r.entries {
		if err := emit(e); err != nil {
			return nil, err
		}
	}
	return r.about, nil
}
