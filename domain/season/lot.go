package season

import (
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// ContainerState says where a container is.
type ContainerState string

const (
	// Held: it stands in the store with its honey.
	Held ContainerState = "held"
	// Dispatched: it left for a buyer.
	Dispatched ContainerState = "dispatched"
	// Reworked: its honey went back to a tank.
	Reworked ContainerState = "reworked"
	// Wasted: its honey was thrown out.
	Wasted ContainerState = "wasted"
)

// Container is one drum, pail or tote of a lot.
type Container struct {
	ID     ledger.ID
	Number string
	Kind   string
	// TareG, GrossG and NetG are as filled, HeldG is in it now.
	TareG, GrossG, NetG int64
	HeldG               int64
	Seal                string
	FilledAt            time.Time
	TankID              ledger.ID
	Tank                string
	State               ContainerState
	// GoneAt is when it left or was emptied; the zero time while held.
	GoneAt time.Time
	// Buyer is who took it, where it was dispatched.
	Buyer string
	// Expected is what the book expects of it at the last thing that happened;
	// nil where nothing is in it, and in lists of lots.
	Expected *ledger.Belief
}

// LotReport is a lot with all that is known of it.
type LotReport struct {
	LotID ledger.ID
	ledger.Lot
	// Containers are in order of their numbers.
	Containers []Container
	// NetG is all that was filled; HeldG is here now, DispatchedG left for
	// buyers, and the rest was reworked or thrown out.
	NetG, HeldG, DispatchedG int64
	// Moisture are the readings on the lot and its containers, earliest first;
	// MoisturePct is the mean by net weight of containers read, or of readings
	// on the lot where no container was.
	Moisture    []Moisture
	MoisturePct *float64
	// MakeUp splits NetG by yard and pull.
	MakeUp []Source
	// Expected is what the book expects, at the last thing that happened, of
	// what is here; nil where nothing is, and in lists of lots.
	Expected *ledger.Belief
	// FirstFill and LastFill are zero times while nothing is filled.
	FirstFill, LastFill time.Time
}

// Lot reports a lot. It fails where lotID names no lot that stands.
func Lot(b *ledger.Book, lotID ledger.ID) (*LotReport, error) {
	lot, err := inForce[ledger.Lot](b, lotID, "lot")
	if err != nil {
		return nil, err
	}
	r := lotReport(b, b.Root(lotID), lot)
	r.expect(b)
	return r, nil
}

// lotReport is a report without what is expected of the honey, which is most of the work.
func lotReport(b *ledger.Book, root ledger.ID, lot *ledger.Lot) *LotReport {
	state := b.State().Lot(root)
	r := lotStock(b, root, lot, state)
	r.MakeUp = makeUp(b, state.Mix, state.FilledG)
	return r
}

// expect adds what the book expects of what is here.
func (r *LotReport) expect(b *ledger.Book) {
	if belief, ok := b.State().BeliefOfLot(r.LotID, b.Latest()); ok && r.HeldG > 0 {
		r.Expected = &belief
	}
	for i := range r.Containers {
		c := &r.Containers[i]
		if belief, ok := b.State().BeliefAt(c.ID, b.Latest()); ok && c.HeldG > 0 {
			c.Expected = &belief
		}
	}
}

// lotStock is lotReport without what a lot is made of.
func lotStock(b *ledger.Book, root ledger.ID, lot *ledger.Lot, state ledger.LotState) *LotReport {
	r := &LotReport{LotID: root, Lot: *lot, NetG: state.FilledG, HeldG: state.HeldG, DispatchedG: state.DispatchedG}
	r.Containers = slices.Grow(r.Containers, len(state.Containers))
	for _, id := range state.Containers {
		c := container(b, id)
		if r.FirstFill.IsZero() || c.FilledAt.Before(r.FirstFill) {
			r.FirstFill = c.FilledAt
		}
		if c.FilledAt.After(r.LastFill) {
			r.LastFill = c.FilledAt
		}
		r.Containers = append(r.Containers, c)
	}
	r.readings(readingsOnLot(b, root))
	return r
}

// readings gathers moisture of the lot and its containers, by net weight.
func (r *LotReport) readings(on map[ledger.Place][]Moisture) {
	var ofLot, ofContainers mean
	r.Moisture = slices.Clone(on[ledger.Place{Kind: ledger.PlaceLot, ID: r.LotID}])
	for _, m := range r.Moisture {
		ofLot.add(m.Pct, 1)
	}
	for _, c := range r.Containers {
		var each mean
		for _, m := range on[ledger.Place{Kind: ledger.PlaceContainer, ID: c.ID}] {
			each.add(m.Pct, 1)
			r.Moisture = append(r.Moisture, m)
		}
		if pct := each.value(); pct != nil {
			ofContainers.add(*pct, float64(c.NetG))
		}
	}
	slices.SortStableFunc(r.Moisture, func(a, b Moisture) int { return a.order - b.order })
	if r.MoisturePct = ofContainers.value(); r.MoisturePct == nil {
		r.MoisturePct = ofLot.value()
	}
}

func container(b *ledger.Book, id ledger.ID) Container {
	e := b.InForce(id)
	fill := e.Body.(*ledger.Fill)
	h, _ := b.State().Holder(id)
	c := Container{
		ID: id, Number: fill.Container,
		TareG: fill.TareG, GrossG: fill.GrossG, NetG: fill.NetG(), HeldG: h.Grams,
		Seal: fill.Seal, FilledAt: e.OccurredAt,
		TankID: b.Root(fill.TankID), State: Held,
	}
	if k := ledger.Named[ledger.ContainerKind](b, fill.ContainerKindID); k != nil {
		c.Kind = k.Name
	}
	if t := ledger.Named[ledger.Tank](b, fill.TankID); t != nil {
		c.Tank = t.Name
	}
	if h.Gone != nil {
		c.GoneAt = h.Gone.OccurredAt
		c.gone(b, h.Gone)
	}
	return c
}

func (c *Container) gone(b *ledger.Book, by *ledger.Entry) {
	switch body := by.Body.(type) {
	case *ledger.Dispatch:
		c.State, c.Buyer = Dispatched, buyerName(b, body.BuyerID)
	case *ledger.Movement:
		c.State = Reworked
		if body.To.Kind == ledger.PlaceWaste {
			c.State = Wasted
		}
	}
}
