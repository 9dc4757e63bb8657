package ledger

import "slices"

// Holder is a tank or container, or a run as the place that honey comes from.
type Holder struct {
	Place Place
	// Grams is the honey in it now.
	Grams int64
	// InG and OutG are all that ever went in and out.
	InG, OutG int64
	// Mix is the make-up of what is in it, or last was.
	Mix *Mix
	// Belief is what is expected of it.
	Belief Belief
	// MassVariance is how far Grams may be off, in kilograms squared.
	MassVariance float64
	// Gone is the dispatch or rework that emptied a container.
	Gone *Entry
	// carried is what came into it with its honey; nil for most.
	carried *carried
	// shortG was drawn from a tank beyond the hadG grams that it had, since anything last
	// came into it. dry and full tell the times apart that it ran short, and over its capacity
	// (see spellOf).
	hadG, shortG int64
	dry, full    int32
}

// Totals is what the whole book comes to, in grams. What came in equals what
// is held and what went out, exactly:
//
//	Harvested + Unexplained + Gained = Held + Dispatched + Wasted + Lost
type Totals struct {
	// Harvested came out of runs.
	Harvested int64
	// Unexplained was drawn from holders that the book had at less.
	Unexplained int64
	// Gained and Lost are differences that stocktakes and washes found; Washed
	// is the part of Lost that went with washes.
	Gained, Lost, Washed int64
	Held                 int64
	// InTanks is the part of Held that is in tanks, the rest in containers.
	InTanks    int64
	Dispatched int64
	Wasted     int64
}

// plus is t with what something changed.
func (t Totals) plus(c Totals) Totals {
	return Totals{
		Harvested: t.Harvested + c.Harvested, Unexplained: t.Unexplained + c.Unexplained,
		Gained: t.Gained + c.Gained, Lost: t.Lost + c.Lost, Washed: t.Washed + c.Washed,
		Held: t.Held + c.Held, InTanks: t.InTanks + c.InTanks, Dispatched: t.Dispatched + c.Dispatched, Wasted: t.Wasted + c.Wasted,
	}
}

// less is how far something changed what was before to t.
func (t Totals) less(before Totals) Totals {
	return Totals{
		Harvested: t.Harvested - before.Harvested, Unexplained: t.Unexplained - before.Unexplained,
		Gained: t.Gained - before.Gained, Lost: t.Lost - before.Lost, Washed: t.Washed - before.Washed,
		Held: t.Held - before.Held, InTanks: t.InTanks - before.InTanks, Dispatched: t.Dispatched - before.Dispatched, Wasted: t.Wasted - before.Wasted,
	}
}

// Balanced reports whether every gram is accounted for.
func (t Totals) Balanced() bool {
	return t.Harvested+t.Unexplained+t.Gained == t.Held+t.Dispatched+t.Wasted+t.Lost
}

// State is what the entries up to a place in the line lead to.
type State struct {
	book    *Book
	done    int
	holders []Holder
	totals  Totals
	flags   []Flag
	// used counts the supers of each pull that went into runs.
	used map[superKey]int
	// loads are those so far, in order of occurrence: of each run all of one number,
	// and all with as many frames.
	loads map[loadKey][]*fact
	// read is what the readings on a run or pull so far come to, without anything
	// else that is known of it.
	read map[ID]knownMoisture
	// dispatched is what left with each dispatch.
	dispatched map[ID]int64
	// relied is what was expected of their honey when dispatches and checks were made.
	relied map[ID]Expected
	// days are the local days on which something happened.
	days []day
	// pours are the movements into tanks, and tides when tanks came to hold
	// honey, or no more.
	pours []pour
	tides []tide
	// layers is how unlike its holder a sample is in this outfit.
	layers layering
	stepping
}

type superKey struct{ pull, kind ID }

// loadKey is a number of a run's loads, or how many frames they have; what it is
// not about is below zero.
type loadKey struct {
	run                 ID
	number, left, right int
}

func newState(b *Book) *State {
	return &State{book: b, layers: newLayering, used: map[superKey]int{}, loads: map[loadKey][]*fact{}, read: map[ID]knownMoisture{}, dispatched: map[ID]int64{}, relied: map[ID]Expected{}}
}

// replay walks the line up to n facts.
func (s *State) replay(n int) { _ = s.walk(n, opening{}) }

// walk is replay, and fails where it is stopped.
func (s *State) walk(n int, how opening) error {
	s.makeHolders()
	for ; s.done < n; s.done++ {
		if how.stopped(s.done) {
			return ErrStopped
		}
		f := s.book.line[s.done]
		if !s.keeps(n) {
			s.do(f, nil)
			continue
		}
		st := new(step)
		s.do(f, st)
		s.stepped(st)
	}
	return nil
}

// makeHolders makes room for what the book's tanks, runs and containers hold.
func (s *State) makeHolders() {
	if more := int(s.book.slots) - len(s.holders); more > 0 {
		s.holders = append(s.holders, make([]Holder, more)...)
	}
}

func (s *State) flag(f Flag) { s.flags = append(s.flags, f) }

// DispatchedBy is what left with a dispatch, in grams.
func (s *State) DispatchedBy(dispatch ID) int64 { return s.dispatched[s.book.rootID(dispatch)] }

// Totals is what the whole book comes to.
func (s *State) Totals() Totals { return s.totals }

// Holder gives what is in a tank or container; false where the book knows of
// none by that id.
func (s *State) Holder(id ID) (Holder, bool) {
	f := s.book.fact(id)
	if f == nil || f.root.slot < 0 || int(f.root.slot) >= len(s.holders) {
		return Holder{}, false
	}
	h := s.holders[f.root.slot]
	if h.Place.Kind == "" {
		h.Place = Place{placeOf(f.root.Kind), f.root.ID}
	}
	return h, true
}

func placeOf(k Kind) PlaceKind {
	switch k {
	case KindTank:
		return PlaceTank
	case KindRun:
		return PlaceRun
	case KindFill:
		return PlaceContainer
	case KindLot:
		return PlaceLot
	case KindPull:
		return PlacePull
	case KindYard:
		return PlaceYard
	case KindRoom:
		return PlaceRoom
	case KindBuyer:
		return PlaceBuyer
	}
	return ""
}

// SupersLeft is how many supers of a kind a pull still has that went into no
// run. It is below zero where more went in than were pulled.
func (s *State) SupersLeft(pull, superKind ID) int {
	left := -s.used[superKey{s.book.rootID(pull), s.book.rootID(superKind)}]
	if p := body[Pull](s.book, pull); p != nil {
		for _, c := range p.Supers {
			if s.book.rootID(c.SuperKindID) == s.book.rootID(superKind) {
				left += c.Supers
			}
		}
	}
	return left
}

// LotState is a lot as its containers make it.
type LotState struct {
	// Containers are the fills that stand, by container number.
	Containers []ID
	// FilledG is all that was filled, HeldG what is still in containers here.
	FilledG, HeldG, DispatchedG int64
	// Mix is the make-up of all that was filled, HeldMix of what is still here:
	// drums filled one after another need not be alike. HeldMix is nil where
	// nothing is here.
	Mix, HeldMix *Mix
}

// Lot gives a lot as its containers make it at this state.
func (s *State) Lot(id ID) LotState { return s.lotOf(id, true) }

// LotMass is Lot without the mixes, which is most of the work.
func (s *State) LotMass(id ID) LotState { return s.lotOf(id, false) }

func (s *State) lotOf(id ID, mix bool) LotState {
	var l LotState
	fills := slices.Clone(s.book.fills[s.book.rootID(id)])
	slices.SortFunc(fills, byContainer)
	var mixed int64
	for _, f := range fills {
		h := s.holders[f.root.slot]
		if h.Mix == nil {
			continue
		}
		l.Containers = append(l.Containers, f.root.ID)
		net := f.Body.(*Fill).NetG()
		l.FilledG += net
		l.HeldG += h.Grams
		if h.Gone != nil && h.Gone.Kind == KindDispatch {
			l.DispatchedG += h.OutG
		}
		if mix {
			l.Mix, l.HeldMix = added(l.Mix, mixed, h.Mix, h.InG), added(l.HeldMix, l.HeldG-h.Grams, h.Mix, h.Grams)
		}
		mixed += h.InG
	}
	return l
}

// added is blend, to a mix that may be nil as long as nothing is in it.
func added(to *Mix, grams int64, mix *Mix, more int64) *Mix {
	switch {
	case more == 0:
		return to
	case to == nil:
		return mix
	}
	return blend(to, grams, mix, more)
}

// Holders gives all tanks, runs and containers that honey ever went through,
// withdrawn ones too.
func (s *State) Holders(yield func(Holder) bool) {
	for i := range s.holders {
		if h := s.holders[i]; h.Place.Kind != "" && !yield(h) {
			return
		}
	}
}
