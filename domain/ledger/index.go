package ledger

import (
	"cmp"
	"slices"
	"strings"

	"pullbook/domain/heat"
)

// index is what must be known before the line is walked, whenever it was
// written down: what went into a run is known to the honey that came out of it.
// It holds only entries that stand, in order of occurrence.
type index struct {
	// runs holds, by run, what went in and what came out.
	runs map[ID]*runFacts
	// stale are runs whose make-up has to be shared out anew.
	stale []*runFacts
	// pulls holds, by pull, the supers of it that went into runs.
	pulls map[ID][]*fact
	// fills holds the fills of each lot.
	fills map[ID][]*fact
	// poured holds the movements into each container.
	poured map[ID][]*fact
	// decisions holds what was decided about each lot, and readings those on each
	// tank, lot, container and so on.
	decisions, readings map[ID][]*fact
	// recalls holds, by lot, the decisions that held it for recall.
	recalls map[ID][]*fact
	// logSpread is how far at most, in microseconds, the points of a place's logs lie from
	// when these were written down.
	logSpread map[ID]int64
	// fermenting holds, by place, the readings on which somebody saw the honey ferment.
	fermenting map[ID][]*fact
	// logs holds the temperature logs of each place, and meters what they come
	// to; cold are places whose meters have to be made anew.
	logs   map[ID][]*fact
	meters map[ID]*heat.Meter
	cold   []ID
	// checks holds the calibrations of each instrument, and readBy the readings
	// taken with it.
	checks, readBy map[ID][]*fact
	// loads holds the loads of each run.
	loads map[ID][]*fact
	// certificates holds the certificates of each laboratory's result.
	certificates map[ID][]*fact
	// photos holds the pictures of each entry.
	photos map[ID][]*fact
	// accepted says which flags were settled by which entries.
	accepted map[flagKey][]*fact
	// gone holds each ID of the chains that end in a withdrawal.
	gone map[ID]bool
	// missing holds IDs that entries name and the book has not got.
	missing map[ID]bool
}

// runFacts is what the book says about a run, and how its honey is shared.
type runFacts struct {
	id     ID
	supers []*fact
	out    []*fact
	// shouldG is what its boxes should give: by weight where their pulls were
	// weighed, else by what they usually hold.
	shouldG float64
	Harvest
}

func newIndex() index {
	return index{
		runs:  map[ID]*runFacts{},
		pulls: map[ID][]*fact{},
		fills: map[ID][]*fact{},

		poured: map[ID][]*fact{},

		decisions: map[ID][]*fact{},
		recalls:   map[ID][]*fact{},
		readings:  map[ID][]*fact{},

		fermenting: map[ID][]*fact{},
		logSpread:  map[ID]int64{},

		logs:   map[ID][]*fact{},
		meters: map[ID]*heat.Meter{},
		checks: map[ID][]*fact{},
		readBy: map[ID][]*fact{},

		loads: map[ID][]*fact{},

		certificates: map[ID][]*fact{}, photos: map[ID][]*fact{},

		accepted: map[flagKey][]*fact{},
		gone:     map[ID]bool{},
		missing:  map[ID]bool{},
	}
}

// enter adds a fact that stands to the index.
func (b *Book) enter(f *fact) {
	var room [namesRoom]ID
	for _, id := range names(room[:0], f.Body) {
		if b.fact(id) == nil {
			b.missing[id] = true
		}
	}
	b.change(f, func(list []*fact) []*fact { return placed(list, f) })
}

// placed puts a fact into a list in order of occurrence: what comes of a list
// must not depend on the order of recording.
func placed(list []*fact, f *fact) []*fact {
	if n := len(list); n == 0 || order(list[n-1], f) < 0 {
		return append(list, f)
	}
	i, _ := slices.BinarySearchFunc(list, f, order)
	return slices.Insert(list, i, f)
}

// strike takes a fact that no longer stands out of the index.
func (b *Book) strike(f *fact) {
	b.change(f, func(list []*fact) []*fact {
		return slices.DeleteFunc(list, func(g *fact) bool { return g == f })
	})
}

// change brings the lists in which a fact belongs up to date.
func (b *Book) change(f *fact, edit func([]*fact) []*fact) {
	switch body := f.Body.(type) {
	case *RunSupers:
		r, pull := b.run(body.RunID), b.rootID(body.PullID)
		r.supers, b.pulls[pull] = edit(r.supers), edit(b.pulls[pull])
		b.stale = append(b.stale, r)
	case *Movement:
		if body.From.Kind == PlaceRun { // also of a run that cannot be read itself
			r := b.run(body.From.ID)
			r.out = edit(r.out)
		}
		if body.To.Kind == PlaceContainer {
			to := b.rootID(body.To.ID)
			b.poured[to] = edit(b.poured[to])
		}
	case *Fill:
		lot := b.rootID(body.LotID)
		b.fills[lot] = edit(b.fills[lot])
	case *LotStatus:
		lot := b.rootID(body.LotID)
		b.decisions[lot] = edit(b.decisions[lot])
		if body.Status == StatusHeld && body.Why == HeldForRecall {
			if b.recalls[lot] = edit(b.recalls[lot]); len(b.recalls[lot]) == 0 {
				delete(b.recalls, lot)
			}
		}
	case *Reading:
		on := b.rootID(body.On.ID)
		b.readings[on] = edit(b.readings[on])
		if body.SeenFermenting() {
			if b.fermenting[on] = edit(b.fermenting[on]); len(b.fermenting[on]) == 0 {
				delete(b.fermenting, on)
			}
		}
		if body.InstrumentID != (ID{}) {
			by := b.rootID(body.InstrumentID)
			b.readBy[by] = edit(b.readBy[by])
		}
	case *Calibration:
		by := b.rootID(body.InstrumentID)
		b.checks[by] = edit(b.checks[by])
	case *TemperatureLog:
		on := b.rootID(body.On.ID)
		b.logs[on] = edit(b.logs[on])
		first, last := body.span()
		b.logSpread[on] = max(b.logSpread[on], f.at-first, last-f.at)
		b.cold = append(b.cold, on)
	case *Load:
		run := b.rootID(body.RunID)
		b.loads[run] = edit(b.loads[run])
	case *LaboratoryCertificate:
		of := b.rootID(body.ReadingID)
		b.certificates[of] = edit(b.certificates[of])
	case *Photo:
		of := b.rootID(body.EntryID)
		b.photos[of] = edit(b.photos[of])
	case *Tank, *Room:
		b.cold = append(b.cold, f.root.ID)
	case *Acceptance:
		for _, id := range append([]ID{body.EntryID}, body.With...) {
			key := flagKey{b.rootID(id), body.Flag}
			b.accepted[key] = edit(b.accepted[key])
		}
	case *Pull:
		for _, s := range b.pulls[f.root.ID] {
			b.stale = append(b.stale, b.run(s.Body.(*RunSupers).RunID))
		}
	case *SuperKind:
		for _, r := range b.runs {
			b.stale = append(b.stale, r)
		}
	}
}

func (b *Book) run(id ID) *runFacts {
	id = b.rootID(id)
	r := b.runs[id]
	if r == nil {
		r = &runFacts{id: id}
		b.runs[id] = r
		b.stale = append(b.stale, r)
	}
	return r
}

// runKnown is the run that an id names, with nothing in it where the book has none. It
// puts nothing into the book.
func (b *Book) runKnown(id ID) *runFacts {
	id = b.rootID(id)
	if r := b.runs[id]; r != nil {
		return r
	}
	return &runFacts{id: id}
}

// firstResting is the first place in the line whose outcome may change with a
// fact that is entered or struck, itself apart. It only looks.
func (b *Book) firstResting(f *fact) int {
	first := len(b.line)
	earliest := func(list []*fact) {
		for _, g := range list {
			first = min(first, b.position(g))
		}
	}
	switch body := f.Body.(type) {
	case *RunSupers:
		run := b.runKnown(body.RunID)
		earliest(run.out)
		earliest(b.readings[run.id])
	case *Pull:
		resting := b.pulls[f.root.ID]
		earliest(resting)
		for _, s := range resting {
			run := b.runKnown(s.Body.(*RunSupers).RunID)
			earliest(run.out)
			earliest(b.readings[run.id])
		}
	case *Reading:
		first = min(first, b.firstRead(body.On.ID))
	case *Calibration:
		first = min(first, b.firstTrusting(f, body.InstrumentID))
	case *TemperatureLog:
		first = min(first, b.firstWarmed(f))
	case *Lot:
		earliest(b.fills[f.root.ID])
	case *SuperKind, *ContainerKind, *Tank, *Room, *Instrument:
		if f.root.last != f.root {
			return 0
		}
	}
	return first
}

// firstRead is the first honey in the line of which a reading on a run or pull
// says what it was, also where that run or pull cannot be read itself.
func (b *Book) firstRead(on ID) int {
	on = b.rootID(on)
	first := len(b.line)
	of := []*runFacts{b.runKnown(on)}
	for _, s := range b.pulls[on] {
		of = append(of, b.runKnown(s.Body.(*RunSupers).RunID))
	}
	for _, r := range of {
		for _, out := range r.out {
			first = min(first, b.position(out))
		}
	}
	return first
}

// setWithdrawn notes that a chain has ended in a withdrawal, or was taken up
// again.
func (b *Book) setWithdrawn(root *fact, gone bool) {
	for f := root; f != nil; f = f.by {
		if gone {
			b.gone[f.ID] = true
		} else {
			delete(b.gone, f.ID)
		}
	}
}

// firstNaming is the first place in the line that names a thing.
func (b *Book) firstNaming(root *fact) int {
	var chain []ID
	for f := root; f != nil; f = f.by {
		chain = append(chain, f.ID)
	}
	i := slices.IndexFunc(b.line, func(f *fact) bool {
		var room [namesRoom]ID
		for _, id := range names(room[:0], f.Body) {
			if slices.Contains(chain, id) {
				return true
			}
		}
		return false
	})
	if i < 0 {
		return len(b.line)
	}
	return i
}

// namesRoom is room for what nearly every body names.
const namesRoom = 8

// Mentions reports whether an entry names another one, as what it is about or replaces.
func (e *Entry) Mentions(id ID) bool {
	var room [namesRoom]ID
	return e.Replaces == id || slices.Contains(names(room[:0], e.Body), id)
}

// names adds the IDs that a body names to a list.
func names(list []ID, body Body) []ID {
	add := func(ids ...ID) {
		for _, id := range ids {
			if id != (ID{}) {
				list = append(list, id)
			}
		}
	}
	switch x := body.(type) {
	case *Tank:
		add(x.FeedsTankID)
	case *HiveCount:
		add(x.YardID)
	case *Pull:
		add(x.YardID, x.RoomID)
		for _, s := range x.Supers {
			add(s.SuperKindID)
		}
	case *RunSupers:
		add(x.RunID, x.PullID, x.SuperKindID)
	case *Load:
		add(x.RunID)
	case *RunEnd:
		add(x.RunID)
	case *Movement:
		add(x.From.ID, x.To.ID)
	case *Stocktake:
		add(x.TankID)
	case *Wash:
		add(x.TankID)
	case *Lot:
		add(x.StoreID)
	case *Fill:
		add(x.LotID, x.TankID, x.ContainerKindID)
	case *Reading:
		add(x.On.ID, x.InstrumentID)
	case *Calibration:
		add(x.InstrumentID)
	case *TemperatureLog:
		add(x.On.ID)
	case *PreparedBlend:
		add(x.TankID)
		for _, t := range x.Takes {
			add(t.From.ID)
		}
	case *AdoptedPlan:
		add(x.abouts()...)
	case *Contract:
		add(x.BuyerID, x.RuleSet.RuleSetID)
	case *PreparedDispatch:
		add(x.BuyerID)
		add(x.Containers...)
		for _, l := range x.Lots {
			add(l.LotID)
		}
	case *Dispatch:
		add(x.BuyerID, x.PreparedID)
		add(x.Containers...)
	case *LaboratoryCertificate:
		add(x.ReadingID)
	case *Photo:
		add(x.EntryID)
	case *Acceptance:
		add(x.EntryID)
		add(x.With...)
	default:
		return qualityNames(list, body)
	}
	return list
}

// byContainer puts fills in order of their containers' numbers.
func byContainer(a, b *fact) int {
	return cmp.Or(strings.Compare(a.Body.(*Fill).Container, b.Body.(*Fill).Container), order(a, b))
}
