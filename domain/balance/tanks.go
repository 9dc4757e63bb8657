package balance

import (
	"fmt"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// A tank is a node of its own from one cut to the next: a stocktake says what it
// held then, a wash that it held next to nothing.

// cutTanks finds the stocktakes and washes of the period.
func (w *writer) cutTanks() {
	for _, t := range w.tanks {
		t.cuts = nil
		for _, i := range t.moves {
			if isCut(w.moves[i].body) && w.holds(w.moves[i].at) {
				t.cuts = append(t.cuts, i)
			}
		}
	}
}

func isCut(body ledger.Body) bool {
	switch body.(type) {
	case *ledger.Stocktake, *ledger.Wash:
		return true
	}
	return false
}

// node is the tank as it was when the i-th move was made; a cut itself belongs
// to the time before it.
func (w *writer) node(t *tank, i int) string {
	for _, c := range t.cuts {
		if i <= c {
			return w.nodeUpTo(t, c)
		}
	}
	return t.Name + " at the end"
}

func (w *writer) nodeUpTo(t *tank, cut int) string {
	m := w.moves[cut]
	what := "dip"
	switch x := m.body.(type) {
	case *ledger.Wash:
		what = "wash"
	case *ledger.Stocktake:
		if onScale(x) {
			what = "weighing"
		}
	}
	return fmt.Sprintf("%s up to the %s of %s, entry %d", t.Name, what, w.local(m.at).Format("2 Jan 15:04"), w.number(m.id))
}

// number is the place in the book of the entry that stands for a root.
func (h *house) number(root ledger.ID) int64 { return h.book.InForce(root).Number }

// writeTanks writes what the tanks held, took in and gave.
func (w *writer) writeTanks() {
	for _, t := range w.tanks {
		if !w.touched(t) {
			continue
		}
		w.writeStart(t)
		for _, i := range t.cuts {
			w.writeCut(t, i)
		}
		w.writeEnd(t)
	}
	for i, m := range w.moves {
		if !w.holds(m.at) {
			continue
		}
		if x, ok := m.body.(*ledger.Movement); ok {
			w.writeMovement(i, m, x)
		}
	}
	w.writeFills()
	w.writePumps()
}

// touched reports whether anything went on at a tank in the period, or at one
// that a float pump joins it with.
func (w *writer) touched(t *tank) bool {
	return w.moved(t) || t.feeds != nil && w.moved(t.feeds) || t.linked && w.fedByMoved(t)
}

func (w *writer) fedByMoved(t *tank) bool {
	for _, o := range w.tanks {
		if o.feeds == t && w.moved(o) {
			return true
		}
	}
	return false
}

func (w *writer) moved(t *tank) bool {
	for _, i := range t.moves {
		if w.holds(w.moves[i].at) {
			return true
		}
	}
	return false
}

// level is what a tank held, as far as it is known.
type level struct {
	kg, variance float64
	known        bool
	// by is what it was last had from.
	by []ledger.ID
}

// change is what a move put into a tank, below zero for what it took out, and
// how far that may be off.
func (h *house) change(t *tank, m move) (byKg, sd float64) {
	switch x := m.body.(type) {
	case *ledger.Movement:
		byKg = kg(x.MassG)
		if f := h.fills[h.book.Root(x.From.ID)]; f != nil && x.MassG == 0 {
			byKg = f.leftKg()
		}
		sd = h.movedSD(x, byKg)
		switch {
		case h.tankAt(x.From.ID) == t && h.tankAt(x.To.ID) == t:
			byKg = 0
		case h.tankAt(x.From.ID) == t:
			byKg = -byKg
		}
	case *ledger.Fill:
		byKg, sd = -kg(x.NetG()), h.containerSD(x)
	}
	return byKg, sd
}

// before is what a tank held as the period began: what the last cut said and
// what moved since. A tank that was never used is empty, unless the first thing
// that the book hears of it is what it holds. Of a tank with a float pump nothing
// is known once anything has moved.
func (w *writer) before(t *tank) level {
	l := level{known: len(t.moves) == 0 || !isCut(w.moves[t.moves[0]].body)}
	for _, i := range t.moves {
		m := w.moves[i]
		if !m.at.Before(w.From) {
			break
		}
		switch x := m.body.(type) {
		case *ledger.Stocktake:
			sd := levelKg(t.Tank, x)
			l = level{kg(x.MassG), sd * sd, true, []ledger.ID{m.id}}
		case *ledger.Wash:
			l = level{known: true}
		default:
			by, sd := w.change(t, m)
			l.kg += by
			l.variance += sd * sd
			l.known = l.known && !t.linked
		}
	}
	if t.linked && w.linkMoved(t, w.lastCut(t)) {
		l.known = false
	}
	// Below empty, what was written down cannot be all that happened.
	l.known = l.known && l.kg > -3*math.Sqrt(l.variance)-1
	l.kg = max(0, l.kg)
	return l
}

// lastCut is the last cut of a tank before the period.
func (w *writer) lastCut(t *tank) time.Time {
	var at time.Time
	for _, i := range t.moves {
		if m := w.moves[i]; m.at.Before(w.From) && isCut(m.body) {
			at = m.at
		}
	}
	return at
}

// linkMoved reports whether anything moved, between an instant and the period,
// at the tanks that a float pump joins with t.
func (w *writer) linkMoved(t *tank, since time.Time) bool {
	for _, o := range w.tanks {
		if o.feeds != t && t.feeds != o {
			continue
		}
		for _, i := range o.moves {
			m := w.moves[i]
			if !isCut(m.body) && m.at.After(since) && m.at.Before(w.From) {
				return true
			}
		}
	}
	return false
}

// soonAfter is how long after the period a stocktake may still tell what a tank
// held at its end.
const soonAfter = 36 * time.Hour

// after is what a tank held as the period ended, from the first cut after it and
// what moved until then.
func (w *writer) after(t *tank) level {
	l := level{}
	for _, i := range t.moves {
		m := w.moves[i]
		switch {
		case m.at.Before(w.To):
			continue
		case m.at.Sub(w.To) > soonAfter:
			return level{}
		}
		switch x := m.body.(type) {
		case *ledger.Stocktake:
			sd := levelKg(t.Tank, x)
			return level{l.kg + kg(x.MassG), l.variance + sd*sd, true, []ledger.ID{m.id}}
		case *ledger.Wash:
			clings, sd := clingsKg(t)
			return level{l.kg + clings, l.variance + sd*sd, true, []ledger.ID{m.id}}
		}
		by, sd := w.change(t, m)
		l.kg -= by
		l.variance += sd * sd
		if t.linked {
			return level{}
		}
	}
	return level{}
}

func clingsKg(t *tank) (mean, sd float64) {
	return clingsPct / 100 * kg(t.CapacityG), clingsOwnPct / 100 * kg(t.CapacityG)
}

func (w *writer) writeStart(t *tank) {
	l := w.before(t)
	f := &flow{said: message.F("what the %s held at the start", t.Name), to: w.node(t, -1), kind: Start, basis: Weighed, tank: t.id, mostKg: kg(t.CapacityG),
		kg: l.kg, own: math.Sqrt(l.variance), entries: l.by}
	if !l.known {
		f.basis = Unseen
	} else if l.variance == 0 {
		return // empty
	}
	w.write(f)
}

func (w *writer) writeEnd(t *tank) {
	if n := len(t.moves); n > 0 && len(t.cuts) > 0 && t.cuts[len(t.cuts)-1] == w.lastMove(t) && !t.linked {
		if _, washed := w.moves[w.lastMove(t)].body.(*ledger.Wash); washed {
			return // empty
		}
	}
	l := w.after(t)
	f := &flow{said: message.F("what the %s held at the end", t.Name), from: t.Name + " at the end", kind: End, basis: Unseen, tank: t.id, mostKg: kg(t.CapacityG)}
	if l.known {
		f.basis, f.kg, f.own, f.entries = Weighed, l.kg, math.Sqrt(l.variance), l.by
	}
	w.write(f)
}

// lastMove is the last move at a tank in the period.
func (w *writer) lastMove(t *tank) int {
	last := -1
	for _, i := range t.moves {
		if w.holds(w.moves[i].at) {
			last = i
		}
	}
	return last
}

// writeCut joins a tank before a cut with the tank after it.
func (w *writer) writeCut(t *tank, i int) {
	m := w.moves[i]
	f := &flow{from: w.node(t, i), kind: Level, basis: Weighed, tank: t.id, mostKg: kg(t.CapacityG), entries: []ledger.ID{m.id}}
	switch x := m.body.(type) {
	case *ledger.Stocktake:
		f.said = message.F("the dip of the %s on %s", t.Name, w.clock(m.at))
		if onScale(x) {
			f.said = message.F("the weighing of the %s on %s", t.Name, w.clock(m.at))
		}
		f.to, f.kg, f.own = w.node(t, i+1), kg(x.MassG), levelKg(t.Tank, x)
	case *ledger.Wash:
		if w.emptyAt(t, i) {
			return
		}
		f.said = message.F("what was washed out of the %s on %s", t.Name, w.clock(m.at))
		f.kind, f.basis = WashedOut, Limited
		f.kg, f.own = clingsKg(t)
	}
	w.write(f)
}

// emptyAt reports whether a tank is known to be empty at a cut: nothing came to it
// since it was last washed, or ever.
func (w *writer) emptyAt(t *tank, cut int) bool {
	if t.linked {
		return false
	}
	k := slices.Index(t.moves, cut)
	if k > 0 {
		_, washed := w.moves[t.moves[k-1]].body.(*ledger.Wash)
		return washed
	}
	return false // the first that the book hears of it: it held what nobody knows
}

func onScale(x *ledger.Stocktake) bool { return x.Method == "scale" }

// movedSD is how far the mass of a movement may be off: into a tank by its rise,
// out of one by its fall, else by a bucket on a scale.
func (h *house) movedSD(x *ledger.Movement, massKg float64) float64 {
	if h.fills[h.book.Root(x.From.ID)] != nil {
		return max(h.finest, containerKg)
	}
	if to := h.tankAt(x.To.ID); to != nil {
		return riseKg(to.Tank)
	}
	return math.Hypot(wasteShare*massKg, wasteKg)
}

func (w *writer) writeMovement(i int, m move, x *ledger.Movement) {
	from, to := w.tankAt(x.From.ID), w.tankAt(x.To.ID)
	if f := w.fills[w.book.Root(x.From.ID)]; f != nil {
		w.writePour(i, m, x, f, to)
		return
	}
	r, node := w.fromRun(x.From.ID)
	massKg := kg(x.MassG)
	f := &flow{from: node, basis: Weighed, kg: massKg, own: w.movedSD(x, massKg), entries: []ledger.ID{m.id}}
	source := message.F("the honey")
	if from != nil {
		f.from, f.tank = w.node(from, i), from.id
		source = message.F("honey of the %s", from.Name)
	}
	if r != nil {
		f.run, source = r.id, message.F("the honey of run %s", r.name)
	}
	switch {
	case to != nil:
		f.to, f.tank = w.node(to, i), to.id
		f.kind, f.said = IntoTank, message.F("%s into the %s on %s", source, to.Name, w.clock(m.at))
		if from != nil {
			f.kind = Between
		}
		f.elsewhere = w.berths(i, from, to)
	case x.To.Kind == ledger.PlaceWaste:
		f.kind, f.said = ThrownAway, message.F("%s thrown away on %s", source, w.clock(m.at))
	default:
		f.kind, f.said = Containers, message.F("%s into %s on %s", source, w.book.Name(x.To.ID), w.clock(m.at))
	}
	w.write(f)
}

// berths are the tanks other than those of a movement, as they stood then.
func (w *writer) berths(i int, but ...*tank) []berth {
	var out []berth
	for _, t := range w.tanks {
		if !slices.Contains(but, t) && w.moved(t) {
			out = append(out, berth{t.id, t.Name, w.node(t, i)})
		}
	}
	return out
}
