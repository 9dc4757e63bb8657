package trace

import (
	"maps"
	"slices"

	"pullbook/domain/ledger"
)

// Resting is what rested, right before some entries that are taken in together, on figures
// that they may change: dispatches, checks, and the sheets of lots as one printed then has
// them.
type Resting struct {
	by []*ledger.Entry
	of []rested
	bearing
	// Unfinished says that there was too much to look at, so that some may be missing.
	Unfinished bool
}

type rested struct {
	Relied
	was figures
}

// bearing says which figures entries may change beside what is expected of the honey: where it
// came from and how much it is, and what was read of it.
type bearing struct{ origin, read bool }

// bearingOf is of one entry, and rather more than less.
func bearingOf(e *ledger.Entry) bearing {
	if e.Replaces != (ledger.ID{}) {
		return bearing{true, true}
	}
	inContainer := func(p ledger.Place) bool { return p.Kind == ledger.PlaceContainer || p.Kind == ledger.PlaceLot }
	switch body := e.Body.(type) {
	case *ledger.Reading:
		return bearing{read: inContainer(body.On)}
	case *ledger.TemperatureLog:
		return bearing{}
	case *ledger.Movement:
		return bearing{origin: true, read: inContainer(body.From) || inContainer(body.To)}
	case *ledger.Stocktake, *ledger.Wash, *ledger.RunSupers, *ledger.Pull:
		return bearing{origin: true}
	}
	return bearing{true, true}
}

// mostRested bounds the containers whose figures are looked at at a time, some
// milliseconds, since nobody can look at the book meanwhile.
const mostRested = 2000

// RestingOn looks at a book before it takes in its next entries, together. Only what happened
// from the first place on that they have walked again can change with them. Sheets are those of
// lots that were checked, decided about or sent; what a store's log says of its
// temperature goes on by itself and makes no sheet old.
func RestingOn(b *ledger.Book, entries ...*ledger.Entry) (r *Resting) {
	r = &Resting{by: entries}
	defer func() {
		if recover() != nil { // the entry is set aside; nothing rests on it
			*r = Resting{by: entries, Unfinished: true}
		}
	}()
	s := spreadOf(b, entries)
	if s == nil {
		return r
	}
	for _, e := range entries {
		bears := bearingOf(e)
		r.origin, r.read = r.origin || bears.origin, r.read || bears.read
	}
	room := mostRested
	for _, x := range s.relied() {
		containers := x.in(b)
		if room -= len(containers); room < 0 {
			r.Unfinished = true
			break
		}
		r.of = append(r.of, rested{x, r.figuresAtEnd(b, x, containers)})
	}
	return r
}

// Superseded is what of it has other figures in a book that has the entries. Through are
// those, and Entry is the one before them.
func (r *Resting) Superseded(b *ledger.Book) (out []Superseding) {
	defer func() {
		if recover() != nil {
			out, r.Unfinished = nil, true
		}
	}()
	for _, x := range r.of {
		changes := differences(b, x.was, r.figuresAtEnd(b, x.Relied, x.in(b)))
		if len(changes) > 0 {
			out = append(out, Superseding{Relied: x.Relied, OnName: placeName(b, x.On), Changes: changes, Through: r.by})
		}
	}
	return out
}

// spread is how far entries may reach: the honey that they are about, and what that honey
// came into later.
type spread struct {
	b *ledger.Book
	// own are the entries, or what they replace.
	own map[ledger.ID]bool
	// first is the entry that has most walked again, and walks how much.
	first *ledger.Entry
	walks int
	// all says that it may be any honey.
	all                          bool
	holders, lots, pulls, stores map[ledger.ID]bool
	rested                       []Relied
}

// spreadOf is nil for entries that change no figure of honey.
func spreadOf(b *ledger.Book, entries []*ledger.Entry) *spread {
	s := &spread{b: b, first: entries[0], own: map[ledger.ID]bool{}, holders: map[ledger.ID]bool{}, lots: map[ledger.ID]bool{}, pulls: map[ledger.ID]bool{}, stores: map[ledger.ID]bool{}}
	for _, e := range entries {
		own := e.ID
		for _, was := range b.Chain(e.Replaces) {
			s.begin(was.Body, was.ID)
			own = b.Root(was.ID)
		}
		s.own[own] = true
		s.begin(e.Body, e.ID)
		if len(entries) > 1 {
			if walks := b.Walks(e); walks > s.walks {
				s.first, s.walks = e, walks
			}
		}
	}
	if !s.all && len(s.holders)+len(s.lots)+len(s.pulls)+len(s.stores) == 0 {
		return nil
	}
	return s
}

// begin notes what an entry is about.
func (s *spread) begin(said ledger.Body, id ledger.ID) {
	root := s.b.Root
	switch body := said.(type) {
	case *ledger.Movement:
		s.hold(body.From.ID, body.To.ID)
	case *ledger.Stocktake:
		s.hold(body.TankID)
	case *ledger.Wash:
		s.hold(body.TankID)
	case *ledger.Fill:
		s.hold(body.TankID, id)
		s.lots[root(body.LotID)] = true
	case *ledger.Dispatch:
		s.hold(body.Containers...)
	case *ledger.RunSupers:
		s.hold(body.RunID)
	case *ledger.Pull:
		s.pulls[root(id)] = true
	case *ledger.Reading:
		switch body.On.Kind {
		case ledger.PlacePull:
			s.pulls[root(body.On.ID)] = true
		case ledger.PlaceLot:
			s.lots[root(body.On.ID)] = true
		default:
			s.hold(body.On.ID)
		}
	case *ledger.TemperatureLog:
		if body.On.Kind == ledger.PlaceRoom {
			s.stores[root(body.On.ID)] = true
		} else {
			s.hold(body.On.ID)
		}
	case *ledger.Lot:
		s.lots[root(id)] = true
	case *ledger.Calibration, *ledger.Instrument, *ledger.SuperKind, *ledger.Room, *ledger.Tank, *ledger.Import, *ledger.Unreadable:
		s.all = true
	}
}

// hold notes tanks, runs and containers, and the lots that the containers are of.
func (s *spread) hold(ids ...ledger.ID) {
	for _, id := range ids {
		s.holders[s.b.Root(id)] = true
		if fill := ledger.Named[ledger.Fill](s.b, id); fill != nil {
			s.lots[s.b.Root(fill.LotID)] = true
		}
	}
}

// relied walks what the entries have walked again, and lists what relied on honey that they may
// reach: dispatches and checks in order of occurrence, and then lots.
func (s *spread) relied() []Relied {
	known, walked := s.b.Len(), false
	for root, e := range s.b.Again(s.first) {
		if walked = true; s.own[root] {
			continue
		}
		switch body := e.Body.(type) {
		case *ledger.Movement:
			if s.reaches(body.From) {
				s.hold(body.To.ID)
			}
		case *ledger.Fill:
			if s.reaches(ledger.Place{Kind: ledger.PlaceTank, ID: body.TankID}) {
				s.hold(root)
			}
		case *ledger.Dispatch:
			if s.all || slices.ContainsFunc(body.Containers, s.has) {
				s.rested = append(s.rested, Relied{Entry: known, By: e, at: e.OccurredAt, containers: body.Containers,
					On: ledger.Place{Kind: ledger.PlaceBuyer, ID: s.b.Root(body.BuyerID)}})
			}
		case *ledger.Check:
			if body.Found != nil && (s.all || s.hasLot(body.LotID)) {
				s.rested = append(s.rested, Relied{Entry: known, By: e, at: e.OccurredAt, On: ledger.Place{Kind: ledger.PlaceLot, ID: s.b.Root(body.LotID)}})
			}
		}
	}
	if walked {
		s.sheets()
	}
	return s.rested
}

// reaches reports whether what comes out of a place may be otherwise.
func (s *spread) reaches(from ledger.Place) bool {
	if s.all || s.holders[s.b.Root(from.ID)] {
		return true
	}
	if from.Kind != ledger.PlaceRun || len(s.pulls)+len(s.stores) == 0 {
		return false
	}
	mix := s.b.Harvest(from.ID).Mix
	return mix != nil && slices.ContainsFunc(mix.Parts, func(p ledger.Part) bool {
		pull := ledger.Named[ledger.Pull](s.b, p.Origin)
		return s.pulls[s.b.Root(p.Origin)] || pull != nil && s.stores[s.b.Root(pull.RoomID)]
	})
}

// has reports whether figures of a container, or those read of its lot, may be otherwise.
func (s *spread) has(container ledger.ID) bool {
	fill := ledger.Named[ledger.Fill](s.b, container)
	return fill != nil && s.hasLot(fill.LotID)
}

func (s *spread) hasLot(id ledger.ID) bool {
	lot := ledger.Named[ledger.Lot](s.b, id)
	return s.lots[s.b.Root(id)] || lot != nil && s.stores[s.b.Root(lot.StoreID)]
}

// sheets lists the lots of which somebody may have a sheet.
func (s *spread) sheets() {
	sold := map[ledger.ID]bool{}
	s.b.InForceOf(ledger.KindCheck, func(_ ledger.ID, e *ledger.Entry) bool {
		sold[s.b.Root(e.Body.(*ledger.Check).LotID)] = true
		return true
	})
	at := s.b.Latest()
	list := func(lot ledger.ID) {
		if s.own[lot] || s.b.InForce(lot) == nil {
			return
		}
		if state := s.b.State(); !sold[lot] && state.LotMass(lot).DispatchedG == 0 && s.b.Decided(lot, at).By == nil {
			return
		}
		s.rested = append(s.rested, Relied{Entry: s.b.Len(), On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, at: at})
	}
	if !s.all {
		for _, lot := range slices.SortedFunc(maps.Keys(s.lots), func(x, y ledger.ID) int { return slices.Compare(x[:], y[:]) }) {
			list(lot)
		}
		return
	}
	s.b.InForceOf(ledger.KindLot, func(root ledger.ID, _ *ledger.Entry) bool {
		list(root)
		return true
	})
}

// figuresAtEnd are those that something rests on and that the entries may change, as a book has
// them at its end.
func (bears bearing) figuresAtEnd(b *ledger.Book, r Relied, containers []ledger.ID) figures {
	f := figures{}
	if bears.origin {
		f.come(b, r.On, containers)
	}
	if bears.read {
		f.readIn(b, r.On, containers, r.at)
	}
	if r.By == nil {
		if belief, known := b.State().BeliefOfAll(containers, r.at); known {
			f.expected(r.On, expectedOf(belief))
		}
		return f
	}
	if expected, known := b.State().ExpectedWhen(r.By.ID); known {
		f.expected(r.On, expected)
	}
	return f
}
