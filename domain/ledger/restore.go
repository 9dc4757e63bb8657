package ledger

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// setAside says which entries an opening sets aside as unreadable.
type setAside int

const (
	// nothing has it fail at the first entry that is amiss.
	nothing setAside = iota
	// brokenDown is what the program breaks down at.
	brokenDown
	// unfit is that, and what does not fit the book.
	unfit
)

// breakdown is a program that broke down at an entry.
type breakdown struct{ what any }

func (b *breakdown) Error() string { return fmt.Sprintf("the replay broke down at it: %v", b.what) }

// Restore opens a book as Open does, whatever is wrong with single entries: one that
// does not fit the book, or at which the replay breaks down, is set aside as
// unreadable. It fails where a number is missing or an id comes twice.
//
// However many are set aside, it takes as long as opening the book a few times: once
// more for all at which the replay breaks down, and once more again where that brings
// an earlier one to the fore that does so too.
func Restore(loc *time.Location, entries []*Entry) (*Book, error) {
	return restore(loc, entries, opening{kept: keptUndo, aside: unfit})
}

// Pace is told now and then how much of some work is done.
type Pace func(done, of int64)

// RestoreAt is Restore, and tells pace how many of the entries are in the book. An entry
// counts half once it has its number and its id there, and half once it was replayed.
func RestoreAt(pace Pace, loc *time.Location, entries []*Entry) (*Book, error) {
	return restore(loc, entries, opening{kept: keptUndo, aside: unfit, stop: pace.asStop(len(entries))})
}

// asStop tells how far an opening is whenever it asks whether to go on, and says that it has
// to: it asks every askedEvery entries, first of those that it registers, then of those that
// it walks.
func (p Pace) asStop(entries int) (stop func() bool) {
	if p == nil {
		return nil
	}
	asked := int64(0)
	return func() bool {
		p(min(asked*askedEvery/2, int64(entries)), int64(entries))
		asked++
		return false
	}
}

// restore is Restore in another way.
func restore(loc *time.Location, entries []*Entry, how opening) (*Book, error) {
	for {
		b, err := tryOpen(loc, entries, how)
		if !errors.As(err, new(*breakdown)) {
			return b, err
		}
		bad, notEven := breaking(loc, entries, how)
		if notEven != nil {
			return nil, notEven
		}
		if len(bad) == 0 {
			return nil, err
		}
		entries = slices.Clone(entries)
		for f, why := range bad {
			spoilt, notEven := f.spoilt(why.Error())
			if notEven != nil {
				return nil, notEven
			}
			entries[f.Number-1] = spoilt
		}
	}
}

// tryOpen is Open, and fails with a breakdown where it panics.
func tryOpen(loc *time.Location, entries []*Entry, how opening) (b *Book, err error) {
	defer func() {
		if p := recover(); p != nil {
			b, err = nil, &breakdown{p}
		}
	}()
	b = newBook(loc, entries)
	if err := b.fill(entries, how); err != nil {
		return nil, err
	}
	return b, nil
}

// registerOr registers an entry, or one that stands in its place and cannot be read.
func (b *Book) registerOr(f *fact, e *Entry, aside setAside) error {
	err := b.register(f, e)
	if err == nil || aside == nothing || aside == brokenDown && !errors.As(err, new(*breakdown)) {
		return err
	}
	spoilt, notEven := e.spoilt(err.Error())
	if notEven != nil {
		return err
	}
	return b.register(f, spoilt)
}

// sieve collects the facts that the program breaks down at.
type sieve map[*fact]*breakdown

// breaking opens a book for nothing but to find all entries that it breaks down at. What
// one of them did before is undone, and the rest goes on without it.
func breaking(loc *time.Location, entries []*Entry, how opening) (sieve, error) {
	b := newBook(loc, entries)
	if err := b.registerAll(entries, how); err != nil {
		return nil, err
	}
	bad := sieve{}
	b.arrangeBy(func(f *fact) { bad.passes(func() { b.stand(f) }, f) })
	if len(bad) > 0 {
		return bad, nil // what they left half entered would mislead what follows
	}
	b.shareOr(bad)
	if len(bad) > 0 {
		return bad, nil
	}
	b.state = newState(b)
	return bad, b.state.sift(bad, how)
}

// passes has something done with facts, and reports whether the program gets through.
func (bad sieve) passes(do func(), facts ...*fact) (good bool) {
	defer func() {
		if p := recover(); p != nil {
			for _, f := range facts {
				bad[f] = &breakdown{p}
			}
		}
	}()
	do()
	return true
}

// shareOr is share, and holds what went into a run, or was logged at a place, to be what
// it broke down at there.
func (b *Book) shareOr(bad sieve) {
	stale, cold := b.stale, b.cold
	for _, r := range stale {
		b.stale = []*runFacts{r}
		bad.passes(b.shareStale, r.supers...)
	}
	for _, place := range cold {
		b.cold = []ID{place}
		bad.passes(b.setMeters, b.logs[place]...)
	}
}

// sift is walk to the end of the line, and goes on after a breakdown as if the fact were
// not there.
func (s *State) sift(bad sieve, how opening) error {
	s.makeHolders()
	for ; s.done < len(s.book.line); s.done++ {
		if how.stopped(s.done) {
			return ErrStopped
		}
		f := s.book.line[s.done]
		st := new(step)
		if !bad.passes(func() { s.do(f, st) }, f) {
			s.takeBack(st)
			s.now = nil
		}
	}
	return nil
}
