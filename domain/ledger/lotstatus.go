package ledger

import (
	"bytes"
	"iter"
	"slices"
	"sort"
	"time"

	"pullbook/domain/message"
)

// Decided is what stands about a lot.
type Decided struct {
	Status Status
	// By is the decision that stands, or the reading on which somebody saw the honey
	// ferment. It is nil while nothing was decided, or where a release no longer stands.
	By *Entry
	// Why is the reason of a hold. Of several holds that were not lifted it is that of the
	// one that asks most of whoever lifts it.
	Why HoldReason
	// Opened is the entry that came after a release and opened the lot again; nil where none did.
	Opened *Entry
}

// Decided says what stood about a lot at an instant, from all that the book
// knows now. It is never StatusGone.
//
// What was recorded late counts in the order of recording as well as in that of
// happening. A hold stands until a decision lifts it that was made after it and recorded
// after it. A release stands while it is the last decision in both orders.
func (b *Book) Decided(lot ID, at time.Time) Decided {
	return b.decidedBefore(lot, func(f *fact) bool { return f.at <= at.UnixMicro() }, none)
}

// decidedBefore looks at the decisions, fills and sights of fermenting that happened in
// time, as the first ones in order of occurrence did, without those left out.
func (b *Book) decidedBefore(lot ID, inTime, leftOut func(*fact) bool) Decided {
	lot = b.rootID(lot)
	last, newest, hold := b.decisive(lot, inTime, leftOut)
	switch {
	case hold != nil:
		return Decided{Status: StatusHeld, By: hold.Entry, Why: whyHeld(hold)}
	case last == nil:
		return Decided{Status: StatusOpen}
	case last.Body.(*LotStatus).Status != StatusReleased:
		return Decided{Status: StatusOpen, By: last.Entry}
	case newest.Body.(*LotStatus).Status != StatusReleased:
		return Decided{Status: StatusOpen, By: newest.Entry}
	}
	for _, f := range b.fills[lot] {
		if inTime(f) && !leftOut(f) && order(last, f) < 0 {
			return Decided{Status: StatusOpen, Opened: f.Entry}
		}
	}
	return Decided{Status: StatusReleased, By: newest.Entry}
}

// decisive finds the last decision in order of occurrence, the last in order of recording,
// and the hold that stands: one that no decision lifted that was made and recorded after it.
// Of several holds it is the one that asks most of whoever lifts it.
func (b *Book) decisive(lot ID, inTime, leftOut func(*fact) bool) (last, newest, hold *fact) {
	lifted := int64(0) // the newest that lifts, among those later than where the loop is
	decisions, sights := b.decisions[lot], b.sights(lot)
	for len(decisions)+len(sights) > 0 {
		var f *fact
		if n, m := len(decisions), len(sights); m == 0 || n > 0 && order(sights[m-1], decisions[n-1]) < 0 {
			f, decisions = decisions[n-1], decisions[:n-1]
		} else {
			f, sights = sights[m-1], sights[:m-1]
		}
		if !inTime(f) || leftOut(f) {
			continue
		}
		if f.Kind == KindLotStatus {
			if last == nil {
				last = f
			}
			if newest == nil || f.Number > newest.Number {
				newest = f
			}
		}
		switch why := whyHeld(f); {
		case why == "":
			lifted = max(lifted, f.Number)
		case f.Number > lifted && (hold == nil || asksMore(f, hold)):
			hold = f
		}
	}
	return last, newest, hold
}

// asksMore tells which of two holds asks more of whoever lifts it: one that needs a check,
// and of two such the one recorded later, since the check has to come after it.
func asksMore(f, than *fact) bool {
	needs, other := whyHeld(f).needsCheck(), whyHeld(than).needsCheck()
	return needs && !other || needs == other && f.Number > than.Number
}

// whyHeld is the reason for which a decision, or what somebody saw, holds a lot; empty
// where it does not.
func whyHeld(f *fact) HoldReason {
	switch x := f.Body.(type) {
	case *LotStatus:
		if x.Status == StatusHeld {
			return x.Why
		}
	case *Reading:
		return HeldForFermentation
	}
	return ""
}

// needsCheck says that such a hold is lifted by a check alone that was made after it.
func (r HoldReason) needsCheck() bool { return r == HeldForRecall || r == HeldForFermentation }

// sights are the readings on a lot and its containers on which somebody saw the honey
// ferment, in order of occurrence.
func (b *Book) sights(lot ID) []*fact {
	if len(b.fermenting) == 0 {
		return nil
	}
	out := slices.Clone(b.fermenting[lot])
	for _, f := range b.fills[lot] {
		out = append(out, b.fermenting[f.root.ID]...)
	}
	slices.SortFunc(out, order)
	return out
}

// SeenFermenting reports whether somebody who took the reading saw the honey ferment.
func (r *Reading) SeenFermenting() bool {
	return slices.ContainsFunc(r.Observed, func(o Observed) bool { return o.What == "fermentation" && o.Word == "present" })
}

func none(*fact) bool { return false }

// LotStatus says whether a lot may leave: it is gone once it had containers and
// none holds honey any more.
func (s *State) LotStatus(lot ID) Decided {
	b := s.book
	d := Decided{}
	if lot = b.rootID(lot); s.done == len(b.line) {
		d = b.standing(lot, none)
	} else {
		d = b.decidedBefore(lot, func(f *fact) bool { return s.done > 0 && order(f, b.line[s.done-1]) <= 0 }, none)
	}
	held, any := false, false
	for _, f := range b.fills[lot] {
		any, held = true, held || s.holders[f.root.slot].Grams > 0
	}
	if any && !held {
		d.Status = StatusGone
	}
	return d
}

// standing is what stands about a lot with all that the book knows. A manager's word
// covers what was known when it was given: whatever the book learned of the lot since
// opens it again. So do, after any release, a container told of since and a hold given
// since, also one that was taken back.
func (b *Book) standing(lot ID, leftOut func(*fact) bool) Decided {
	d := b.decidedBefore(lot, func(*fact) bool { return true }, leftOut)
	if d.Status != StatusReleased {
		return d
	}
	since := b.lastHold[lot]
	for _, f := range b.fills[lot] {
		since = max(since, f.root.Number)
	}
	if x := d.By.Body.(*LotStatus); x.Override {
		since = max(since, b.lastLearnt(lot, d.By))
	}
	if since > d.By.Number {
		return Decided{Status: StatusOpen, Opened: b.facts[since-1].Entry}
	}
	return d
}

// lastLearnt is the number of the last entry that says something of a lot, its containers
// or readings on them, or that found wrong an instrument that one of them was read with.
func (b *Book) lastLearnt(lot ID, release *Entry) int64 {
	last := b.learnt[lot]
	for _, f := range b.fills[lot] {
		last = max(last, b.learnt[f.root.ID])
	}
	found := Found{Through: release.Number, Basis: b.Basis(lot, farFuture)}
	if bad := b.foundWrongSince(&found); bad != nil {
		last = max(last, bad.entry.Number)
	}
	return last
}

// learn notes which lots and containers an entry says something of, or what it replaces
// said, and which lot that holds. It is told of each entry in order of recording.
func (b *Book) learn(f *fact, said Body) {
	switch x := said.(type) {
	case *Lot:
		b.learnt[f.root.ID] = f.Number
	case *Fill:
		b.learnt[b.rootID(x.LotID)] = f.Number
	case *Reading:
		b.learnt[b.rootID(x.On.ID)] = f.Number
		if x.SeenFermenting() {
			b.lastHold[b.lotOf(x.On)] = f.Number
		}
	case *LotStatus:
		if x.Status == StatusHeld {
			b.lastHold[b.rootID(x.LotID)] = f.Number
		}
	}
}

// lotOf is the lot that a place is, or is a container of; else the place itself.
func (b *Book) lotOf(p Place) ID {
	if f := b.at(p.ID); f != nil && f.Kind == KindFill {
		return b.rootID(f.lot())
	}
	return b.rootID(p.ID)
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
		facts = slices.DeleteFunc(slices.Clone(facts), func(f *fact) bool { return f.at > until.UnixMicro() || b.emptied(f, until) })
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

// emptied reports whether a fact is a container, or is about one, whose honey was taken out
// again by an instant, other than to a buyer: it is no part of its lot any more.
func (b *Book) emptied(f *fact, until time.Time) bool {
	root := f.root
	if r, ok := f.Body.(*Reading); ok {
		if root = b.at(r.On.ID); root == nil {
			return false
		}
	}
	if root.Kind != KindFill || root.slot < 0 || int(root.slot) >= len(b.state.holders) {
		return false
	}
	gone := b.state.holders[root.slot].Gone
	return gone != nil && gone.Kind != KindDispatch && !gone.OccurredAt.After(until)
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
