package ledger

import (
	"bytes"
	"iter"
	"slices"
	"sort"
	"time"

	"pullbook/domain/message"
)

// Decided is what was last decided about a lot.
type Decided struct {
	Status Status
	// By is the entry that said so; nil while nothing was decided, or where a
	// container was filled after the lot was released, which opens it again.
	By *Entry
}

// Decided says what stood about a lot at an instant, from all that the book
// knows now. It is never StatusGone.
func (b *Book) Decided(lot ID, at time.Time) Decided {
	return b.decidedBefore(lot, func(f *fact) bool { return f.at <= at.UnixMicro() }, none)
}

// decidedBefore looks at the decisions and fills that happened in time, as the
// first ones in order of occurrence did, without those left out, of which there are
// few.
func (b *Book) decidedBefore(lot ID, inTime, leftOut func(*fact) bool) Decided {
	lot = b.rootID(lot)
	decisions, fills := b.decisions[lot], b.fills[lot]
	i := sort.Search(len(decisions), func(i int) bool { return !inTime(decisions[i]) }) - 1
	for i >= 0 && leftOut(decisions[i]) {
		i--
	}
	if i < 0 {
		return Decided{Status: StatusOpen}
	}
	last := decisions[i]
	d := Decided{last.Body.(*LotStatus).Status, last.Entry}
	if d.Status != StatusReleased {
		return d
	}
	k := sort.Search(len(fills), func(k int) bool { return order(last, fills[k]) < 0 })
	for k < len(fills) && leftOut(fills[k]) {
		k++
	}
	if k < len(fills) && inTime(fills[k]) {
		return Decided{Status: StatusOpen}
	}
	return d
}

func none(*fact) bool { return false }

// LotStatus says whether a lot may leave: it is gone once it had containers and
// none holds honey any more.
func (s *State) LotStatus(lot ID) Decided {
	d := s.book.decidedBefore(lot, func(f *fact) bool { return s.done > 0 && order(f, s.book.line[s.done-1]) <= 0 }, none)
	held, any := false, false
	for _, f := range s.book.fills[s.book.rootID(lot)] {
		any, held = true, held || s.holders[f.root.slot].Grams > 0
	}
	if any && !held {
		d.Status = StatusGone
	}
	return d
}

// Basis is what a check of a lot rests on now: the lot's entry, its fills and
// the readings on it and its containers, as they stand, in order of occurrence,
// up to an instant.
func (b *Book) Basis(lot ID, until time.Time) Basis {
	root := b.rootID(lot)
	basis := Basis{Fills: []ID{}, Readings: []ID{}}
	if e := b.InForce(root); e != nil {
		basis.Lot = e.ID
	}
	sorted := func(facts []*fact) []ID {
		facts = slices.DeleteFunc(slices.Clone(facts), func(f *fact) bool { return f.at > until.UnixMicro() })
		slices.SortFunc(facts, order)
		ids := make([]ID, len(facts))
		for i, f := range facts {
			ids[i] = f.ID
		}
		return ids
	}
	basis.Fills = sorted(b.fills[root])
	basis.Readings = sorted(b.readingsOnLot(root))
	return basis
}

// readingsOnLot are the readings that stand on a lot and on its containers, place by place.
func (b *Book) readingsOnLot(root ID) []*fact {
	out := slices.Clone(b.readings[root])
	for _, f := range b.fills[root] {
		out = append(out, b.readings[f.root.ID]...)
	}
	return out
}

// ReadingsOnLot gives the readings that stand on a lot and on its containers, in order of
// occurrence, each with the ID by which it is known.
func (b *Book) ReadingsOnLot(lot ID) iter.Seq2[ID, *Entry] {
	return func(yield func(root ID, e *Entry) bool) {
		readings := b.readingsOnLot(b.rootID(lot))
		slices.SortFunc(readings, order)
		for _, f := range readings {
			if !yield(f.root.ID, f.Entry) {
				return
			}
		}
	}
}

// Equal reports whether two checks would rest on the same.
func (b Basis) Equal(o Basis) bool {
	same := func(x, y ID) bool { return bytes.Equal(x[:], y[:]) }
	return b.Lot == o.Lot && slices.EqualFunc(b.Fills, o.Fills, same) && slices.EqualFunc(b.Readings, o.Readings, same)
}

// Outdated says in words why a check no longer speaks of the lot as the book
// has it; empty while it does. id may name any entry of the check's chain.
func (b *Book) Outdated(id ID) message.Text {
	e := b.InForce(id)
	if e == nil {
		return message.F("the check was withdrawn")
	}
	c, ok := e.Body.(*Check)
	switch {
	case !ok || c.Found == nil:
		return message.F("this is not a check")
	case e.ID != id:
		return message.F("the check was corrected")
	}
	now := b.Basis(c.LotID, farFuture)
	switch {
	case now.Lot != c.Found.Lot:
		return message.F("the lot's entry was changed since")
	case !slices.Equal(now.Fills, c.Found.Fills):
		return message.F("the lot's containers changed since")
	case !slices.Equal(now.Readings, c.Found.Readings):
		return message.F("readings were added or changed since")
	}
	if bad := b.foundWrongSince(c.Found); bad != nil {
		return message.F("a later check found the %s wrong (entry %s): it read %s where %s was expected", b.Name(bad.InstrumentID), bad.entry.Number, message.Figure(bad.AsFound), message.Figure(bad.Expected))
	}
	for _, r := range c.Found.Results {
		if r.Entry == (ID{}) {
			continue
		}
		if s := b.InForce(r.Entry); s == nil || s.ID != r.Entry {
			return message.F("version %s of %s is no longer the latest", r.Version, r.Name)
		}
	}
	return message.Text{}
}

type failed struct {
	*Calibration
	entry *Entry
}

// foundWrongSince is a check that an instrument failed, or that left it wrong, which
// the book learned of after a check of a lot that rests on readings with it; nil
// where there is none.
func (b *Book) foundWrongSince(c *Found) *failed {
	for _, id := range c.Readings {
		f := b.byID[id]
		checks := b.checks[b.rootID(f.Body.(*Reading).InstrumentID)]
		next := sort.Search(len(checks), func(i int) bool { return checks[i].at > f.at })
		if next > 0 {
			if x, last := checks[next-1], checks[next-1].Body.(*Calibration); last.LeftWrong() && x.Number > c.Through {
				return &failed{last, x.Entry}
			}
		}
		if next < len(checks) {
			if x, bad := checks[next], checks[next].Body.(*Calibration); !bad.Good() && x.Number > c.Through {
				return &failed{bad, x.Entry}
			}
		}
	}
	return nil
}

// farFuture is later than anything the book takes.
var farFuture = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// RuleSetVersion finds a version of the outfit's own rule set, counted from 1;
// version 0 is the one that stands. It is nil where there is none.
func (b *Book) RuleSetVersion(id ID, version int) (*Entry, int) {
	root := b.at(id)
	if root == nil || root.Kind != KindRuleSet {
		return nil, 0
	}
	var last *Entry
	n := 0
	for f := root; f != nil; f = f.by {
		if f.Kind != KindRuleSet {
			continue
		}
		last, n = f.Entry, n+1
		if n == version {
			return last, n
		}
	}
	if version != 0 || root.withdrawn() {
		return nil, 0
	}
	return last, n
}

// VersionOf counts which version of its rule set an entry is, from 1.
func (b *Book) VersionOf(e *Entry) int {
	n := 0
	for _, c := range b.Chain(e.ID) {
		if c.Kind == KindRuleSet && c.Number <= e.Number {
			n++
		}
	}
	return n
}

// lot is the lot that a fill was put in, as it was last told.
func (f *fact) lot() ID {
	if fill, ok := f.subject.(*Fill); ok {
		return fill.LotID
	}
	return ID{}
}
