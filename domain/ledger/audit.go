package ledger

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"fmt"
	"maps"
	"slices"
	"time"
)

// Sealed is an entry as it is stored: its head and its digest, and the bytes of
// its content that the digest covers. Its Body need not be set.
type Sealed struct {
	*Entry
	Content []byte
}

// End is what a book says of its own end, apart from its entries.
type End struct {
	// Number counts the entries, and is the last one's number.
	Number int64
	// Digest is the last entry's; zero for an empty book.
	Digest [sha256.Size]byte
}

// Break says where a book is not as it was written.
type Break struct {
	// Number is the entry that is missing or altered; 0 where the fault is in
	// no single one.
	Number int64
	// What says what differs.
	What string
}

func (b *Break) Error() string {
	if b.Number == 0 {
		return b.What
	}
	return fmt.Sprintf("entry %d %s", b.Number, b.What)
}

// Audit holds a stored book against its digests and its numbers, reads it
// again, and holds the grams and the names in use against what the entries say.
// It returns the book, or the first *Break found. An entry that cannot be read is
// no break while its digest is right: the book names it (see Unreadable). Entries are in order of their
// numbers; loc is the outfit's time zone.
//
// Whoever can rewrite every entry from some point on, and the end of the book
// with them, leaves no break: only a digest written down elsewhere shows that.
func Audit(loc *time.Location, end End, entries []Sealed, claims []Claim) (*Book, error) {
	return AuditAt(nil, loc, end, entries, claims)
}

// AuditAt is Audit, and tells pace how many of the entries it is through with. An entry counts
// a third once its digest was computed, a third once it was read, and a third once it is in
// the book.
func AuditAt(pace Pace, loc *time.Location, end End, entries []Sealed, claims []Claim) (*Book, error) {
	if b := brokenChain(end, entries, pace.third(0)); b != nil {
		return nil, b
	}
	read, reading := make([]*Entry, len(entries)), pace.third(1)
	for i, e := range entries {
		reading.every(i, len(entries))
		read[i] = e.Read()
	}
	return AuditReadAt(pace.third(2), loc, read, claims)
}

// third is the pace of one of three parts that work has.
func (p Pace) third(n int64) Pace {
	if p == nil {
		return nil
	}
	return func(done, of int64) { p((n*of+done)/3, of) }
}

// every tells of one of many things now and then.
func (p Pace) every(i, of int) {
	if p != nil && i%askedEvery == 0 {
		p(int64(i), int64(of))
	}
}

// Read reads what an entry says, and gives one that stands as unreadable where that
// cannot be read. What is stored keeps its kind.
func (s Sealed) Read() *Entry {
	err := s.SetContent(s.Content)
	if err == nil {
		return s.Entry
	}
	spoilt := *s.Entry
	spoilt.Spoil(s.Content, err.Error())
	return &spoilt
}

// AuditRead is Audit of entries whose digests and numbers were held against one
// another already, and whose bodies were read.
func AuditRead(loc *time.Location, entries []*Entry, claims []Claim) (*Book, error) {
	return AuditReadAt(nil, loc, entries, claims)
}

// AuditReadAt is AuditRead, and tells pace how many of the entries are in the book.
func AuditReadAt(pace Pace, loc *time.Location, entries []*Entry, claims []Claim) (*Book, error) {
	book, err := restore(loc, entries, opening{kept: keptUndo, aside: brokenDown, stop: pace.asStop(len(entries))})
	if err != nil {
		return nil, &Break{0, err.Error()}
	}
	if b := cmp.Or(unbalanced(book.State()), misclaimed(book, claims)); b != nil {
		return nil, b
	}
	return book, nil
}

// brokenChain walks the digests and the numbers.
func brokenChain(end End, entries []Sealed, pace Pace) *Break {
	var before [sha256.Size]byte
	for i, e := range entries {
		pace.every(i, len(entries))
		if want := int64(i) + 1; e.Number != want {
			return &Break{want, missingTo(want, e.Number-1) + fmt.Sprintf(": entry %d comes in its place", e.Number)}
		}
		digest := e.digestAfter(before)
		if digest != e.Digest {
			return &Break{e.Number, alteration(e, digest, entries[i+1:])}
		}
		before = digest
	}
	switch last := int64(len(entries)); {
	case end.Number > last:
		return &Break{last + 1, missingTo(last+1, end.Number) + fmt.Sprintf(": the book counts %d entries and has %d", end.Number, last)}
	case end.Number < last:
		return &Break{end.Number + 1, fmt.Sprintf("is not counted: the book counts %d entries and has %d", end.Number, last)}
	case end.Digest != before:
		return &Break{last, fmt.Sprintf("is not the end that the book wrote down: that has the digest %x, the entry %x", end.Digest, before)}
	}
	return nil
}

// missingTo says that entries are missing from one number to another.
func missingTo(first, last int64) string {
	if first == last {
		return "is missing"
	}
	return fmt.Sprintf("is missing, and so is every one up to entry %d", last)
}

func (e Sealed) digestAfter(before [sha256.Size]byte) [sha256.Size]byte {
	return Chain(before, e.Number, e.Canonical(e.Content))
}

// alteration tells an altered digest from altered words by the entry that
// follows, which was chained to what was there when it was recorded.
func alteration(e Sealed, digest [sha256.Size]byte, following []Sealed) string {
	if len(following) > 0 {
		next := following[0]
		if next.digestAfter(digest) == next.Digest {
			return fmt.Sprintf("has an altered digest, %x: what it says is as recorded and gives %x", e.Digest, digest)
		}
		if next.digestAfter(e.Digest) != next.Digest {
			return fmt.Sprintf("(%s of %s) is not the one recorded under this number, and neither is what follows it: its digest is %x, and what it says gives %x",
				words(string(e.Kind)), e.OccurredAt.UTC().Format(time.RFC3339), e.Digest, digest)
		}
	}
	return fmt.Sprintf("(%s of %s) was altered in its content, times, kind, id, author, reason or in what it replaces: its digest is %x, and what it says gives %x",
		words(string(e.Kind)), e.OccurredAt.UTC().Format(time.RFC3339), e.Digest, digest)
}

// unbalanced looks for a gram that is not accounted for.
func unbalanced(s *State) *Break {
	t := s.Totals()
	if !t.Balanced() {
		return &Break{0, fmt.Sprintf("the book does not balance: %d g harvested, %d g unexplained and %d g gained are not %d g held, %d g dispatched, %d g wasted and %d g lost",
			t.Harvested, t.Unexplained, t.Gained, t.Held, t.Dispatched, t.Wasted, t.Lost)}
	}
	held := int64(0)
	for h := range s.Holders {
		if h.Grams < 0 {
			return &Break{0, fmt.Sprintf("the %s %s holds %d g, less than nothing", words(string(h.Place.Kind)), h.Place.ID, h.Grams)}
		}
		held += h.Grams
	}
	if held != t.Held {
		return &Break{0, fmt.Sprintf("the tanks and containers hold %d g one by one, and %d g together", held, t.Held)}
	}
	return nil
}

// claimed is a name in use by a thing, whichever of its uses.
type claimed struct {
	noun Kind
	code string
	root ID
}

// misclaimed holds the names and codes in use against what the entries take.
func misclaimed(b *Book, rows []Claim) *Break {
	taken := map[claimed]int64{}
	for e := range b.Entries {
		for _, c := range b.Claims(e) {
			key := claimed{c.Noun, c.Code, c.Root}
			if taken[key] == 0 {
				taken[key] = e.Number
			}
		}
	}
	kept := map[claimed]bool{}
	for _, c := range rows {
		key := claimed{c.Noun, c.Code, c.Root}
		if taken[key] == 0 && b.spoiltIn(c.Root) {
			continue // what an entry that cannot be read takes is not known
		}
		if taken[key] == 0 {
			return &Break{0, fmt.Sprintf("the %s %q is kept as taken by %s, and no entry takes it", words(string(c.Noun)), c.Code, c.Root)}
		}
		kept[key] = true
	}
	for _, key := range slices.SortedFunc(maps.Keys(taken), func(x, y claimed) int {
		return cmp.Or(cmp.Compare(taken[x], taken[y]), bytes.Compare(x.root[:], y.root[:]))
	}) {
		if !kept[key] {
			return &Break{taken[key], fmt.Sprintf("takes the %s %q, and that is not kept as taken", words(string(key.noun)), key.code)}
		}
	}
	return nil
}
