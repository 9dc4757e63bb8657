package balance

import (
	"time"

	"pullbook/domain/message"
)

// together is how far apart the dips of two tanks may be that a float pump
// joins and still count as taken together: in so short a time it moves next to
// nothing.
const together = 45 * time.Minute

// span is a tank from one cut to the next.
type span struct {
	node     string
	from, to time.Time
}

// spans lists the times of a tank between its cuts, as far as they are of the
// period.
func (w *writer) spans(t *tank) []span {
	var out []span
	from := w.From
	for _, c := range t.cuts {
		out = append(out, span{w.node(t, c), from, w.moves[c].at})
		from = w.moves[c].at
	}
	return append(out, span{t.end(), from, w.To})
}

// writePumps writes what float pumps moved: one unseen flow for each pair of
// spans that overlap.
func (w *writer) writePumps() {
	for _, t := range w.tanks {
		if t.feeds == nil || !w.touched(t) {
			continue
		}
		for _, a := range w.spans(t) {
			for _, b := range w.spans(t.feeds) {
				from, to := later(a.from, b.from), earlier(a.to, b.to)
				if to.Sub(from) <= together && (!a.to.Equal(b.to) || !a.from.Equal(b.from)) {
					continue
				}
				w.write(&flow{said: message.F("what the float pump took from the %s to the %s, %s to %s", t.Name, t.feeds.Name, w.clock(from), w.clock(to)),
					from: a.node, to: b.node, kind: Pump, basis: Unseen, tank: t.id})
			}
		}
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
