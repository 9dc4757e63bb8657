package trace

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Relied is something that rested on figures of containers as the book knew them
// at an entry: a dispatch, a check of a lot, or a sheet that was printed.
type Relied struct {
	// Entry is the last entry that the book had then.
	Entry int64
	// By is the dispatch or check; nil for a sheet.
	By *ledger.Entry
	// On is the lot, or the buyer of a dispatch.
	On ledger.Place
	// at is up to when what happened counted.
	at         time.Time
	containers []ledger.ID
}

// Superseding is what changed about figures that something had relied on.
type Superseding struct {
	Relied
	OnName  string
	Changes []Change
	// Through are the entries that came since and bear on it, by number: late
	// ones, corrections and withdrawals.
	Through []*ledger.Entry
}

// Sheet is a sheet about a lot that was printed when the book had so many
// entries.
type Sheet struct {
	Lot   ledger.ID
	Entry int64
}

// Superseded tells which dispatches, checks and sheets rest on figures that are
// not so any more, through what the book learned since of the time before. What
// happened after them does not count. They come in the order in which they
// relied.
func Superseded(b *ledger.Book, sheets ...Sheet) ([]Superseding, error) {
	t := Open(b)
	return t.superseded(t.relied(sheets))
}

// SupersededBy is Superseded for these dispatches and checks alone, by the IDs of
// the entries that stand.
func SupersededBy(b *ledger.Book, entries map[ledger.ID]bool) ([]Superseding, error) {
	t := Open(b)
	return t.superseded(slices.DeleteFunc(t.relied(nil), func(r Relied) bool { return !entries[r.By.ID] }))
}

func (t *Tracer) superseded(relied []Relied) ([]Superseding, error) {
	b := t.book
	var out []Superseding
	for _, r := range relied {
		if through := t.bearsOn(r); len(through) > 0 {
			out = append(out, Superseding{Relied: r, OnName: placeName(b, r.On), Through: through})
		}
	}
	if len(out) == 0 {
		return nil, nil
	}
	is := figuresNow(b, out)
	then, err := b.AsKnown(out[0].Entry)
	if err != nil {
		return nil, err
	}
	filled := filledLater(b)
	for k := range out {
		was, err := figuresThen(then, out[k].Relied, b, filled)
		if err != nil {
			return nil, err
		}
		out[k].Changes = differences(b, was, is[k])
	}
	return slices.DeleteFunc(out, func(s Superseding) bool { return len(s.Changes) == 0 }), nil
}

// figuresThen brings an earlier book on to where something relied on it, and has the
// figures that it relied on.
func figuresThen(then *ledger.Book, r Relied, b *ledger.Book, filled map[ledger.ID]bool) (figures, error) {
	if err := then.Learn(r.at, between(b, Span{then.Len() + 1, r.Entry})...); err != nil {
		return nil, err
	}
	state, containers := then.State(), r.in(then)
	if slices.ContainsFunc(containers, func(id ledger.ID) bool {
		e := then.InForce(id)
		return filled[then.Root(id)] || e != nil && e.OccurredAt.After(r.at)
	}) {
		// What is in one of them came later than that, and only the end of the line has it.
		state = then.StateAt(r.at)
		if err := then.Learn(then.Latest()); err != nil {
			return nil, err
		}
	}
	return ofContainers(then, state, r.On, containers, r.at), nil
}

// filledLater are the containers into which anything was ever moved after they were filled.
func filledLater(b *ledger.Book) map[ledger.ID]bool {
	out := map[ledger.ID]bool{}
	for e := range b.RecordedOf(ledger.KindMovement, 0) {
		if to := e.Body.(*ledger.Movement).To; to.Kind == ledger.PlaceContainer {
			out[b.Root(to.ID)] = true
		}
	}
	return out
}

// relied lists what rested on figures, in the order of the entries they knew.
func (t *Tracer) relied(sheets []Sheet) []Relied {
	var out []Relied
	for _, e := range t.book.Happened {
		switch body := e.Body.(type) {
		case *ledger.Dispatch:
			out = append(out, Relied{Entry: e.Number, By: e, at: e.OccurredAt, containers: body.Containers,
				On: ledger.Place{Kind: ledger.PlaceBuyer, ID: t.book.Root(body.BuyerID)}})
		case *ledger.Check:
			if body.Found != nil {
				out = append(out, t.onLot(body.LotID, min(body.Found.Through, e.Number), e, e.OccurredAt))
			}
		}
	}
	for _, s := range sheets {
		if s.Entry < 1 || s.Entry > t.through {
			continue
		}
		out = append(out, t.onLot(s.Lot, s.Entry, nil, lastBy(t.book, s.Entry)))
	}
	slices.SortStableFunc(out, func(x, y Relied) int { return cmp.Compare(x.Entry, y.Entry) })
	return out
}

// lastBy is when the last of what a book knew at an entry had happened.
func lastBy(b *ledger.Book, n int64) time.Time {
	var last time.Time
	for e := range b.Entries {
		if e.Number > n {
			break
		}
		if e.OccurredAt.After(last) {
			last = e.OccurredAt
		}
	}
	return last
}

func (t *Tracer) onLot(lot ledger.ID, n int64, by *ledger.Entry, at time.Time) Relied {
	return Relied{Entry: n, By: by, On: ledger.Place{Kind: ledger.PlaceLot, ID: t.book.Root(lot)}, at: at}
}

// in lists the containers that it is about, as a book has them.
func (r Relied) in(b *ledger.Book) []ledger.ID {
	if r.On.Kind != ledger.PlaceLot {
		return r.containers
	}
	return b.Basis(r.On.ID, r.at).Fills
}

// figuresNow has the figures that each rested on as the book has them now. It
// walks the line once, in order of when they relied.
func figuresNow(b *ledger.Book, rested []Superseding) []figures {
	order := make([]int, len(rested))
	for k := range order {
		order[k] = k
	}
	slices.SortFunc(order, func(x, y int) int { return rested[x].at.Compare(rested[y].at) })
	state := b.StateAt(rested[order[0]].at)
	out := make([]figures, len(rested))
	for _, k := range order {
		state.Until(rested[k].at)
		out[k] = ofContainers(b, state, rested[k].On, rested[k].in(b), rested[k].at)
	}
	return out
}

// bearsOn lists the entries after it that tell of the time before it, and of
// honey, supers, warmth or instruments that it rests on.
func (t *Tracer) bearsOn(r Relied) []*ledger.Entry {
	if r.Entry == t.through {
		return nil
	}
	u := t.upstream(r)
	var out []*ledger.Entry
	for n := r.Entry + 1; n <= t.through; n++ {
		e := t.book.Numbered(n)
		if e == r.By || t.tellsOfAfter(e, r.at) {
			continue
		}
		old, _ := t.book.Entry(e.Replaces)
		if u.touches(e) || old != nil && u.touches(old) {
			out = append(out, e)
		}
	}
	return out
}

// tellsOfAfter reports whether an entry can only change what was after an
// instant. What was booked into a run or read on it, and what an instrument is
// found to be, tells of the time before as well.
func (t *Tracer) tellsOfAfter(e *ledger.Entry, at time.Time) bool {
	if e.Replaces != (ledger.ID{}) || !e.OccurredAt.After(at) {
		return false
	}
	switch x := e.Body.(type) {
	case *ledger.RunSupers, *ledger.Calibration:
		return false
	case *ledger.Reading:
		return x.On.Kind != ledger.PlaceRun && x.On.Kind != ledger.PlacePull
	case *ledger.TemperatureLog:
		return x.Points[0].At.After(at)
	}
	return true
}

// upstream is all that containers rest on.
type upstream struct {
	t *Tracer
	Relied
	// until says, by holder, up to when what happened to it matters.
	until map[ledger.ID]time.Time
	pulls map[ledger.ID]bool
	lots  map[ledger.ID]bool
	// stood are the rooms that its boxes and containers stood in; read are the
	// instruments that it was measured with on its way.
	stood, read map[ledger.ID]bool
}

func (t *Tracer) upstream(r Relied) *upstream {
	u := &upstream{t: t, Relied: r, until: map[ledger.ID]time.Time{}, pulls: map[ledger.ID]bool{}, lots: map[ledger.ID]bool{},
		stood: map[ledger.ID]bool{}, read: map[ledger.ID]bool{}}
	ids := r.in(t.book)
	targets := t.targets(ids)
	reach := t.reach(targets)
	for at, last := range reach {
		if last < 0 {
			continue
		}
		until := r.at
		if last < len(t.flows) {
			until = t.flows[last].Entry.OccurredAt
		}
		u.until[t.holders[at].ID] = until
		if run := t.runs[at]; run != nil {
			for _, p := range run.mix.Parts {
				u.pulls[p.Origin] = true
			}
		}
	}
	for _, id := range ids {
		u.until[t.book.Root(id)] = r.at
		if fill := ledger.Named[ledger.Fill](t.book, id); fill != nil {
			u.lots[t.book.Root(fill.LotID)] = true
		}
	}
	if r.On.Kind == ledger.PlaceLot {
		u.lots[r.On.ID] = true
	}
	u.surroundings()
	return u
}

// surroundings notes the rooms and instruments.
func (u *upstream) surroundings() {
	for lot := range u.lots {
		if x := ledger.Named[ledger.Lot](u.t.book, lot); x != nil {
			u.stood[u.t.book.Root(x.StoreID)] = true
		}
		u.measured(lot)
	}
	for pull := range u.pulls {
		if x := ledger.Named[ledger.Pull](u.t.book, pull); x != nil {
			u.stood[u.t.book.Root(x.RoomID)] = true
		}
		u.measured(pull)
	}
	for holder := range u.until {
		u.measured(holder)
	}
	delete(u.stood, ledger.ID{})
}

func (u *upstream) measured(on ledger.ID) {
	for _, e := range u.t.toldOf().mentions[on] {
		u.read[u.t.book.Root(e.Body.(*ledger.Reading).InstrumentID)] = true
	}
}

func (u *upstream) touches(e *ledger.Entry) bool {
	root := u.t.book.Root
	holder := func(ids ...ledger.ID) bool {
		return slices.ContainsFunc(ids, func(id ledger.ID) bool {
			until, known := u.until[root(id)]
			return known && !e.OccurredAt.After(until)
		})
	}
	known := func(id ledger.ID) bool { _, has := u.until[root(id)]; return has }
	corrected := e.Replaces != ledger.ID{}
	switch body := e.Body.(type) {
	case *ledger.Movement:
		return holder(body.From.ID, body.To.ID)
	case *ledger.Stocktake:
		return holder(body.TankID)
	case *ledger.Wash:
		return holder(body.TankID)
	case *ledger.Fill:
		return holder(body.TankID) || known(e.ID) || u.On.Kind == ledger.PlaceLot && u.lots[root(body.LotID)] && !e.OccurredAt.After(u.at)
	case *ledger.Dispatch:
		return e != u.By && holder(body.Containers...)
	case *ledger.RunSupers:
		return known(body.RunID)
	case *ledger.Pull:
		return u.pulls[root(e.ID)]
	case *ledger.SuperKind:
		return corrected
	case *ledger.Reading:
		return u.rests(body, e.OccurredAt, holder)
	case *ledger.TemperatureLog:
		return u.stood[root(body.On.ID)] || known(body.On.ID)
	case *ledger.Calibration:
		return u.read[root(body.InstrumentID)]
	case *ledger.Instrument:
		return corrected && u.read[root(e.ID)]
	case *ledger.Lot:
		return corrected && u.lots[root(e.ID)]
	case *ledger.Room:
		return corrected && u.stood[root(e.ID)]
	case *ledger.Tank:
		return corrected && known(e.ID)
	}
	return false
}

// rests reports whether anything rests on a reading: one on the way of the honey,
// or one of the lot or its containers before.
func (u *upstream) rests(r *ledger.Reading, at time.Time, holder func(...ledger.ID) bool) bool {
	on := u.t.book.Root(r.On.ID)
	switch r.On.Kind {
	case ledger.PlaceRun:
		_, known := u.until[on]
		return known
	case ledger.PlacePull:
		return u.pulls[on]
	case ledger.PlaceLot:
		return u.lots[on] && !at.After(u.at)
	}
	return holder(on)
}
