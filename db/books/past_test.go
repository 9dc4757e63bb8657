package books_test

import (
	"pullbook/db/books/bookstest"
	"sync"
	"testing"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// TestWhoLooksAtEarlierBooksKeepsNobodyFromRecording has readers who look until an entry
// is recorded, and again until it is answered a second time.
func TestWhoLooksAtEarlierBooksKeepsNobodyFromRecording(t *testing.T) {
	t.Parallel()
	h := open(t)
	_, p := h.NewOutfit(t, "Fern Gully Honey")
	books := h.AnotherProcess(t)
	for _, name := range []string{"Alder Bend", "Two Rivers", "North Road"} {
		h.Record(t, books, p, &ledger.Yard{Name: name})
	}
	looking, recorded := make(chan struct{}), make(chan struct{})
	var readers sync.WaitGroup
	look := func(as func(db.Outfit, *ledger.Book) (int64, error), f func(*ledger.Book) error) {
		readers.Go(func() {
			err := books.ReadAsKnown(t.Context(), p, as, func(_ db.Outfit, b *ledger.Book) error {
				if err := f(b); err != nil {
					return err
				}
				looking <- struct{}{}
				<-recorded
				return nil
			})
			if err != nil {
				t.Error(err)
			}
		})
		<-looking
	}
	for n := range int64(bookstest.Founded) {
		look(func(db.Outfit, *ledger.Book) (int64, error) { return n, nil }, func(b *ledger.Book) error {
			if b.Len() != n {
				t.Errorf("as known at %d the book has %d entries", n, b.Len())
			}
			return nil
		})
	}
	look(func(_ db.Outfit, b *ledger.Book) (int64, error) { return b.Len(), nil }, func(b *ledger.Book) error {
		then, err := b.AsKnown(1)
		if err == nil && (then.Len() != 1 || b.Len() != bookstest.Founded+3) {
			t.Errorf("beside %d entries stand %d", b.Len(), then.Len())
		}
		return err
	})
	got := h.Record(t, books, p, &ledger.Yard{Name: "Fern Gully"})
	if got.Entry.Number != bookstest.Founded+4 {
		t.Errorf("the entry has the number %d", got.Entry.Number)
	}
	close(recorded)
	readers.Wait()
}
