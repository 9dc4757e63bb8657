package ledger

import (
	"slices"
	"time"
)

// OpenKeeping is Open with another bound on how far back entries are undone one
// by one, so that a small book passes it.
var OpenKeeping = open

// RestoreOneByOne is Restore in the plainest way: it sets aside the first entry that is
// amiss, and opens the book anew.
func RestoreOneByOne(loc *time.Location, entries []*Entry) (*Book, error) {
	for {
		b, bad, why := openUpTo(loc, entries)
		if bad == nil {
			return b, why
		}
		spoilt, err := bad.spoilt(why.Error())
		if err != nil {
			return nil, err
		}
		entries = slices.Clone(entries)
		entries[bad.Number-1] = spoilt
	}
}

func openUpTo(loc *time.Location, entries []*Entry) (b *Book, bad *Entry, err error) {
	b = newBook(loc, entries)
	defer func() {
		if p := recover(); p != nil {
			err = &breakdown{p}
		}
	}()
	for _, bad = range entries {
		if err := b.register(new(fact), bad); err != nil {
			return nil, bad, err
		}
	}
	b.arrangeBy(func(f *fact) {
		bad = f.Entry
		b.stand(f)
	})
	b.share()
	b.state = newState(b)
	b.state.kept = keptUndo
	for n, f := range b.line {
		bad = f.Entry
		b.state.replay(n + 1)
	}
	b.state.replay(len(b.line))
	return b, nil, nil
}
