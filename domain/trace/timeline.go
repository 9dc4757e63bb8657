package trace

import (
	"math"
	"slices"

	"pullbook/domain/ledger"
)

// timeline makes the network of a walk: a vessel has a node from each time that
// honey comes to it until the next, and passes on to that no more than it holds
// in between. Nothing is assumed of how honey lies in it.
type timeline struct {
	network
	vessels []vessel
	// all is what each node is given.
	all supplies
	// ours and others are what nodes are given of the source laid and of all others.
	ours, others supplies
	laid         int32
	// counts numbers the stocktakes and washes.
	counts int32
	// of lists, by source, the nodes that are given some of it.
	of map[int32][]given
	// short is the node of the honey of no entry that the walk is at; -1 for none.
	short int32
	// rounded counts masses that were rounded up to whole micrograms, entries
	// those in of.
	rounded, entries int64
	// alone tells that honey of no entry is a source of its own.
	alone bool
	// tags gives what of a run is of which source.
	tags func(at int32, r *run) []portion
}

type vessel struct {
	level
	// node is one more than its node; 0 where it has none yet.
	node int32
	// since numbers the stocktake or wash that its level counts from.
	since int32
	// drawn tells that honey went out since it had this node.
	drawn bool
	// had is what it had before it lost some last.
	had level
}

// given is what a node is given of a source, and what at the most of all others,
// in micrograms; and how far these may be off.
type given struct {
	node               int32
	ours, others       int64
	oursOff, othersOff offBy
}

// mostGiven bounds the memory for who may have given what.
const mostGiven = 1 << 20

func newTimeline(holders int, tags func(int32, *run) []portion) *timeline {
	return &timeline{vessels: make([]vessel, holders), of: map[int32][]given{}, short: -1, tags: tags}
}

// spring is a node that is given honey, by the square of how much that may be off.
func (l *timeline) spring(micrograms int64, off2 float64) int32 {
	v := l.node()
	for int(v) >= len(l.all.ug) {
		l.all.ug, l.all.off = append(l.all.ug, 0), append(l.all.off, offBy{})
	}
	l.all.ug[v], l.all.off[v].squares = micrograms, off2
	return v
}

func (l *timeline) gives(source int32, g given) {
	if l.entries++; l.entries <= mostGiven {
		l.of[source] = append(l.of[source], g)
	}
}

// run gives a run all that ever comes out of it.
func (l *timeline) run(at int32, r *run, of []portion) {
	node := l.spring(r.grams*micrograms, r.off2)
	l.counts++
	l.vessels[at] = vessel{level: level{r.grams, r.off2}, node: node + 1, since: l.counts}
	l.rounded++
	for _, p := range of {
		all, most := float64(r.grams), float64(r.grams)+math.Sqrt(r.off2)
		part := p.grams / all
		l.gives(p.source, given{node, ug(p.grams), ug(all - p.grams),
			offBy{max(0, p.top/most*all-p.grams), part * part * r.off2},
			offBy{max(0, (all-p.least)/most*all-(all-p.grams)), (1 - part) * (1 - part) * r.off2}})
	}
}

// now is the node of what a vessel holds.
func (l *timeline) now(at int32) int32 {
	v := &l.vessels[at]
	if v.node == 0 || v.drawn {
		next := l.spring(0, 0)
		if v.node != 0 {
			l.arc(v.node-1, next, v.grams, v.off2, v.since)
		}
		v.node, v.drawn = next+1, false
	}
	return v.node - 1
}

// draw takes out of a vessel what a move takes.
func (l *timeline) draw(m move) {
	v := &l.vessels[m.from]
	v.had = v.level
	v.lose(m)
	v.drawn = v.node != 0
	l.count(v, m)
}

// pour puts into a vessel what a move brings and returns the node that it came to.
func (l *timeline) pour(m move) int32 {
	node := l.now(m.to)
	l.vessels[m.to].gain(m)
	l.count(&l.vessels[m.to], m)
	return node
}

func (l *timeline) count(v *vessel, m move) {
	if m.sets || v.since == 0 {
		l.counts++
		v.since = l.counts
	}
}

// unexplained is honey of no entry that comes to a node.
func (l *timeline) unexplained(to int32, grams int64) {
	node := l.spring(grams*micrograms, 0)
	l.arc(node, to, grams, 0, 0)
	l.short = node
	if l.alone {
		l.gives(unexplained, given{node: node, ours: l.all.ug[node]})
	}
}

// mayBe notes that the honey of no entry that the walk is at may be of a source.
func (l *timeline) mayBe(source int32) {
	if l.short >= 0 {
		g := l.all.ug[l.short]
		l.gives(source, given{node: l.short, ours: g, others: g})
	}
}

// held asks for what a vessel holds at the end.
func (l *timeline) held(at int32) demand {
	v := l.vessels[at]
	return demand{max(0, v.node-1), v.grams * micrograms, v.spread()}
}

// gone asks for what a move took out of a container, which went through a node.
func (l *timeline) gone(node int32, m move) demand {
	return demand{node, m.grams * micrograms, l.vessels[m.from].had.spread()}
}

// spread is the square of how far a level may be off, by gram.
func (l level) spread() float64 {
	if l.grams == 0 {
		return 0
	}
	return l.off2 / float64(l.grams)
}

// ready closes the network for questions that take so much work in all.
func (l *timeline) ready(mostWork int) {
	if l.entries > mostGiven {
		mostWork = -1
	}
	l.close(mostWork)
	l.ours = supplies{make([]int64, len(l.all.ug)), make([]offBy, len(l.all.ug))}
	l.others, l.laid = supplies{slices.Clone(l.all.ug), slices.Clone(l.all.off)}, -1
}

// carry takes the timeline over a move. What a container gives, and what is all of
// a marked source, has a node of its own, which it returns; else -1.
func (l *timeline) carry(t *Tracer, m move, marked bool) (through int32) {
	l.short, through = -1, -1
	var from int32 = -1
	if m.from != outside {
		if r := t.runs[m.from]; r != nil && l.vessels[m.from].node == 0 {
			l.run(m.from, r, l.tags(m.from, r))
		}
		from = l.now(m.from)
		l.draw(m)
	}
	to := int32(-1)
	if m.to != outside {
		to = l.pour(m)
	}
	off := m.off()
	off2 := off * off
	switch {
	case marked:
		through = l.spring(0, 0)
		l.gives(0, given{node: through, ours: m.grams * micrograms, oursOff: offBy{squares: off2}})
	case m.from != outside && t.holders[m.from].Kind == ledger.PlaceContainer:
		through = l.spring(0, 0)
	case to >= 0 && from >= 0:
		l.arc(from, to, m.grams-m.short, off2, 0)
	}
	into := to
	if through >= 0 {
		if into = through; to >= 0 {
			l.arc(through, to, m.grams, off2, 0)
		}
		if !marked {
			l.arc(from, through, m.grams-m.short, off2, 0)
		}
	}
	if m.short > 0 && into >= 0 && !marked {
		l.unexplained(into, m.short)
	}
	return through
}

// leave takes the timeline over a move of which it does not matter what it carries.
func (l *timeline) leave(m move) {
	l.short = -1
	if m.from != outside {
		l.draw(m)
	}
}

// lay divides what nodes are given between a source and all others.
func (l *timeline) lay(source int32) {
	if l.laid == source {
		return
	}
	for _, g := range l.of[l.laid] {
		l.ours.put(g.node, 0, offBy{})
		l.others.put(g.node, l.all.ug[g.node], l.all.off[g.node])
	}
	for _, g := range l.of[source] {
		l.ours.put(g.node, g.ours, g.oursOff)
		l.others.put(g.node, g.others, g.othersOff)
	}
	l.laid = source
}

// bounds are the least and the most that all that is asked may have of a source,
// in whole grams, rounded outwards; false where that is too much work. The least
// is what honey of all others cannot make up.
func (l *timeline) bounds(source int32, asked []demand) (least, most int64, ok bool) {
	if l.spent() {
		return 0, 0, false
	}
	l.lay(source)
	top, _ := l.largest(asked, l.ours)
	rest, ok := l.largest(asked, l.others)
	var sum int64
	for _, d := range asked {
		sum += d.ug
	}
	rounded := min(l.rounded, micrograms-1)
	least = max(0, sum-rest+rounded) / micrograms
	most = (min(sum, max(0, top-rounded)) + micrograms - 1) / micrograms
	return least, most, ok
}

// netOf is what is asked in all, in grams.
func netOf(asked []demand) (grams int64) {
	for _, d := range asked {
		grams += d.ug / micrograms
	}
	return grams
}
