package ledger

import (
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
	// Of is the other lot that is held, where honey of it is in this one; else zero.
	Of ID
	// Opened is the entry that came after a release and opened the lot again; nil where none did.
	Opened *Entry
	// holds are all holds of the lot itself that were not lifted.
	holds []*fact
}

// Decided says what stood about a lot at an instant, from all that the book
// knows now. It is never StatusGone.
//
// What was recorded late counts in the order of recording as well as in that of
// happening. A hold stands until a decision lifts it that was made after it and recorded
// after it. A release stands while it is the last decision in both orders.
func (b *Book) Decided(lot ID, at time.Time) Decided {
	return b.state.decidedBefore(lot, func(f *fact) bool { return f.at <= at.UnixMicro() }, none, all)
}

// decidedBefore looks at the decisions, at what came into the lot's containers and at
// sights of fermenting that happened in time, as the first ones in order of occurrence did,
// without those left out. Of what came into the containers that alone counts which arrived.
func (s *State) decidedBefore(lot ID, inTime, leftOut, arrived func(*fact) bool) Decided {
	b := s.book
	lot = b.rootID(lot)
	if of, by := s.recalled(lot, inTime, leftOut); by != nil {
		return Decided{Status: StatusHeld, By: by.Entry, Why: HeldForRecall, Of: of}
	}
	last, newest, holds := s.decisive(lot, inTime, leftOut)
	switch {
	case len(holds) > 0:
		return Decided{Status: StatusHeld, By: holds[0].Entry, Why: whyHeld(holds[0]), holds: holds}
	case last == nil:
		return Decided{Status: StatusOpen}
	case last.Body.(*LotStatus).Status != StatusReleased:
		return Decided{Status: StatusOpen, By: last.Entry}
	case newest.Body.(*LotStatus).Status != StatusReleased:
		return Decided{Status: StatusOpen, By: newest.Entry}
	}
	for f := range b.cameInto(lot, last) {
		if inTime(f) && arrived(f) && !leftOut(f) && last.precedes(f) {
			return Decided{Status: StatusOpen, Opened: f.Entry}
		}
	}
	return Decided{Status: StatusReleased, By: newest.Entry}
}

// wasReleased reports whether a lot was released before a fact, as decidedBefore says. Only
// a lot whose last decision is a release was, so that the others are not looked at where it
// is none: a lot may have very many.
func (s *State) wasReleased(lot ID, before *fact) bool {
	inTime := func(f *fact) bool { return order(f, before) < 0 }
	for _, f := range slices.Backward(s.book.decisions[s.book.rootID(lot)]) {
		if inTime(f) {
			return f.Body.(*LotStatus).Status == StatusReleased && s.decidedBefore(lot, inTime, none, all).Status == StatusReleased
		}
	}
	return false
}

// cameInto gives the fills of a lot and the movements into its containers. It may leave out
// what came before a fact, if one is given.
func (b *Book) cameInto(lot ID, after *fact) iter.Seq[*fact] {
	return func(yield func(*fact) bool) {
		fills := b.fills[lot]
		if after != nil && len(b.poured) == 0 { // of a lot of thousands of pails most came before what is decided
			first, _ := slices.BinarySearchFunc(fills, after, order)
			fills = fills[first:]
		}
		for _, f := range fills {
			if !yield(f) {
				return
			}
			for _, m := range b.poured[f.root.ID] {
				if !yield(m) {
					return
				}
			}
		}
	}
}

// recalled is another lot that is held for recall, of which honey came into containers of
// this one that are not emptied, with the hold.
func (s *State) recalled(lot ID, inTime, leftOut func(*fact) bool) (of ID, by *fact) {
	b := s.book
	if len(b.recalls) == 0 {
		return ID{}, nil
	}
	for _, f := range b.fills[lot] {
		for l := range s.cameFrom(f) {
			if l.lot == lot || len(b.recalls[l.lot]) == 0 || !inTime(l.by) || b.emptied(f, farFuture) {
				continue
			}
			_, _, holds := s.decisive(l.lot, inTime, leftOut)
			for _, hold := range holds {
				if whyHeld(hold) == HeldForRecall && (!l.corrected || hold.Number < l.by.Number) {
					return l.lot, hold
				}
			}
		}
	}
	return ID{}, nil
}

// cameFrom gives the lots whose honey came into the container of a fill, and those that it
// was told to be of before somebody corrected that: a correction lifts no hold.
func (s *State) cameFrom(f *fact) iter.Seq[fromLot] {
	return func(yield func(fromLot) bool) {
		for _, l := range s.carriedBy(f).fromLots() {
			if !yield(l) {
				return
			}
		}
		for was := f.root; was != nil && was != f; was = was.by {
			if x, is := was.Body.(*Fill); is && !yield(fromLot{s.book.rootID(x.LotID), f, true}) {
				return
			}
		}
	}
}

// otherHoney reports whether the container of a fill was told to be of another lot, or to be
// filled out of another tank, before.
func (b *Book) otherHoney(f *fact) bool {
	now := f.Body.(*Fill)
	for was := f.root; was != nil && was != f; was = was.by {
		if x, is := was.Body.(*Fill); is && (b.rootID(x.LotID) != b.rootID(now.LotID) || b.rootID(x.TankID) != b.rootID(now.TankID)) {
			return true
		}
	}
	return false
}

// carriedBy is what came with honey into the container of a fill.
func (s *State) carriedBy(fill *fact) *carried {
	return s.holders[fill.root.slot].carried
}

// decisive finds the last decision in order of occurrence, the last in order of recording,
// and the holds that stand: those that no decision lifted that was made and recorded after
// them. The first of several is the one that asks most of whoever lifts it.
func (s *State) decisive(lot ID, inTime, leftOut func(*fact) bool) (last, newest *fact, holds []*fact) {
	lifted := int64(0) // the newest that lifts, among those later than where the loop is
	decisions, sights := s.book.decisions[lot], s.sights(lot, inTime)
	for len(decisions)+len(sights) > 0 {
		var f *fact
		var learnt int64
		if n, m := len(decisions), len(sights); m == 0 || n > 0 && sights[m-1].since().precedes(decisions[n-1]) {
			f, decisions = decisions[n-1], decisions[:n-1]
			learnt = f.Number
		} else {
			f, learnt, sights = sights[m-1].reading, sights[m-1].learnt(), sights[:m-1]
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
		case learnt > lifted:
			holds = append(holds, f)
			if asksMore(f, holds[0]) {
				holds[0], holds[len(holds)-1] = f, holds[0]
			}
		}
	}
	return last, newest, holds
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
// ferment, and those on tanks and other containers whose honey came into these in time, in
// order of when they came to be about the lot.
func (s *State) sights(lot ID, inTime func(*fact) bool) (out []sight) {
	b := s.book
	if len(b.fermenting) == 0 {
		return nil
	}
	here := func(list []*fact) {
		for _, r := range list {
			out = append(out, sight{reading: r, by: r})
		}
	}
	here(b.fermenting[lot])
	for _, f := range b.fills[lot] {
		here(b.fermenting[f.root.ID])
		for _, x := range s.cameSeen(f) {
			if inTime(x.by) {
				out = append(out, x)
			}
		}
	}
	slices.SortFunc(out, func(a, c sight) int { return order(a.since(), c.since()) })
	return out
}

// SeenFermenting reports whether somebody who took the reading saw the honey ferment.
func (r *Reading) SeenFermenting() bool {
	present, _ := r.sawFermenting()
	return present
}

// sawFermenting reports whether somebody who took the reading saw the honey ferment, and
// whether anybody looked.
func (r *Reading) sawFermenting() (present, looked bool) {
	for _, o := range r.Observed {
		if o.What == "fermentation" {
			present, looked = present || o.Word == "present", true
		}
	}
	return present, looked
}

func none(*fact) bool { return false }

func all(*fact) bool { return true }

// LotStatus says whether a lot may leave: it is gone once it had containers and
// none holds honey any more.
func (s *State) LotStatus(lot ID) Decided {
	b := s.book
	d := Decided{}
	if lot = b.rootID(lot); s.done == len(b.line) {
		d = b.standing(lot, none, all)
	} else {
		d = s.decidedBefore(lot, func(f *fact) bool { return s.done > 0 && order(f, b.line[s.done-1]) <= 0 }, none, all)
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
// Of what came into its containers that alone counts which arrived.
func (b *Book) standing(lot ID, leftOut, arrived func(*fact) bool) Decided {
	d := b.state.decidedBefore(lot, all, leftOut, arrived)
	if d.Status != StatusReleased {
		return d
	}
	since := b.lastHold[lot]
	if x := d.By.Body.(*LotStatus); x.Override {
		since = max(since, b.lastLearnt(lot, d.By))
		if n := b.lastFill[lot]; n > 0 && arrived(b.facts[n-1]) {
			since = max(since, n)
		}
	}
	if since < d.By.Number {
		since = 0
	}
	since = max(since, b.unreleased(lot, arrived, func(f *fact) bool { return !leftOut(f) }))
	if since > 0 {
		return Decided{Status: StatusOpen, Opened: b.facts[since-1].Entry}
	}
	return d
}

// unreleased is the number of the last entry that told of a container of a lot, or of honey
// that came into one, among what arrived, without one release, among those that count, that
// was made after it came and recorded after it was told. Two that are each one of it do not
// add up. It is 0 where there is none.
func (b *Book) unreleased(lot ID, arrived, counts func(*fact) bool) (last int64) {
	for f := range b.cameInto(lot, nil) {
		if told := b.toldOf(f); arrived(f) && !b.releasedAfter(lot, f, told, counts) {
			last = max(last, told)
		}
	}
	return last
}

// toldOf is the number under which the book learned what came into a container. A correction
// may have made a movement more, or have put the container into this lot, or other honey into
// it; the right weight of a container is nothing new.
func (b *Book) toldOf(came *fact) int64 {
	if came.Kind == KindMovement || b.otherHoney(came) {
		return came.Number
	}
	return came.root.Number
}

func (b *Book) releasedAfter(lot ID, came *fact, told int64, counts func(*fact) bool) bool {
	for _, x := range slices.Backward(b.decisions[lot]) {
		if x.precedes(came) {
			return false
		}
		if x.Number > told && counts(x) && x.Body.(*LotStatus).Status == StatusReleased {
			return true
		}
	}
	return false
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
		b.lastFill[b.rootID(x.LotID)] = f.Number
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
	if root.Kind != KindFill {
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
	case b.pouredSince(b.rootID(c.LotID), c.Found.Through):
		return message.F("honey was poured into its containers since")
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

// LastFilled is when honey last came into a container by an instant: its fill, or the last
// movement into it.
func (b *Book) LastFilled(fill ID, by time.Time) time.Time {
	var last time.Time
	if e := b.InForce(fill); e != nil {
		last = e.OccurredAt
	}
	for _, m := range b.poured[b.rootID(fill)] {
		if m.OccurredAt.After(last) && !m.OccurredAt.After(by) {
			last = m.OccurredAt
		}
	}
	return last
}

// pouredSince reports whether an entry after the one of that number brings honey into a
// container of a lot.
func (b *Book) pouredSince(lot ID, through int64) bool {
	for f := range b.cameInto(lot, nil) {
		if f.Number > through {
			return true
		}
	}
	return false
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
		f := b.fact(id)
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
