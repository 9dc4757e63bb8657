package balance

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// A tank is a node of its own from one cut to the next: a stocktake says what it
// held then, a wash that it held next to nothing.

// cutTanks finds what went on at tanks in the period, and the stocktakes and washes in it.
func (w *writer) cutTanks() {
	w.first = sort.Search(len(w.moves), func(i int) bool { return !w.moves[i].at.Before(w.From) })
	w.past = sort.Search(len(w.moves), func(i int) bool { return !w.moves[i].at.Before(w.To) })
	for _, t := range w.tanks {
		t.first, t.past = sort.SearchInts(t.moves, w.first), sort.SearchInts(t.moves, w.past)
		t.cuts = nil
		for _, i := range t.lately() {
			if isCut(w.moves[i].body) {
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
	if c := sort.SearchInts(t.cuts, i); c < len(t.cuts) {
		return w.nodeUpTo(t, t.cuts[c])
	}
	return t.end()
}

func (w *writer) nodeUpTo(t *tank, cut int) string {
	name, known := w.cutNames[cut]
	if !known {
		name = w.nameCut(t, cut)
		w.cutNames[cut] = name
	}
	return name
}

func (w *writer) nameCut(t *tank, cut int) string {
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
	for i := w.first; i < w.past; i++ {
		if x, ok := w.moves[i].body.(*ledger.Movement); ok {
			w.writeMovement(i, &w.moves[i], x)
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

func (w *writer) moved(t *tank) bool { return t.first < t.past }

// level is what a tank held, as far as it is known.
type level struct {
	kg, variance float64
	known        bool
	// by is what it was last had from.
	by []ledger.ID
}

// change is what a move put into a tank, below zero for what it took out, and
// how far that may be off.
func (h *house) change(t *tank, m *move) (byKg, sd float64) {
	switch x := m.body.(type) {
	case *ledger.Movement:
		byKg = kg(x.MassG)
		if m.out != nil && x.MassG == 0 {
			byKg = m.out.leftKg()
		}
		sd = h.movedSD(m, byKg)
		switch {
		case m.from == t && m.to == t:
			byKg = 0
		case m.from == t:
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
	l := w.levelsOf(t)[t.first]
	if t.linked && w.linkMoved(t, w.lastCut(t)) {
		l.known = false
	}
	// Below empty, what was written down cannot be all that happened.
	l.known = l.known && l.kg > -3*math.Sqrt(l.variance)-1
	l.kg = max(0, l.kg)
	return l
}

// levelsOf is what a tank held before each of its moves, and after the last, by what was
// written down.
func (h *house) levelsOf(t *tank) []level {
	if t.levels != nil {
		return t.levels
	}
	l := level{known: len(t.moves) == 0 || !isCut(h.moves[t.moves[0]].body)}
	t.levels = append(make([]level, 0, len(t.moves)+1), l)
	for _, i := range t.moves {
		m := &h.moves[i]
		switch x := m.body.(type) {
		case *ledger.Stocktake:
			sd := levelKg(t.Tank, x)
			l = level{kg(x.MassG), sd * sd, true, []ledger.ID{m.id}}
		case *ledger.Wash:
			l = level{known: true}
		default:
			by, sd := h.change(t, m)
			l.kg += by
			l.variance += sd * sd
			l.known = l.known && !t.linked
		}
		t.levels = append(t.levels, l)
	}
	return t.levels
}

// lastCut is the last cut of a tank before the period.
func (w *writer) lastCut(t *tank) time.Time {
	for _, i := range slices.Backward(t.moves[:t.first]) {
		if m := &w.moves[i]; isCut(m.body) {
			return m.at
		}
	}
	return time.Time{}
}

// linkMoved reports whether anything moved, between an instant and the period,
// at the tanks that a float pump joins with t.
func (w *writer) linkMoved(t *tank, since time.Time) bool {
	for _, o := range w.tanks {
		if o.feeds != t && t.feeds != o {
			continue
		}
		for _, i := range slices.Backward(o.moves[:o.first]) {
			m := &w.moves[i]
			if m.at.Before(since) {
				break
			}
			if !isCut(m.body) && m.at.After(since) {
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
	for _, i := range t.moves[t.past:] {
		m := &w.moves[i]
		if m.at.Sub(w.To) > soonAfter {
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
	f := &flow{said: message.F("what the %s held at the end", t.Name), from: t.end(), kind: End, basis: Unseen, tank: t.id, mostKg: kg(t.CapacityG)}
	if l.known {
		f.basis, f.kg, f.own, f.entries = Weighed, l.kg, math.Sqrt(l.variance), l.by
	}
	w.write(f)
}

// lastMove is the last move at a tank in the period.
func (w *writer) lastMove(t *tank) int {
	if !w.moved(t) {
		return -1
	}
	return t.moves[t.past-1]
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
	if k := sort.SearchInts(t.moves, cut); k > 0 {
		_, washed := w.moves[t.moves[k-1]].body.(*ledger.Wash)
		return washed
	}
	return false // the first that the book hears of it: it held what nobody knows
}

func onScale(x *ledger.Stocktake) bool { return x.Method == "scale" }

// movedSD is how far the mass of a movement may be off: into a tank by its rise,
// out of one by its fall, else by a bucket on a scale.
func (h *house) movedSD(m *move, massKg float64) float64 {
	if m.out != nil {
		return max(h.finest, containerKg)
	}
	if m.to != nil {
		return riseKg(m.to.Tank)
	}
	return math.Hypot(wasteShare*massKg, wasteKg)
}

func (w *writer) writeMovement(i int, m *move, x *ledger.Movement) {
	from, to := m.from, m.to
	if m.out != nil {
		w.writePour(i, m, x)
		return
	}
	r, node := w.fromRun(x.From.ID)
	massKg := kg(x.MassG)
	f := &flow{from: node, basis: Weighed, kg: massKg, own: w.movedSD(m, massKg), entries: []ledger.ID{m.id}}
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

// berths gives the tanks other than those of a movement, as they stood then; nil where there
// are none. Few movements are ever asked.
func (w *writer) berths(i int, from, to *tank) func() []berth {
	other := func(t *tank) bool { return t != from && t != to && w.moved(t) }
	if !slices.ContainsFunc(w.tanks, other) {
		return nil
	}
	return func() (out []berth) {
		for _, t := range w.tanks {
			if other(t) {
				out = append(out, berth{t.id, t.Name, w.node(t, i)})
			}
		}
		return out
	}
}
