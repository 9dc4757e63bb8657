package trace

import (
	"fmt"

	"pullbook/domain/ledger"
)

// Span is entries from the first to the last.
type Span struct{ First, Last int64 }

// ChangedFigure is a figure that changed between two entries, with the entries
// through which it did: one each, or a few together where there are many.
type ChangedFigure struct {
	Change
	Through []Span
}

// mostSteps bounds how often the figures of a whole book are had.
const mostSteps = 128

// Changes tells which figures of the book changed from one entry to a later one,
// and through which entries: yards' honey, tanks, lots, what they are made
// of, what was read of them and what is expected of them at the last thing known by the later entry,
// totals and flags. Where more than 128 entries lie between, entries are
// taken a few at a time. A figure that changed and changed back is not listed.
func Changes(b *ledger.Book, from, to int64) ([]ChangedFigure, error) {
	if from < 0 || from > to || to > b.Len() {
		return nil, fmt.Errorf("the book has entries 1 to %d; %d to %d is no stretch of them", b.Len(), from, to)
	}
	book, err := b.AsKnown(from)
	if err != nil {
		return nil, err
	}
	// One instant for all: that time went on is no entry's doing.
	upTo, err := b.AsKnown(to)
	if err != nil {
		return nil, err
	}
	at := upTo.Latest()
	end := lastBy(b, to)
	first := ofBook(book, at)
	through := map[Figure][]Span{}
	last := first
	size := max(1, (to-from+mostSteps-1)/mostSteps)
	for book.Len() < to {
		span := Span{book.Len() + 1, min(to, book.Len()+size)}
		if err := book.Learn(end, between(b, span)...); err != nil {
			return nil, err
		}
		next := ofBook(book, at)
		for _, c := range differences(b, last, next) {
			through[c.Figure] = append(through[c.Figure], span)
		}
		last = next
	}
	var out []ChangedFigure
	for _, c := range differences(b, first, last) {
		out = append(out, ChangedFigure{c, through[c.Figure]})
	}
	return out, nil
}

// between lists the entries of a span.
func between(b *ledger.Book, s Span) []*ledger.Entry {
	var out []*ledger.Entry
	for n := s.First; n <= s.Last; n++ {
		out = append(out, b.Numbered(n))
	}
	return out
}
