package ledger

import (
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
)

// TestABookFindsEveryEntryByItsID of a book that grows, and nothing else, also where the
// table is nearly full and where a copy grows apart from the book.
func TestABookFindsEveryEntryByItsID(t *testing.T) {
	t.Parallel()
	b, err := Open(time.UTC, nil)
	if err != nil {
		t.Fatal(err)
	}
	yard := func(n int64) *Entry {
		return &Entry{Number: n, ID: uuid.NewSHA1(uuid.Nil, []byte{byte(n), byte(n >> 8)}), Kind: KindYard, Body: &Yard{Name: "Mill"}}
	}
	const entries = 3000
	for n := int64(1); n <= entries; n++ {
		if b.fact(yard(n).ID) != nil {
			t.Fatalf("entry %d is found before it is there", n)
		}
		if _, err := b.Append(yard(n)); err != nil {
			t.Fatal(err)
		}
	}
	ahead := b.Ahead()
	for n := int64(entries + 1); n <= entries+100; n++ {
		if err := ahead.Follow(yard(n)); err != nil {
			t.Fatal(err)
		}
	}
	for n := int64(1); n <= entries+100; n++ {
		had, has := b.fact(yard(n).ID), ahead.fact(yard(n).ID)
		if (had != nil) != (n <= entries) || had != nil && had.Number != n || has == nil || has.Number != n {
			t.Fatalf("entry %d is found as %v and %v", n, had, has)
		}
	}
	if full := len(slices.DeleteFunc(slices.Clone(b.byID), func(slot uint64) bool { return slot == 0 })); full != entries {
		t.Errorf("%d slots are taken by %d entries", full, entries)
	}
	if b.fact(ID{}) != nil || b.fact(uuid.New()) != nil {
		t.Error("an id that is in no entry is found")
	}
}
