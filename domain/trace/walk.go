package trace

import "slices"

// walk follows sources along the moves from the first to the last.
type walk struct {
	*Tracer
	// contents are by holder; nil where nobody has asked yet. Most holders are
	// containers, of which a trace passes few.
	contents []*content
	// tags gives what of a run is source 0; nil where each pull, yard and run is a
	// source of its own, and so is honey of no entry.
	tags func(at int32, r *run) []portion
	// marked, where it is not nil, says of which moves all honey is of source 0.
	marked func(i int) bool
	// markedG is the honey of marked moves that was not of source 0 before, under
	// perfect mixing; mostMarkedG is the most that it can be.
	markedG, mostMarkedG float64
	// maybe is, by source, the honey of no entry that may be of it: no more of a
	// source can be anywhere than came of it and this.
	maybe []float64
	// maybeOf, where it is not nil, is told each source of which honey of no entry
	// may be.
	maybeOf func(source int32)
	// seen, where it is not nil, is told what each move carried.
	seen func(i int, carried []portion)
	// unasked, where it is not nil, says of which moves it does not matter what
	// they carry.
	unasked func(i int) bool
	// turns, where it is not nil, says of which moves honey of each source becomes
	// honey of the next, up to the last of rounds.
	turns func(i int) bool
	out   []portion
}

func (t *Tracer) newWalk() *walk {
	return &walk{Tracer: t, contents: make([]*content, len(t.holders))}
}

// in is what is in a holder.
func (w *walk) in(at int32) *content {
	c := w.contents[at]
	if c == nil {
		c = new(content)
		w.contents[at] = c
	}
	return c
}

// step takes the walk over the i-th move.
func (w *walk) step(i int) {
	m := w.moves[i]
	if w.unasked != nil && w.unasked(i) && m.from != outside && !m.wash {
		w.full(m.from).leave(m)
		return
	}
	carried, may := w.take(m)
	if w.marked != nil && w.marked(i) {
		g, most := float64(m.grams), float64(m.grams)+m.off()
		w.markedG, w.mostMarkedG = w.markedG+g, w.mostMarkedG+most
		if len(carried) > 0 {
			w.markedG, w.mostMarkedG = w.markedG-carried[0].grams, w.mostMarkedG-max(0, carried[0].least-m.off())
		}
		carried, may = append(w.out[:0], portion{grams: g, least: most, top: most}), sources{1}
	}
	if w.turns != nil && w.turns(i) {
		carried = turned(carried)
	}
	w.out = carried[:0]
	if w.seen != nil {
		w.seen(i, carried)
	}
	if m.to != outside {
		to := w.in(m.to)
		to.may.addAll(may)
		to.pour(m, carried)
	}
}

// take draws what a move carries, and tells all that may be in it. A wash takes
// all there is.
func (w *walk) take(m move) ([]portion, sources) {
	out := w.out[:0]
	if m.from == outside {
		if m.to != outside {
			out = w.in(m.to).unexplained(float64(m.short), out)
			w.mayBeOf(w.in(m.to).may, m.short)
		}
		return w.noteUnexplained(m.short, out), nil
	}
	from := w.full(m.from)
	out = from.draw(m, out)
	w.mayBeOf(from.may, m.short)
	if m.wash {
		from.settle()
		from.may = from.may[:0]
	}
	return w.noteUnexplained(m.short, out), from.may
}

// mayBeOf notes honey of no entry that may be of any of the sources.
func (w *walk) mayBeOf(sources sources, grams int64) {
	if grams == 0 {
		return
	}
	sources.each(func(s int32) {
		if int(s) >= len(w.maybe) {
			w.maybe = slices.Grow(w.maybe, int(s)+1-len(w.maybe))[:s+1]
		}
		w.maybe[s] += float64(grams)
		if w.maybeOf != nil {
			w.maybeOf(s)
		}
	})
}

// full is what is in a holder; a run is full from the start.
func (w *walk) full(at int32) *content {
	c := w.in(at)
	if r := w.runs[at]; r != nil && c.may == nil {
		c.level, c.may = level{r.grams, r.off2}, sources{}
		if w.tags == nil {
			c.of, c.may = append(c.of, r.of...), r.may
		} else if c.of = w.tags(at, r); len(c.of) > 0 {
			c.may.add(0)
		}
	}
	return c
}

// noteUnexplained adds honey of no entry as a source of its own, where it is one.
func (w *walk) noteUnexplained(grams int64, out []portion) []portion {
	if grams == 0 || w.tags != nil {
		return out
	}
	g := float64(grams)
	return merge(out, []portion{{unexplained, g, g, g}})
}

// turned makes of each source the next; the last stays.
func turned(in []portion) []portion {
	last := int32(len(rounds{}) - 1)
	for k := range in {
		in[k].source = min(in[k].source+1, last)
	}
	if n := len(in); n > 1 && in[n-1].source == in[n-2].source {
		in[n-2].add(in[n-1])
		in = in[:n-1]
	}
	return in
}
