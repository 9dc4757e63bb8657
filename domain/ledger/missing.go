package ledger

import (
	"fmt"

	"github.com/google/uuid"
)

// mostMissing bounds how many entries of a book may be missing: each takes memory.
const mostMissing = 1 << 20

// Whole returns the entries after the one before, nil for the beginning of a book, in
// order of their numbers, with an entry that cannot be read in the place of each that is
// missing, up to the one numbered last at least. It fails where more than a million are
// missing.
func Whole(before *Entry, entries []*Entry, last int64) ([]*Entry, error) {
	if before == nil {
		before = new(Entry)
		if len(entries) > 0 {
			before.RecordedAt = entries[0].RecordedAt
		}
	}
	if n := len(entries); n > 0 {
		last = max(last, entries[n-1].Number)
	}
	switch missing := last - before.Number - int64(len(entries)); {
	case missing <= 0:
		return entries, nil
	case missing > mostMissing:
		return nil, fmt.Errorf("%d of the entries %d to %d are missing", missing, before.Number+1, last)
	}
	out := make([]*Entry, 0, last-before.Number)
	for _, e := range entries {
		out = missingUpTo(e.Number-1, before, out)
		out, before = append(out, e), e
	}
	return missingUpTo(last, before, out), nil
}

// missingUpTo adds what stands for the entries that are missing after the one before, to
// the one numbered last. All that is known of their times is that of the one before.
func missingUpTo(last int64, before *Entry, out []*Entry) []*Entry {
	at := before.RecordedAt
	for n := before.Number + 1; n <= last; n++ {
		out = append(out, &Entry{
			Number: n, ID: uuid.NewSHA1(uuid.Nil, fmt.Appendf(nil, "missing entry %d", n)), Kind: KindUnreadable, OccurredAt: at, RecordedAt: at,
			Body: &Unreadable{Was: KindUnreadable, Missing: true, Why: "it is missing in the database"},
		})
	}
	return out
}

// Missing reports whether an entry only stands for one that is missing.
func (e *Entry) Missing() bool {
	u, is := e.Body.(*Unreadable)
	return is && u.Missing
}

// Final reports whether nothing replaces the entry that id names: the operator made it, or
// it is missing.
func (b *Book) Final(id ID) bool {
	f := b.fact(id)
	return f != nil && (f.Missing() || f.root.operators())
}

// MissingUpTo is the number of the last entry of a gap in the book that begins with e.
func (b *Book) MissingUpTo(e *Entry) int64 {
	n := e.Number
	for n < b.Len() && b.Numbered(n+1).Missing() {
		n++
	}
	return n
}

// missingBefore reports whether the entry before e is missing.
func (b *Book) missingBefore(e *Entry) bool { return e.Number > 1 && b.Numbered(e.Number-1).Missing() }
