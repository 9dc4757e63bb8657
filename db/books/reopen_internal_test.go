package books

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// TestABookIsOpenedAnewWithEachEntryOnce where it has the first of those that follow already:
// some were taken in before one of them could not be.
func TestABookIsOpenedAnewWithEachEntryOnce(t *testing.T) {
	t.Parallel()
	var entries []*ledger.Entry
	for n := range int64(5) {
		entries = append(entries, &ledger.Entry{Number: n + 1, ID: uuid.New(), Kind: ledger.KindYard, Body: &ledger.Yard{Name: "Mill"}})
	}
	book, err := ledger.Open(time.UTC, entries[:3])
	if err != nil {
		t.Fatal(err)
	}
	l := &live{book: book}
	if err := l.reopen(entries[1:]); err != nil || l.book.Len() != 5 || l.book.Last() != entries[4] {
		t.Errorf("it has %d entries (%v)", l.book.Len(), err)
	}
}
