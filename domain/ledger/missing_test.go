package ledger_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// A book from which any entries are missing opens, names each gap once, and is the same
// read piece by piece.
func TestABookOpensWhateverIsMissing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		all := ledgertest.Random(t, 40).Entries
		last, kept := int64(len(all)), map[int64]bool{}
		var entries []*ledger.Entry
		for _, e := range all {
			if kept[e.Number] = rapid.IntRange(0, 3).Draw(t, "kept") > 0; kept[e.Number] {
				entries = append(entries, e)
			}
		}
		whole, err := ledger.Whole(nil, entries, last)
		if err != nil {
			t.Fatal(err)
		}
		b, err := ledger.Restore(time.UTC, whole)
		if err != nil {
			t.Fatalf("the book does not open: %v", err)
		}
		sound(t, b, b.State())
		gone := map[int64]bool{}
		for e := range b.Unreadable() {
			for n := e.Number; e.Missing() && n <= b.MissingUpTo(e); n++ {
				gone[n] = true
			}
		}
		for n := int64(1); n <= last; n++ {
			if kept[n] == gone[n] || b.Numbered(n).Number != n {
				t.Fatalf("entry %d is kept: %t, and named as missing: %t", n, kept[n], gone[n])
			}
		}
		if len(entries) == 0 {
			return
		}
		begun := rapid.Int64Range(entries[0].Number, last).Draw(t, "begun")
		before := len(entries) - countAfter(entries, begun)
		first, err := ledger.Whole(nil, entries[:before], begun)
		if err != nil {
			t.Fatal(err)
		}
		more, err := ledger.Whole(first[len(first)-1], entries[before:], last)
		if err != nil {
			t.Fatal(err)
		}
		grown, err := ledger.Restore(time.UTC, slices.Clone(first))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range more {
			if _, err := grown.Append(e); err != nil {
				if grown, err = ledger.Restore(time.UTC, append(slices.Collect(grown.Entries), e)); err != nil {
					t.Fatal(err)
				}
			}
		}
		if d := differ(pictureOf(grown, grown.State()), pictureOf(b, b.State())); d != "" {
			t.Fatalf("read piece by piece and at once: %s", d)
		}
	})
}

func countAfter(entries []*ledger.Entry, number int64) (n int) {
	for _, e := range entries {
		if e.Number > number {
			n++
		}
	}
	return n
}

// A book whose head counts more than it can ever have is not filled up until there is no
// memory left.
func TestNoBookIsFilledUpWithoutEnd(t *testing.T) {
	t.Parallel()
	if _, err := ledger.Whole(nil, ledgertest.NewOutfit().Entries, 1<<40); err == nil {
		t.Error("a million million entries are missing, and stand in memory")
	}
}
