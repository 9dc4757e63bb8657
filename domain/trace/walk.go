package trace

// walk follows sources along the moves from the first to the last.
type walk struct {
	*Tracer
	contents []content
	// tags gives what a run is full of at its start.
	tags func(at int32, r *run) []portion
	// marked, where it is not nil, says of which moves all honey is of source 0.
	marked func(i int) bool
	// markedG is the honey of marked moves that was not of source 0 before.
	markedG float64
	// unexplained is the source that stands for honey of no entry; none below 0.
	unexplained int32
	// seen, where it is not nil, is told what each move carried.
	seen func(i int, carried []portion)
	out  []portion
}

func (t *Tracer) newWalk() *walk {
	return &walk{Tracer: t, contents: make([]content, len(t.holders)), unexplained: -1}
}

// step takes the walk over the i-th move.
func (w *walk) step(i int) {
	m := w.moves[i]
	carried, may := w.take(m)
	if w.marked != nil && w.marked(i) {
		g := float64(m.grams)
		w.markedG += g
		if len(carried) > 0 {
			w.markedG -= carried[0].grams
		}
		carried, may = append(w.out[:0], portion{grams: g, least: g, top: g}), sources{1}
	}
	w.out = carried[:0]
	if w.seen != nil {
		w.seen(i, carried)
	}
	if m.to != outside {
		to := &w.contents[m.to]
		to.may.addAll(may)
		to.pour(m.grams, carried)
	}
}

// take draws what a move carries, and tells all that may be in it.
func (w *walk) take(m move) ([]portion, sources) {
	out := w.out[:0]
	if m.from == outside {
		if m.to != outside {
			out = w.contents[m.to].unexplained(float64(m.short), out)
		}
		return w.noteUnexplained(m.short, out), nil
	}
	from := &w.contents[m.from]
	if r := w.runs[m.from]; r != nil && from.may == nil {
		from.grams, from.of, from.may = r.grams, w.tags(m.from, r), sources{}
		for _, p := range from.of {
			from.may.add(p.source)
		}
	}
	out = from.draw(m.grams, m.short, out)
	if m.wash {
		from.of, from.may = from.of[:0], from.may[:0]
	}
	return w.noteUnexplained(m.short, out), from.may
}

// noteUnexplained adds honey of no entry as a source of its own, where it is one.
func (w *walk) noteUnexplained(grams int64, out []portion) []portion {
	if grams == 0 || w.unexplained < 0 {
		return out
	}
	g := float64(grams)
	return merge(out, []portion{{w.unexplained, g, g, g}})
}
