package ledger

import (
	"fmt"
	"slices"
	"time"

	"pullbook/domain/heat"
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

// CarriedIn says what came into a holder with its honey: lots, and sights of fermenting.
func CarriedIn(h Holder) []string {
	var out []string
	for _, l := range h.carried.fromLots() {
		out = append(out, fmt.Sprintf("lot %s by %s", l.lot, l.by.ID))
	}
	for _, x := range h.carried.sights() {
		out = append(out, fmt.Sprintf("sight %s by %s, calm %t", x.reading.ID, x.by.ID, x.calm))
	}
	return out
}

// WithoutCarried is the holder apart from that.
func WithoutCarried(h Holder) Holder {
	h.carried = nil
	return h
}

// LoggedBy joins logs as those of one place are joined.
func LoggedBy(logs ...*TemperatureLog) []heat.Point {
	var facts []*fact
	for _, l := range logs {
		facts = append(facts, &fact{Entry: &Entry{Body: l}})
	}
	return logged(facts)
}

// FindingsAt is Findings with an instant for the present.
func (s *State) FindingsAt(now time.Time) []*Flag { return s.findings(now.UnixMicro()) }

// LooksBeside does once what an append does twice for what shows beside the book.
func (b *Book) LooksBeside(e *Entry) int { return len(b.state.besideBook(b.besidesOf(e))) }

// IsPlain reports whether content of a kind is read the quick way.
func IsPlain(kind Kind, content []byte) bool {
	_, _, _, plain := readPlain(kind, content)
	return plain
}
