package trace

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// Amount is how much of a source is in something, in whole grams.
type Amount struct {
	// Grams is under perfect mixing, to the nearest.
	Grams int64
	// LeastG and MostG hold however badly it mixed and whatever weights and shares may
	// be off, rounded outwards. The most is never more than there may be of the source.
	LeastG, MostG int64
}

// roundingG is less than any gram, and more than what adding floats loses.
const roundingG = 1e-5

// amount is a portion of net grams, of a source of which there are at most so many in
// all.
func (p portion) amount(ofAll float64, netG int64) Amount {
	top := min(p.top, max(ofAll, p.grams), float64(netG))
	return Amount{int64(math.Round(p.grams)), int64(math.Floor(p.least + roundingG)), int64(math.Ceil(top - roundingG))}
}

// Container is one that may hold honey of a subject.
type Container struct {
	ID     ledger.ID
	Number string
	LotID  ledger.ID
	Lot    string
	State  season.ContainerState
	// NetG is the honey in it, or that was in it when it left.
	NetG int64
	// Of is how much of that is the subject's. All zeros stand for a heel: there
	// may be some, and the book does not know how much.
	Of Amount
	// GoneAt is when it left or was emptied; Buyer took it.
	GoneAt  time.Time
	BuyerID ledger.ID
	Buyer   string
}

// Tank is one that may hold honey of a subject now.
type Tank struct {
	ID    ledger.ID
	Name  string
	HeldG int64
	Of    Amount
}

// Buyer is one who was sent containers that may hold honey of a subject.
type Buyer struct {
	ID         ledger.ID
	Name       string
	Containers int
	NetG       int64
	Of         Amount
}

// Forward is where the honey of a subject is or went.
type Forward struct {
	Subject Subject
	Name    string
	Through int64
	// TotalG is all honey of the subject. Under perfect mixing it is what is on
	// hand, in tanks, dispatched, wasted and lost; rounding apart.
	TotalG int64
	// Containers are in order of lot and number.
	Containers []Container
	Tanks      []Tank
	Buyers     []Buyer
	// OnHand, InTanks and Dispatched sum up those lists; OnHandNetG and
	// DispatchedNetG are the whole honey of the containers, to be blocked or
	// called back.
	OnHand, InTanks, Dispatched Amount
	OnHandNetG, DispatchedNetG  int64
	// WastedG was thrown out, LostG went with washes and stocktakes.
	WastedG, LostG int64
	// NotTightest tells that tighter bounds than some of these would have been too
	// much work; these hold all the same.
	NotTightest bool
}

// Forward follows a subject to every tank, container and buyer that may have
// honey of it.
func (t *Tracer) Forward(s Subject) *Forward {
	f := &forward{walk: t.newWalk(), out: &Forward{Subject: s, Name: s.Name(t.book), Through: t.through}, left: map[int32]leaving{},
		parts: map[ledger.ID]portion{}, nodes: map[ledger.ID]demand{}, asked: map[group][]demand{}}
	f.tags, f.marked, f.seen = s.tags(t), s.marks(t), f.watch
	if f.marked != nil {
		f.tags = func(int32, *run) []portion { return nil }
	}
	f.times = newTimeline(len(t.holders), f.tags)
	f.maybeOf = f.times.mayBe
	for i, m := range t.moves {
		f.through = f.times.carry(t, m, f.marked != nil && f.marked(i))
		f.step(i)
	}
	total, most := 0.0, 0.0
	for at, r := range t.runs {
		if r == nil {
			continue
		}
		for _, p := range f.tags(int32(at), r) {
			total, most = total+p.grams, most+p.top
		}
	}
	f.all = most + f.mostMarkedG
	if len(f.maybe) > 0 {
		f.all += f.maybe[0]
	}
	total += f.markedG
	f.times.ready(mostWorkForward)
	f.gather()
	f.out.TotalG = int64(math.Round(total))
	f.out.WastedG, f.out.LostG = int64(math.Round(f.wasted)), int64(math.Round(f.lost))
	return f.out
}

type forward struct {
	*walk
	out          *Forward
	wasted, lost float64
	// all is the most that there can be of the subject's honey.
	all  float64
	left map[int32]leaving
	// sentBefore left for buyers in containers that the book has honey come into later.
	sentBefore []leaving
	// through is where the move that is watched goes through in times.
	times   *timeline
	through int32
	// parts and nodes are what its containers and tanks have and where they stand in
	// times; asked are the nodes of groups of them.
	parts map[ledger.ID]portion
	nodes map[ledger.ID]demand
	asked map[group][]demand
}

// group is containers in one state, with one buyer where they were sent; all zeros
// stand for the tanks.
type group struct {
	state season.ContainerState
	buyer ledger.ID
}

// mostWorkForward bounds the work for the bounds of one trace forward, in looks at
// arcs of its network: less than a second.
const mostWorkForward = 5_000_000

// amount is a portion of what is asked, with the tightest bounds if these are not
// too much work.
func (f *forward) amount(p portion, asked ...demand) Amount {
	a := p.amount(f.all, netOf(asked))
	if a.LeastG == a.MostG {
		return a
	}
	if least, most, ok := f.times.bounds(0, asked); ok {
		a.LeastG, a.MostG = least, most
	} else {
		f.out.NotTightest = true
	}
	return a
}

// leaving is what last left a container.
type leaving struct {
	netG int64
	part portion
	may  bool
	// asked is where it went through.
	asked demand
	// sent tells that it left for a buyer.
	sent bool
}

// watch takes up what leaves holders for good, and what leaves containers.
func (f *forward) watch(i int, carried []portion) {
	m, flow := f.moves[i], &f.flows[i]
	var p portion
	if len(carried) > 0 {
		p = carried[0]
		p.least = max(0, p.least-m.off())
	}
	switch flow.To.Kind {
	case ledger.PlaceWaste:
		f.wasted += p.grams
	case "":
		f.lost += p.grams
	}
	if flow.From.Kind == ledger.PlaceContainer && m.grams > m.short {
		if was, again := f.left[m.from]; again && was.sent {
			f.sentBefore = append(f.sentBefore, was)
		}
		f.left[m.from] = leaving{m.grams, p, len(carried) > 0 || f.in(m.from).may.has(0), f.times.gone(f.through, m), flow.To.Kind == ledger.PlaceBuyer}
	}
}

// gather lists where the honey ended up.
func (f *forward) gather() {
	var onHand, inTanks, sent portion
	buyers := map[ledger.ID]*portion{}
	for at, place := range f.holders {
		switch place.Kind {
		case ledger.PlaceTank:
			if tank, p, may := f.tank(int32(at)); may {
				f.out.Tanks = append(f.out.Tanks, tank)
				inTanks.add(p)
			}
		case ledger.PlaceContainer:
			c, p, may := f.container(int32(at))
			if left := f.left[int32(at)]; left.sent && c.State != season.Dispatched {
				f.sentBefore = append(f.sentBefore, left)
			}
			if !may {
				continue
			}
			f.out.Containers = append(f.out.Containers, c)
			switch c.State {
			case season.Held:
				onHand.add(p)
				f.out.OnHandNetG += c.NetG
			case season.Dispatched:
				sent.add(p)
				f.out.DispatchedNetG += c.NetG
				f.sentTo(c, p, buyers)
			}
		}
	}
	for _, left := range f.sentBefore {
		if left.may {
			sent.add(left.part)
			f.out.DispatchedNetG += left.netG
			f.asked[group{state: season.Dispatched}] = append(f.asked[group{state: season.Dispatched}], left.asked)
		}
	}
	f.out.OnHand = f.amount(onHand, f.asked[group{state: season.Held}]...)
	f.out.InTanks = f.amount(inTanks, f.asked[group{}]...)
	f.out.Dispatched = f.amount(sent, f.asked[group{state: season.Dispatched}]...)
	for i := range f.out.Buyers {
		b := &f.out.Buyers[i]
		b.Of = f.amount(*buyers[b.ID], f.asked[group{season.Dispatched, b.ID}]...)
	}
	f.each()
	f.sort()
}

// groups are those that a container's honey counts in.
func (f *forward) groups(c Container) []group {
	switch c.State {
	case season.Held:
		return []group{{state: c.State}}
	case season.Dispatched:
		return []group{{state: c.State}, {c.State, c.BuyerID}}
	}
	return nil
}

// each bounds what is in each tank and container, after the sums: these gain most.
func (f *forward) each() {
	for i := range f.out.Tanks {
		f.out.Tanks[i].Of = f.amount(f.parts[f.out.Tanks[i].ID], f.nodes[f.out.Tanks[i].ID])
	}
	for i := range f.out.Containers {
		f.out.Containers[i].Of = f.amount(f.parts[f.out.Containers[i].ID], f.nodes[f.out.Containers[i].ID])
	}
}

// ask notes what a tank or container has by portions, and which node stands for it.
func (f *forward) ask(id ledger.ID, p portion, d demand, groups ...group) {
	f.parts[id], f.nodes[id] = p, d
	for _, g := range groups {
		f.asked[g] = append(f.asked[g], d)
	}
}

func (f *forward) sentTo(c Container, p portion, buyers map[ledger.ID]*portion) {
	if buyers[c.BuyerID] == nil {
		buyers[c.BuyerID] = new(portion)
		f.out.Buyers = append(f.out.Buyers, Buyer{ID: c.BuyerID, Name: c.Buyer})
	}
	buyers[c.BuyerID].add(p)
	for i := range f.out.Buyers {
		if b := &f.out.Buyers[i]; b.ID == c.BuyerID {
			b.Containers++
			b.NetG += c.NetG
		}
	}
}

// now is what a holder has of the subject, and whether it may have any.
func (f *forward) now(at int32) (p portion, may bool) {
	c := f.in(at)
	if has := c.has(); len(has) > 0 {
		p = has[0]
	}
	return p, len(c.of) > 0 || c.may.has(0)
}

func (f *forward) tank(at int32) (Tank, portion, bool) {
	p, may := f.now(at)
	id := f.holders[at].ID
	if may {
		f.ask(id, p, f.times.held(at), group{})
	}
	return Tank{ID: id, Name: f.book.Name(id), HeldG: f.in(at).grams}, p, may
}

func (f *forward) container(at int32) (Container, portion, bool) {
	p, may := f.now(at)
	c := f.describe(at)
	d := f.times.held(at)
	if left, gone := f.left[at]; gone && c.State != season.Held {
		c.NetG, p, may = left.netG, left.part, left.may
		d = left.asked
	}
	if may {
		f.ask(c.ID, p, d, f.groups(c)...)
	}
	return c, p, may
}

// describe is a container without what it has of the subject.
func (t *Tracer) describe(at int32) Container {
	id := t.holders[at].ID
	h, _ := t.book.State().Holder(id)
	c := Container{ID: id, Number: t.book.Name(id), NetG: h.Grams, State: season.Held}
	if fill := ledger.Named[ledger.Fill](t.book, id); fill != nil {
		c.LotID, c.Lot = t.book.Root(fill.LotID), t.book.Name(fill.LotID)
	}
	if h.Gone == nil || h.Grams > 0 {
		return c
	}
	c.GoneAt = h.Gone.OccurredAt
	switch body := h.Gone.Body.(type) {
	case *ledger.Dispatch:
		c.State, c.BuyerID, c.Buyer = season.Dispatched, t.book.Root(body.BuyerID), placeName(t.book, ledger.Place{Kind: ledger.PlaceBuyer, ID: body.BuyerID})
	case *ledger.Movement:
		c.State = season.Reworked
		if body.To.Kind == ledger.PlaceWaste {
			c.State = season.Wasted
		}
	}
	return c
}

func (f *forward) sort() {
	slices.SortFunc(f.out.Containers, func(a, b Container) int {
		return cmp.Or(cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Number, b.Number), bytes.Compare(a.ID[:], b.ID[:]))
	})
	slices.SortFunc(f.out.Tanks, func(a, b Tank) int { return cmp.Or(cmp.Compare(a.Name, b.Name), bytes.Compare(a.ID[:], b.ID[:])) })
	slices.SortFunc(f.out.Buyers, func(a, b Buyer) int {
		return cmp.Or(cmp.Compare(b.NetG, a.NetG), cmp.Compare(a.Name, b.Name), bytes.Compare(a.ID[:], b.ID[:]))
	})
}
