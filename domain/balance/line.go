package balance

import (
	"math"
	"sort"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/reconcile"
)

// writer writes the flows of a period.
type writer struct {
	*house
	Period
	// first and past are where those of the moves begin and end that are of the period.
	first, past int
	flows       []*flow
	names       map[string]bool
}

// write adds a flow, but one that leaves everything where it was or does not
// touch the network.
func (w *writer) write(f *flow) {
	if f.from == f.to {
		return
	}
	base := f.said
	f.name = f.said.String()
	for n := 2; w.names[f.name]; n++ {
		f.said = message.F("%s (%s)", base, n)
		f.name = f.said.String()
	}
	w.names[f.name] = true
	w.flows = append(w.flows, f)
}

// clock is a time as it is said: "12 Aug 14:05".
func (h *house) clock(at time.Time) message.MinuteInYear { return message.MinuteInYear(h.local(at)) }

func (h *house) date(at time.Time) message.DayInYear { return message.DayInYear(h.local(at)) }

func (h *house) local(at time.Time) time.Time { return at.In(h.book.Location()) }

func runNode(r *run) string { return "run " + r.name }

func yardNode(name string) string { return "the boxes of " + name }

// writeRuns writes what went into the period's runs from boxes and what came
// out beside the honey. Honey into tanks is the tanks' business.
func (w *writer) writeRuns() {
	yards := map[ledger.ID]bool{}
	for _, r := range w.runsOf(w.Period) {
		boxes := w.boxesOf(r)
		for _, f := range boxes {
			if !yards[f.yard] {
				yards[f.yard] = true
				w.write(&flow{said: message.F("all the boxes of %s", w.book.Name(f.yard)), to: f.from, kind: Yard, basis: Unseen, yard: f.yard})
			}
			w.write(f)
		}
		w.writeBeside(r, boxes)
	}
}

// runsOf are the runs of a period.
func (h *house) runsOf(p Period) []*run {
	first := sort.Search(len(h.runs), func(i int) bool { return !h.runs[i].at.Before(p.From) })
	past := sort.Search(len(h.runs), func(i int) bool { return !h.runs[i].at.Before(p.To) })
	return h.runs[first:past]
}

// boxesOf is the honey in the boxes of each pull that went into a run.
func (w *writer) boxesOf(r *run) []*flow {
	empties, tare := 0.0, 0.0
	for _, q := range r.puts {
		if q.pull.grossKg > 0 {
			tare += q.tareKg
		} else {
			tare = math.Inf(1) // some were never weighed full
		}
	}
	if r.end != nil && r.end.EmptiesG > 0 && tare > 0 && !math.IsInf(tare, 1) {
		empties = kg(r.end.EmptiesG)
	}
	var out []*flow
	for _, q := range r.puts {
		yard := w.book.Name(q.pull.yard)
		f := &flow{
			said: message.F("the boxes of %s pulled on %s in run %s", yard, w.date(q.pull.at), r.name),
			from: yardNode(yard), to: runNode(r), kind: Boxes, yard: q.pull.yard, run: r.id,
			entries: append([]ledger.ID{q.pull.id}, q.entries...),
		}
		if q.pull.grossKg > 0 && q.pull.boxes > 0 {
			w.weighBoxes(f, q, r, empties, tare)
		} else {
			countBoxes(f, q)
		}
		out = append(out, f)
	}
	return out
}

// weighBoxes is full less empty: the gross by the share of the boxes, the
// empties as weighed when the run ended, or else what boxes of their kinds
// weigh.
func (w *writer) weighBoxes(f *flow, q *put, r *run, emptiesKg, runTareKg float64) {
	p := q.pull
	share := q.usualKg / p.usualKg
	if p.usualKg == 0 {
		share = float64(q.boxes) / float64(p.boxes)
	}
	// The honey goes by what such boxes hold, the wood by its kind.
	gross := (p.grossKg-p.tareKg)*share + q.tareKg
	f.basis = Weighed
	f.own = 0.5
	f.common = append(f.common,
		part{"pull " + p.id.String(), math.Hypot(hoistShare*gross, w.coarsest*share)},
		part{"hoist", hoistCommonShare * gross})
	if emptiesKg > 0 {
		empty := emptiesKg * q.tareKg / runTareKg
		f.kg = gross - empty
		f.common = append(f.common, part{"empties of " + r.id.String(), hoistShare * empty})
		f.entries = append(f.entries, r.endID)
	} else {
		f.kg = gross - q.tareKg
		f.common = append(f.common, part{"tare", boxTareCommonKg * float64(q.boxes)})
		f.own = math.Hypot(f.own, boxTareKg*math.Sqrt(float64(q.boxes)))
	}
	f.common = append(f.common, w.split(q)...)
}

// split is how far the share of a pull in a run may be off because boxes are
// not equally full. What one run got too much of, another got too little.
func (w *writer) split(q *put) []part {
	p := q.pull
	if q.boxes >= p.boxes {
		return nil
	}
	perBox := boxFullnessShare * p.usualKg / float64(p.boxes)
	n := float64(max(p.boxes, p.used))
	var out []part
	others := n
	for _, o := range p.puts {
		others -= float64(o.boxes)
		here := -float64(q.boxes) / n
		if o == q {
			here++
		}
		out = append(out, part{"boxes of " + p.id.String() + " in " + o.run.id.String(), perBox * math.Sqrt(float64(o.boxes)) * here})
	}
	if others > 0 {
		out = append(out, part{"boxes left of " + p.id.String(), -perBox * math.Sqrt(others) * float64(q.boxes) / n})
	}
	return out
}

func countBoxes(f *flow, q *put) {
	f.basis, f.kg, f.own = Counted, q.usualKg, max(0.02*q.usualKg, 0.5)
	f.common = []part{
		{"fullness of " + q.pull.id.String(), countShare * q.usualKg},
		{"fullness of the season", countCommonShare * q.usualKg},
	}
}

// writeBeside writes a run's wax and loss, what nobody booked into it, and what
// is still on the line.
func (w *writer) writeBeside(r *run, boxes []*flow) {
	in := 0.0
	for _, f := range boxes {
		in += max(0, f.kg)
	}
	node := runNode(r)
	wax := &flow{said: message.F("the wax of run %s", r.name), from: node, kind: Wax, run: r.id}
	switch {
	case r.end != nil && r.end.WaxG > 0:
		wax.basis, wax.kg, wax.entries = Weighed, kg(r.end.WaxG), []ledger.ID{r.endID}
		wax.own = math.Hypot(waxShare*wax.kg, waxKg)
	case in > 0:
		wax.basis, wax.kg, wax.own = Limited, waxPct/100*in, waxOwnPct/100*in
	default:
		wax = nil
	}
	if wax != nil && (r.out > 0 || len(boxes) > 0) {
		w.write(wax)
	}
	if in > 0 {
		w.write(&flow{said: message.F("the loss of run %s", r.name), from: node, kind: Loss, basis: Limited, run: r.id,
			kg: lossPct / 100 * in, own: lossOwnPct / 100 * in, common: []part{{"loss", lossCommonPct / 100 * in}}})
	}
	if len(boxes) == 0 && r.out > 0 {
		w.write(&flow{said: message.F("boxes that nobody wrote down for run %s", r.name), to: node, kind: Unbooked, basis: Unseen, run: r.id, entries: []ledger.ID{r.id}})
	}
	if w.goesOn(r) && len(boxes) > 0 {
		w.write(&flow{said: message.F("honey still on the line in run %s", r.name), from: node, kind: OnTheLine, basis: Unseen, run: r.id, entries: []ledger.ID{r.id}})
	}
}

// wholeDay is how long a run may go on that nobody has ended.
const wholeDay = 24 * time.Hour

// goesOn reports whether a run may not be over: it has no end, and nothing
// happened a day later.
func (w *writer) goesOn(r *run) bool { return r.end == nil && w.last.Sub(r.at) < wholeDay }

// fromRun is the node of a run, or the world beyond where the run is not of the
// period.
func (w *writer) fromRun(id ledger.ID) (*run, string) {
	r := w.runOf[w.book.Root(id)]
	if r == nil {
		return nil, reconcile.Outside
	}
	if !w.holds(r.at) {
		return r, reconcile.Outside
	}
	return r, runNode(r)
}
