package ledger

import (
	"errors"
	"fmt"
	"time"
)

// Past is a book as it was when its last entry was the one numbered Number, not opened
// yet. It may be kept, and opened while the book goes on.
type Past struct {
	loc    *time.Location
	facts  []*fact
	points int
}

// Past gives the book as it was when its last entry was the one numbered n, 0 for an
// empty one.
func (b *Book) Past(n int64) (Past, error) {
	if n < 0 || n > b.Len() {
		return Past{}, fmt.Errorf("the book has entries 1 to %d, and so never knew of an entry %d alone", b.Len(), n)
	}
	p := Past{loc: b.loc, facts: b.facts[:n:n]}
	for e := range b.RecordedOf(KindTemperatureLog, 0) {
		if e.Number > n {
			break
		}
		p.points += len(e.Body.(*TemperatureLog).Points)
	}
	return p, nil
}

// Number is that of the book's last entry then.
func (p Past) Number() int64 { return int64(len(p.facts)) }

// Last is the book's last entry then; nil where it had none.
func (p Past) Last() *Entry {
	if len(p.facts) == 0 {
		return nil
	}
	return p.facts[len(p.facts)-1].Entry
}

// Location is the outfit's time zone.
func (p Past) Location() *time.Location { return p.loc }

// In is the same book with its days in another time zone.
func (p Past) In(loc *time.Location) Past {
	p.loc = loc
	return p
}

// Bytes is about how much memory the book takes once it is opened, beside the entries
// themselves, and rather more than less.
func (p Past) Bytes() int64 {
	return bytesOfABook + int64(len(p.facts))*bytesOfAFact + int64(p.points)*bytesOfAPoint
}

// Measured by TestABookTakesNoMoreThanIsSaid.
const (
	bytesOfABook  = 64 << 10
	bytesOfAFact  = 448
	bytesOfAPoint = 96
)

// Open opens the book to be read and not to be appended to. It asks stop again and again
// whether to go on, and fails with ErrStopped once that says no.
func (p Past) Open(stop func() bool) (*Book, error) {
	return restore(p.loc, p.entries(), opening{stop: stop, aside: unfit})
}

// With opens the book with more entries behind it, to be appended to.
func (p Past) With(more ...*Entry) (*Book, error) {
	return Restore(p.loc, append(p.entries(), more...))
}

func (p Past) entries() []*Entry {
	out := make([]*Entry, len(p.facts))
	for i, f := range p.facts {
		out[i] = f.Entry
	}
	return out
}

// ErrStopped says that a book was not opened to the end because nobody wants it.
var ErrStopped = errors.New("the book is not wanted any more")

// ErrGoesOn says that a book is held by those who record in it, so that nobody may open
// an earlier one beside it, which takes long. Whoever needs both takes Past and opens that.
var ErrGoesOn = errors.New("the book goes on meanwhile: no earlier one is opened beside it")

// GoOn says that the book is the one that is recorded in: see ErrGoesOn.
func (b *Book) GoOn() { b.goesOn = true }

// AsKnown is the book as it was when its last entry was the one numbered n. It may be
// appended to, and is nobody else's. It fails with ErrGoesOn where this book goes on.
func (b *Book) AsKnown(n int64) (*Book, error) {
	if b.goesOn {
		return nil, ErrGoesOn
	}
	p, err := b.Past(n)
	if err != nil {
		return nil, err
	}
	return p.With()
}
