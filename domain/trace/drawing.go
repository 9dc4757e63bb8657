package trace

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// Node is a place in a drawing. A place that honey came to again after it had
// left it, as reworked honey does, stands in it once for each time.
type Node struct {
	// Place is the zero Place for several together, and for what is no place.
	Place ledger.Place
	Kind  ledger.PlaceKind
	Name  string
	// Said is the name in the words of a reader's language.
	Said message.Text
	// Column is how far along the way it stands, from 0.
	Column int
	// Grams is what came to it, or left it where nothing came.
	Grams int64
}

// Band is honey that went from one node to another.
type Band struct {
	From, To int
	Grams    int64
}

// Drawing is the way honey went, as columns of places and bands between them,
// each as wide as its grams. Bands lead to later columns only.
type Drawing struct {
	Name    string
	Through int64
	Columns int
	Nodes   []Node
	Bands   []Band
	// NotDrawnG went round more often than can be drawn.
	NotDrawnG int64
}

// turn is a place at the so many-th time that honey came to it.
type turn struct {
	place ledger.Place
	name  string
	times int
	// more is how many places stand together in one.
	more int
}

// sketch gathers what is to be drawn.
type sketch struct {
	*Tracer
	order orders
	bands map[[2]turn]float64
	// undrawn went round more often than rounds tell.
	undrawn float64
}

// Names of what is no place in the book.
const (
	onHandName      = "on hand"
	unexplainedName = "unexplained"
	lostName        = "gone with washes and stocktakes"
)

func (t *Tracer) newSketch() *sketch {
	return &sketch{Tracer: t, order: orders{next: map[ledger.Place][]ledger.Place{}, back: map[[2]ledger.Place]bool{}}, bands: map[[2]turn]float64{}}
}

// spot is where a holder stands in a drawing: a container at its lot.
func (t *Tracer) spot(p ledger.Place) ledger.Place {
	if p.Kind != ledger.PlaceContainer {
		return p
	}
	if fill := ledger.Named[ledger.Fill](t.book, p.ID); fill != nil {
		return ledger.Place{Kind: ledger.PlaceLot, ID: t.book.Root(fill.LotID)}
	}
	return p
}

// turns reports whether a flow leads back to where its honey had been.
func (s *sketch) turns(i int) bool {
	f := &s.flows[i]
	return s.order.back[[2]ledger.Place{s.spot(f.From), s.spot(f.To)}]
}

func (s *sketch) band(from, to turn, grams float64) {
	if grams > 0 {
		s.bands[[2]turn{from, to}] += grams
	}
}

// orders says which places come after which.
type orders struct {
	next map[ledger.Place][]ledger.Place
	// back are steps against the order: they close a circle.
	back map[[2]ledger.Place]bool
}

// follow takes up a step that was made.
func (o *orders) follow(from, to ledger.Place) {
	if slices.Contains(o.next[from], to) || o.back[[2]ledger.Place{from, to}] {
		return
	}
	if from == to || o.leads(to, from, map[ledger.Place]bool{}) {
		o.back[[2]ledger.Place{from, to}] = true
		return
	}
	o.next[from] = append(o.next[from], to)
}

func (o *orders) leads(from, to ledger.Place, seen map[ledger.Place]bool) bool {
	if from == to {
		return true
	}
	seen[from] = true
	return slices.ContainsFunc(o.next[from], func(p ledger.Place) bool { return !seen[p] && o.leads(p, to, seen) })
}

// depth is how many steps lead to each place at the most.
func (o *orders) depth() map[ledger.Place]int {
	before := map[ledger.Place][]ledger.Place{}
	for from, list := range o.next {
		for _, to := range list {
			before[to] = append(before[to], from)
		}
	}
	depth := map[ledger.Place]int{}
	var of func(ledger.Place) int
	of = func(p ledger.Place) int {
		d, known := depth[p]
		if known {
			return d
		}
		for _, from := range before[p] {
			d = max(d, of(from)+1)
		}
		depth[p] = d
		return d
	}
	for from, list := range o.next {
		of(from)
		for _, to := range list {
			of(to)
		}
	}
	return depth
}

// DrawForward draws the way of a subject's honey to lots and buyers.
func (t *Tracer) DrawForward(subject Subject) *Drawing {
	s := t.newSketch()
	carries := func(seen func(i int, carried []portion), turns func(int) bool) *walk {
		w := t.newWalk()
		w.tags, w.marked, w.seen, w.turns = subject.tags(t), subject.marks(t), seen, turns
		if w.marked != nil {
			w.tags = func(int32, *run) []portion { return nil }
		}
		for i := range t.moves {
			w.step(i)
		}
		return w
	}
	carries(func(i int, carried []portion) {
		if sumOf(carried) >= leastStepG && t.moves[i].to != outside && t.moves[i].from != outside {
			s.order.follow(t.spot(t.flows[i].From), t.spot(t.flows[i].To))
		}
	}, nil)
	w := carries(s.forward, s.turns)
	for at, c := range w.contents {
		if place := t.holders[at]; c != nil && place.Kind == ledger.PlaceContainer {
			c.settle()
			for _, p := range c.of {
				s.band(turn{place: t.spot(place), times: int(p.source)}, turn{name: onHandName}, p.grams)
			}
		}
	}
	s.yards(func(o ledger.Origin) bool {
		return w.marked != nil || subject.originates(t, o) || subject.Place.Kind == ledger.PlaceRun
	})
	return s.drawing(subject.Name(t.book), false)
}

func sumOf(carried []portion) (grams float64) {
	for _, p := range carried {
		grams += p.grams
	}
	return grams
}

// forward takes up what a move carried.
func (s *sketch) forward(i int, carried []portion) {
	f := &s.flows[i]
	back := s.turns(i)
	for _, p := range carried {
		if p.grams < leastStepG {
			continue
		}
		to := turn{place: s.spot(f.To), times: int(p.source)}
		from := turn{place: s.spot(f.From), times: int(p.source)}
		if f.From.Kind == "" {
			from = turn{name: unexplainedName}
		}
		switch {
		case back && p.source == int32(len(rounds{})-1):
			s.undrawn += p.grams
			continue
		case back:
			from.times--
		}
		if s.moves[i].to == outside {
			if to.times = 0; f.To.Kind == "" {
				to.name = lostName
			}
		}
		s.band(from, to, p.grams)
	}
}

// yards leads from the yards to the runs what the runs gave.
func (s *sketch) yards(ours func(ledger.Origin) bool) {
	given := map[turn]float64{}
	for b, grams := range s.bands {
		if b[0].place.Kind == ledger.PlaceRun {
			given[b[0]] += grams
		}
	}
	for to, grams := range given {
		parts, all := map[ledger.ID]float64{}, 0.0
		for _, p := range s.runs[s.at[to.place.ID]].mix.Parts {
			if yard := s.yardOf(p.Origin); yard != (ledger.ID{}) && ours(p.Origin) {
				parts[yard] += p.Share
			}
			if ours(p.Origin) {
				all += p.Share
			}
		}
		for yard, share := range parts {
			s.band(turn{place: ledger.Place{Kind: ledger.PlaceYard, ID: yard}}, to, grams*share/all)
		}
	}
}

// DrawBack draws the way of a lot's honey from the yards, and on to the buyers.
func (t *Tracer) DrawBack(lot ledger.ID) (*Drawing, error) {
	lot = t.book.Root(lot)
	if ledger.Named[ledger.Lot](t.book, lot) == nil {
		return nil, fault.New(fault.NotFound, "There is no lot %s.", lot)
	}
	s := t.newSketch()
	containers := t.book.State().Lot(lot).Containers
	b := newBack(t, t.targets(containers), &Back{})
	b.follow()
	carried := make([]rounds, len(b.relevant))
	b.reverse(outside, nil, carried)
	for k, i := range b.relevant {
		if m := t.moves[i]; carried[k].sum() >= leastStepG && m.from != outside {
			s.order.follow(t.spot(t.flows[i].From), t.spot(t.flows[i].To))
		}
	}
	clear(carried)
	b.reverse(outside, s.turns, carried)
	for k, i := range b.relevant {
		s.backward(i, carried[k])
	}
	s.yards(func(ledger.Origin) bool { return true })
	place := ledger.Place{Kind: ledger.PlaceLot, ID: lot}
	for _, x := range b.targets {
		c := t.describe(x.at)
		to := turn{name: string(c.State)}
		switch c.State {
		case season.Held:
			to.name = onHandName
		case season.Dispatched:
			to = turn{place: ledger.Place{Kind: ledger.PlaceBuyer, ID: c.BuyerID}}
		}
		s.band(turn{place: place}, to, float64(x.grams))
	}
	return s.drawing(placeName(t.book, place), true), nil
}

// backward takes up what a move carried of a lot's honey.
func (s *sketch) backward(i int, carried rounds) {
	f := &s.flows[i]
	m := s.moves[i]
	back := s.turns(i)
	for times, grams := range carried {
		if grams < leastStepG {
			continue
		}
		from, to := turn{place: s.spot(f.From), times: times}, turn{place: s.spot(f.To), times: times}
		if from.place.Kind == ledger.PlaceRun {
			from.times = 0
		}
		short := grams * float64(m.short) / float64(m.grams)
		if back {
			if times == len(carried)-1 {
				s.undrawn += grams
				continue
			}
			to.times--
		}
		s.band(turn{name: unexplainedName}, to, short)
		if m.from != outside {
			s.band(from, to, grams-short)
		}
	}
}

// drawing gives each turn its column and lists nodes and bands.
func (s *sketch) drawing(name string, ahead bool) *Drawing {
	d := &Drawing{Name: name, Through: s.through, NotDrawnG: int64(math.Round(s.undrawn))}
	columns := s.columns(ahead)
	place := map[turn]int{}
	grouped := s.group(columns)
	node := func(t turn) int {
		t = grouped(t)
		i, known := place[t]
		if !known {
			i = len(d.Nodes)
			place[t] = i
			d.Nodes = append(d.Nodes, Node{Place: t.place, Kind: t.place.Kind, Name: s.nameOf(t).String(), Said: s.nameOf(t), Column: columns[t]})
		}
		return i
	}
	sums := map[[2]int]float64{}
	for b, grams := range s.bands {
		sums[[2]int{node(b[0]), node(b[1])}] += grams
	}
	in, out := make([]float64, len(d.Nodes)), make([]float64, len(d.Nodes))
	for b, grams := range sums {
		out[b[0]] += grams
		in[b[1]] += grams
	}
	for i := range d.Nodes {
		d.Nodes[i].Grams = int64(math.Round(max(in[i], out[i])))
	}
	d.arrange(sums)
	return d
}

func (s *sketch) nameOf(t turn) message.Text {
	switch {
	case t.more > 0:
		return message.F("%s more %ss", t.more, message.F("kind|"+string(t.place.Kind)))
	case t.name == onHandName:
		return message.F("on hand")
	case t.name == unexplainedName:
		return message.F("account|unexplained")
	case t.name == lostName:
		return message.F("gone with washes and stocktakes")
	}
	return placeText(s.book, t.place)
}

// columns puts yards first, then runs, then each place after all that lead to
// it; who takes the honey comes last. Unused columns are left out.
func (s *sketch) columns(ahead bool) map[turn]int {
	depth := s.order.depth()
	width, most := 1, 0
	for _, d := range depth {
		width = max(width, d+1)
	}
	all := map[turn]bool{}
	for b := range s.bands {
		all[b[0]], all[b[1]] = true, true
		most = max(most, b[0].times, b[1].times)
	}
	out := map[turn]int{}
	last := (most + 1) * (width + 1)
	for t := range all {
		times := t.times
		if ahead {
			times = most - times
		}
		switch {
		case t.place.Kind == ledger.PlaceYard || t.name == unexplainedName:
			out[t] = 0
		case t.place.Kind == ledger.PlaceRun:
			out[t] = 1
		case t.name != "" || t.place.Kind == ledger.PlaceBuyer || t.place.Kind == ledger.PlaceWaste:
			out[t] = last + 1
		case t.place.Kind == ledger.PlaceLot && len(s.order.next[t.place]) == 0:
			out[t] = times*(width+1) + width
		default:
			out[t] = times*(width+1) + depth[t.place] + 1
		}
	}
	s.close(out)
	return out
}

// close leaves out columns that nothing stands in.
func (s *sketch) close(columns map[turn]int) {
	used := map[int]bool{}
	for _, c := range columns {
		used[c] = true
	}
	list := make([]int, 0, len(used))
	for c := range used {
		list = append(list, c)
	}
	slices.Sort(list)
	for t, c := range columns {
		columns[t], _ = slices.BinarySearch(list, c)
	}
}

// mostInColumn is how many places of a kind are drawn one by one in a column.
const mostInColumn = 12

// group takes the smaller of many places of a kind together.
func (s *sketch) group(columns map[turn]int) func(turn) turn {
	type shelf struct {
		kind   ledger.PlaceKind
		column int
	}
	grams := map[turn]float64{}
	for b, g := range s.bands {
		grams[b[0]] = max(grams[b[0]], 0) + g
		grams[b[1]] = max(grams[b[1]], 0) + g
	}
	shelves := map[shelf][]turn{}
	for t := range grams {
		if t.place.Kind != "" {
			k := shelf{t.place.Kind, columns[t]}
			shelves[k] = append(shelves[k], t)
		}
	}
	to := map[turn]turn{}
	for k, list := range shelves {
		if len(list) <= mostInColumn+1 {
			continue
		}
		slices.SortFunc(list, func(x, y turn) int {
			return cmp.Or(cmp.Compare(grams[y], grams[x]), bytes.Compare(x.place.ID[:], y.place.ID[:]), cmp.Compare(x.times, y.times))
		})
		rest := turn{place: ledger.Place{Kind: k.kind}, name: fmt.Sprintf("%d more %ss", len(list)-mostInColumn, k.kind), more: len(list) - mostInColumn, times: k.column}
		columns[rest] = k.column
		for _, t := range list[mostInColumn:] {
			to[t] = rest
		}
	}
	return func(t turn) turn {
		if rest, ok := to[t]; ok {
			return rest
		}
		return t
	}
}

// arrange puts nodes in order of column, the larger first, and the bands of each
// in the order of where they lead.
func (d *Drawing) arrange(sums map[[2]int]float64) {
	order := make([]int, len(d.Nodes))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		x, y := d.Nodes[a], d.Nodes[b]
		return cmp.Or(cmp.Compare(x.Column, y.Column), cmp.Compare(y.Grams, x.Grams), cmp.Compare(x.Name, y.Name), bytes.Compare(x.Place.ID[:], y.Place.ID[:]))
	})
	nodes, now := make([]Node, len(order)), make([]int, len(order))
	for to, from := range order {
		nodes[to], now[from] = d.Nodes[from], to
		d.Columns = max(d.Columns, nodes[to].Column+1)
	}
	d.Nodes = nodes
	for b, grams := range sums {
		if g := int64(math.Round(grams)); g > 0 {
			d.Bands = append(d.Bands, Band{now[b[0]], now[b[1]], g})
		}
	}
	slices.SortFunc(d.Bands, func(x, y Band) int { return cmp.Or(cmp.Compare(x.From, y.From), cmp.Compare(x.To, y.To)) })
}
