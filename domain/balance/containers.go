package balance

import (
	"math"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// containerSD is how far the net of a container may be off: its scale, and its
// tare where that was taken from its kind.
func (h *house) containerSD(x *ledger.Fill) float64 {
	sd := h.finest
	if sd == 0 {
		sd = containerKg
	}
	if k := ledger.Named[ledger.ContainerKind](h.book, x.ContainerKindID); k != nil && k.TareG == x.TareG {
		sd = math.Hypot(sd, standardTareShare*kg(x.TareG))
	}
	return sd
}

// lotFrom is what went into a lot's containers from one tank.
type lotFrom struct {
	node string
	lot  ledger.ID
}

// writeFills writes what went into containers: lot by lot, since the scale
// cannot tell one drum from the next; a container that was poured back later by
// itself.
func (w *writer) writeFills() {
	flows := map[lotFrom]*flow{}
	var order []lotFrom
	for i := w.first; i < w.past; i++ {
		m := &w.moves[i]
		x, ok := m.body.(*ledger.Fill)
		t := m.from
		if !ok || t == nil {
			continue
		}
		netKg, sd := kg(x.NetG()), w.containerSD(x)
		if w.holds(w.fills[m.id].pouredAt) {
			w.write(&flow{said: message.F("the honey in %s", x.Container), from: w.node(t, i), to: containerNode(x), kind: Containers, basis: Weighed,
				kg: netKg, own: sd, common: []part{{"drum scale", containerCommonShare * netKg}},
				entries: []ledger.ID{m.id}, tank: t.id, lot: w.book.Root(x.LotID), tareKg: kg(x.TareG)})
			continue
		}
		key := lotFrom{w.node(t, i), w.book.Root(x.LotID)}
		f := flows[key]
		if f == nil {
			f = &flow{from: key.node, kind: Containers, basis: Weighed, tank: t.id, lot: key.lot, common: []part{{"drum scale", 0}}}
			flows[key] = f
			order = append(order, key)
		}
		f.kg += netKg
		f.own = math.Hypot(f.own, sd)
		f.common[0].kg += containerCommonShare * netKg
		f.tareKg += kg(x.TareG)
		f.entries = append(f.entries, m.id)
	}
	for _, key := range order {
		f := flows[key]
		n := len(f.entries)
		f.tareKg /= float64(n)
		lot, tank := w.book.Name(f.lot), w.book.Name(f.tank)
		f.said = message.F("the %s containers of lot %s from the %s", n, lot, tank)
		if n == 1 {
			f.said = message.F("the container of lot %s from the %s", lot, tank)
		}
		w.write(f)
	}
}

func containerNode(x *ledger.Fill) string { return "container " + x.Container }

// writePour writes honey that went back out of a container.
func (w *writer) writePour(i int, m *move, x *ledger.Movement) {
	f, to := m.out, m.to
	out := &flow{kind: PouredBack, basis: Weighed, kg: kg(x.MassG), entries: []ledger.ID{m.id},
		said: message.F("honey of %s poured back on %s", f.Container, w.clock(m.at))}
	if x.MassG == 0 {
		out.kg = f.leftKg()
	}
	out.own = w.movedSD(m, out.kg)
	if f.pouredAt.Equal(m.at) {
		// Its weight is that which it was filled with: it counts once.
		out.basis, out.from = Unseen, containerNode(f.Fill)
		if !w.holds(f.at) {
			w.writeOldContainer(f)
		}
	}
	if to != nil {
		out.to, out.tank = w.node(to, i), to.id
	}
	w.write(out)
}

// writeOldContainer brings in a container that was filled before the period.
func (w *writer) writeOldContainer(f *filled) {
	netKg := kg(f.NetG())
	said := message.F("the honey in %s", f.Container)
	if w.names[said.String()] {
		return
	}
	w.write(&flow{said: said, to: containerNode(f.Fill), kind: Start, basis: Weighed, kg: netKg, own: w.containerSD(f.Fill),
		common: []part{{"drum scale", containerCommonShare * netKg}}, entries: []ledger.ID{f.id}, lot: w.book.Root(f.LotID)})
}
