package trace

import (
	"slices"

	"pullbook/domain/ledger"
)

// timeline makes the network of a walk: a vessel has a node from each time that
// honey comes to it until the next, and passes on to that no more than it holds
// in between. Nothing is assumed of how honey lies in it.
type timeline struct {
	network
	vessels []vessel
	// all is what each node is given, in micrograms.
	all []int64
	// ours and others are what nodes are given of the source laid and of all others.
	ours, others []int64
	laid         int32
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
	// node is one more than its node; 0 where it has none yet.
	node  int32
	grams int64
	// drawn tells that honey went out since it had this node.
	drawn bool
}

// given is what a node is given of a source, and what at the most of all others,
// in micrograms.
type given struct {
	node         int32
	ours, others int64
}

// mostGiven bounds the memory for who may have given what.
const mostGiven = 1 << 20

func newTimeline(holders int, tags func(int32, *run) []portion) *timeline {
	return &timeline{vessels: make([]vessel, holders), of: map[int32][]given{}, short: -1, tags: tags}
}

// spring is a node that is given honey.
func (l *timeline) spring(micrograms int64) int32 {
	v := l.node()
	for int(v) >= len(l.all) {
		l.all = append(l.all, 0)
	}
	l.all[v] = micrograms
	return v
}

func (l *timeline) gives(source int32, g given) {
	if l.entries++; l.entries <= mostGiven {
		l.of[source] = append(l.of[source], g)
	}
}

// run gives a run all that ever comes out of it.
func (l *timeline) run(at int32, r *run, of []portion) {
	node := l.spring(r.grams * micrograms)
	l.vessels[at] = vessel{node: node + 1, grams: r.grams}
	l.rounded++
	for _, p := range of {
		l.gives(p.source, given{node, ug(p.grams), ug(float64(r.grams) - p.grams)})
	}
}

// now is the node of what a vessel holds.
func (l *timeline) now(at int32) int32 {
	v := &l.vessels[at]
	if v.node == 0 || v.drawn {
		next := l.spring(0)
		if v.node != 0 {
			l.arc(v.node-1, next, v.grams)
		}
		v.node, v.drawn = next+1, false
	}
	return v.node - 1
}

// draw takes grams out of a vessel.
func (l *timeline) draw(at int32, grams int64) {
	v := &l.vessels[at]
	v.grams -= grams
	v.drawn = v.node != 0
}

// pour puts grams into a vessel and returns the node that they came to.
func (l *timeline) pour(at int32, grams int64) int32 {
	node := l.now(at)
	l.vessels[at].grams += grams
	return node
}

// unexplained is honey of no entry that comes to a node.
func (l *timeline) unexplained(to int32, grams int64) {
	node := l.spring(grams * micrograms)
	l.arc(node, to, grams)
	l.short = node
	if l.alone {
		l.gives(unexplained, given{node, l.all[node], 0})
	}
}

// mayBe notes that the honey of no entry that the walk is at may be of a source.
func (l *timeline) mayBe(source int32) {
	if l.short >= 0 {
		g := l.all[l.short]
		l.gives(source, given{l.short, g, g})
	}
}

// held asks for what a vessel holds at the end.
func (l *timeline) held(at int32) demand {
	v := l.vessels[at]
	return demand{max(0, v.node-1), v.grams * micrograms}
}

// ready closes the network for questions that take so much work in all.
func (l *timeline) ready(mostWork int) {
	l.all = append(l.all, make([]int64, len(l.firsts)-len(l.all))...)
	if l.entries > mostGiven {
		mostWork = -1
	}
	l.close(mostWork)
	l.ours, l.others, l.laid = make([]int64, len(l.all)), slices.Clone(l.all), -1
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
		l.draw(m.from, m.grams-m.short)
	}
	to := int32(-1)
	if m.to != outside {
		to = l.pour(m.to, m.grams)
	}
	switch {
	case marked:
		through = l.spring(0)
		l.gives(0, given{through, m.grams * micrograms, 0})
	case m.from != outside && t.holders[m.from].Kind == ledger.PlaceContainer:
		through = l.spring(0)
	case to >= 0 && from >= 0:
		l.arc(from, to, m.grams-m.short)
	}
	into := to
	if through >= 0 {
		if into = through; to >= 0 {
			l.arc(through, to, m.grams)
		}
		if !marked {
			l.arc(from, through, m.grams-m.short)
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
		l.draw(m.from, m.grams-m.short)
	}
}

// lay divides what nodes are given between a source and all others.
func (l *timeline) lay(source int32) {
	if l.laid == source {
		return
	}
	for _, g := range l.of[l.laid] {
		l.ours[g.node], l.others[g.node] = 0, l.all[g.node]
	}
	for _, g := range l.of[source] {
		l.ours[g.node], l.others[g.node] = g.ours, g.others
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
	return (sum - rest + rounded) / micrograms, (max(0, top-rounded) + micrograms - 1) / micrograms, ok
}
