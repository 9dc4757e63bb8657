package trace

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// Origin is a yard, pull or run that honey came from.
type Origin struct {
	// Place is the zero Place for honey of no entry.
	Place ledger.Place
	Name  string
	// At is when a pull or run was; the zero time for a yard.
	At time.Time
	// Of is its part of what is traced; all zeros stand for a heel.
	Of Amount
	// Share is its part under perfect mixing, 0 to 1.
	Share float64
}

// Passed is a tank or container that honey went through on its way.
type Passed struct {
	Place ledger.Place
	Name  string
	// Grams is what of it was ever in there, under perfect mixing.
	Grams int64
	// First and Last are when it came in first and went out last.
	First, Last time.Time
}

// Work is what was done to honey on a day.
type Work string

const (
	WorkPulled    Work = "pulled"
	WorkExtracted Work = "extracted"
	WorkMoved     Work = "moved"
	WorkFilled    Work = "filled"
)

// Day is a day on which honey was worked on.
type Day struct {
	Day  ledger.Date
	Work Work
	// Grams is what of the honey it was, under perfect mixing; what moved more
	// than once on a day counts as often.
	Grams int64
}

// Instrument is one that honey was measured with on its way.
type Instrument struct {
	ID       ledger.ID
	Name     string
	Readings int
}

// Person is one who wrote down what the trace rests on.
type Person struct {
	Name    string
	Entries int
}

// Step is one movement of honey on its way.
type Step struct {
	Entry            *ledger.Entry
	From, To         ledger.Place
	FromName, ToName string
	// Grams are of what is traced; UnexplainedG of them From had not got by the
	// book.
	Grams, UnexplainedG int64
}

// Back is where honey came from.
type Back struct {
	Of      ledger.Place
	Name    string
	Through int64
	// NetG is the honey that is traced: what is in it, or was when it left.
	NetG int64
	// Yards, Pulls and Runs list all that it may have honey of, most first. The
	// yards, the runs without pulls and what is unexplained sum to the whole.
	Yards, Pulls, Runs []Origin
	Unexplained        Amount
	Passed             []Passed
	// Days are in order, each with what was done on it.
	Days        []Day
	Instruments []Instrument
	People      []Person
	// Steps are all movements that brought half a gram of it or more, in order
	// of occurrence.
	Steps []Step
	// NotTightest tells that tighter bounds than some of these would have been too
	// much work; these hold all the same.
	NotTightest bool
}

// target is a holder that is traced: as it is now, or as it was before the move
// that emptied it.
type target struct {
	at int32
	// until is the index of that move; past the last where it is as it is now.
	until int
	grams int64
}

// Back traces the honey of a container, lot, tank or dispatch.
func (t *Tracer) Back(id ledger.ID) (*Back, error) {
	root := t.book.Root(id)
	e, _ := t.book.Entry(root)
	if e == nil {
		return nil, fault.New(fault.NotFound, "There is no %s.", id)
	}
	var of []ledger.ID
	out := &Back{Through: t.through}
	switch e.Kind {
	case ledger.KindFill, ledger.KindTank:
		of = []ledger.ID{root}
	case ledger.KindLot:
		of = t.book.State().Lot(root).Containers
	case ledger.KindDispatch:
		of = ledger.Named[ledger.Dispatch](t.book, root).Containers
	default:
		return nil, fault.New(fault.NotFound, "Honey cannot be traced back from a %s. Name a container, lot, tank or dispatch.", e.Kind.Noun())
	}
	out.Of = ledger.Place{Kind: kindsTraced[e.Kind], ID: root}
	out.Name = placeName(t.book, out.Of)
	if e.Kind == ledger.KindDispatch {
		out.Name = "dispatch to " + placeName(t.book, ledger.Place{Kind: ledger.PlaceBuyer, ID: ledger.Named[ledger.Dispatch](t.book, root).BuyerID})
	}
	back := newBack(t, t.targets(of), out)
	back.follow()
	back.path()
	return out, nil
}

// targets are the holders that ids name, each once.
func (t *Tracer) targets(ids []ledger.ID) []target {
	var out []target
	for _, id := range ids {
		at, known := t.at[t.book.Root(id)]
		if !known || slices.ContainsFunc(out, func(o target) bool { return o.at == at }) {
			continue
		}
		h, _ := t.book.State().Holder(id)
		out = append(out, target{at, len(t.moves), h.Grams})
	}
	// What was emptied is traced as it was before.
	for k := range out {
		if out[k].grams > 0 || t.holders[out[k].at].Kind != ledger.PlaceContainer {
			continue
		}
		if i := t.lastFrom(out[k].at); i >= 0 {
			out[k].until = i
		}
	}
	return out
}

// lastFrom is the last move out of a holder that took what the book had in it;
// -1 where there is none.
func (t *Tracer) lastFrom(at int32) int {
	for i := len(t.moves) - 1; i >= 0; i-- {
		if m := t.moves[i]; m.from == at && m.grams > m.short {
			return i
		}
	}
	return -1
}

// back is a trace back while it is being made.
type back struct {
	*walk
	out     *Back
	targets []target
	// leaves gives, by the move that emptied it, the place of a target in targets.
	leaves map[int]int
	// relevant are the moves that what is traced may hang on, in order.
	relevant []int
	// held is what the receiving holder had before each relevant move.
	held []int64
	// bringing are those of relevant that brought honey on, or emptied a target.
	bringing []int
	// reach says, by holder, up to which move its honey may matter.
	reach []int

	times *timeline
	// asked are the targets in times.
	asked   []demand
	arrived []portion
	may     sources
	net     int64

	// weight is reverse's, kept from one call to the next.
	weight []rounds
}

func newBack(t *Tracer, targets []target, out *Back) *back {
	b := &back{walk: t.newWalk(), out: out, targets: targets}
	b.times = newTimeline(len(t.holders), func(_ int32, r *run) []portion { return r.of })
	b.times.alone, b.maybeOf = true, b.times.mayBe
	b.reach = t.reach(targets)
	b.leaves = map[int]int{}
	for k, x := range targets {
		b.leaves[x.until] = k
	}
	b.unasked = func(i int) bool { return t.moves[i].to == outside || b.reach[t.moves[i].to] <= i }
	n := 0
	for i, m := range t.moves {
		if b.matters(i, m) {
			n++
		}
	}
	b.relevant, b.bringing = make([]int, 0, n), make([]int, 0, n)
	for i, m := range t.moves {
		if !b.matters(i, m) {
			continue
		}
		if _, leaving := b.leaves[i]; leaving || !b.unasked(i) {
			b.bringing = append(b.bringing, len(b.relevant))
		}
		b.relevant = append(b.relevant, i)
	}
	return b
}

// reach goes back from the targets to all whose honey may have come to them. It
// gives the last move of each holder that may matter, -1 where none does.
func (t *Tracer) reach(targets []target) []int {
	reach := make([]int, len(t.holders))
	for at := range reach {
		reach[at] = -1
	}
	last := 0
	for _, x := range targets {
		reach[x.at] = max(reach[x.at], x.until)
		last = max(last, x.until)
	}
	for i := min(last, len(t.moves)) - 1; i >= 0; i-- {
		if m := t.moves[i]; m.to != outside && m.from != outside && reach[m.to] > i {
			reach[m.from] = max(reach[m.from], i)
		}
	}
	return reach
}

func (b *back) matters(i int, m move) bool {
	return m.to != outside && b.reach[m.to] > i || m.from != outside && b.reach[m.from] >= i
}

// follow walks to the targets and lists the sources that they may have of.
func (b *back) follow() {
	b.held = make([]int64, len(b.relevant))
	for k, i := range b.relevant {
		if x, leaving := b.leaves[i]; leaving {
			b.arrive(x)
		}
		if b.unasked(i) {
			b.times.leave(b.moves[i])
		} else {
			b.times.carry(b.Tracer, b.moves[i], false)
		}
		if to := b.moves[i].to; !b.unasked(i) {
			b.held[k] = b.in(to).grams
			if b.moves[i].from == to {
				b.held[k] -= min(b.held[k], b.moves[i].grams-b.moves[i].short)
			}
		}
		b.step(i)
	}
	for k, x := range b.targets {
		if x.until == len(b.moves) {
			b.arrive(k)
		}
	}
	b.times.ready(b.mostWork())
	b.list()
}

// mostWorkBack bounds the work for the bounds of one trace back, in looks at arcs
// of its network: about a tenth of a second.
const mostWorkBack = 5_000_000

// mostWork is none where a target's honey went on to another: it counts in both.
func (b *back) mostWork() int {
	for _, x := range b.targets {
		if x.until < len(b.moves) && !b.unasked(x.until) {
			return -1
		}
	}
	return mostWorkBack
}

// arrive takes up what a target has in it.
func (b *back) arrive(k int) {
	x := &b.targets[k]
	c := b.in(x.at)
	x.grams = c.grams
	b.net += c.grams
	if c.grams > 0 {
		b.times.now(x.at)
		b.asked = append(b.asked, b.times.held(x.at))
	}
	b.arrived = merge(b.arrived, c.has())
	b.may.addAll(c.may)
}

// makeRoom makes the lists as long as the sources need.
func (b *back) makeRoom() {
	var yards, pulls, runs int
	b.may.each(func(s int32) {
		switch b.origins[s].Place.Kind {
		case ledger.PlaceYard:
			yards++
		case ledger.PlacePull:
			pulls++
		case ledger.PlaceRun:
			runs++
		}
	})
	b.out.Yards, b.out.Pulls, b.out.Runs = make([]Origin, 0, yards), make([]Origin, 0, pulls), make([]Origin, 0, runs)
}

// ofAll is the most that there can be of a source's honey: what it gave, and what
// may be of it of the honey that no entry brings.
func (b *back) ofAll(source int32) float64 {
	if source == unexplained {
		return math.Inf(1) // it has no bound but what is in there
	}
	all := b.given[source]
	if int(source) < len(b.maybe) {
		all += b.maybe[source]
	}
	return all
}

// amount is a portion with the tightest bounds, if these are not too much work.
func (b *back) amount(p portion) Amount {
	a := p.amount(b.ofAll(p.source), b.net)
	if a.LeastG == a.MostG {
		return a
	}
	if least, most, ok := b.times.bounds(p.source, b.asked); ok {
		a.LeastG, a.MostG = least, most
	} else {
		b.out.NotTightest = true
	}
	return a
}

func (b *back) list() {
	b.out.NetG = b.net
	for _, p := range b.arrived {
		b.may.add(p.source)
	}
	b.makeRoom()
	left := b.arrived
	b.may.each(func(s int32) {
		o, p := b.origins[s], portion{source: s}
		if len(left) > 0 && left[0].source == s {
			p, left = left[0], left[1:]
		}
		o.Of = b.amount(p)
		if b.net > 0 {
			o.Share = p.grams / float64(b.net)
		}
		switch o.Place.Kind {
		case ledger.PlaceYard:
			b.out.Yards = append(b.out.Yards, o)
		case ledger.PlacePull:
			b.out.Pulls = append(b.out.Pulls, o)
		case ledger.PlaceRun:
			b.out.Runs = append(b.out.Runs, o)
		default:
			b.out.Unexplained = o.Of
		}
	})
	for _, list := range [][]Origin{b.out.Yards, b.out.Pulls, b.out.Runs} {
		slices.SortFunc(list, func(x, y Origin) int {
			return cmp.Or(cmp.Compare(y.Of.Grams, x.Of.Grams), cmp.Compare(y.Of.MostG, x.Of.MostG), x.At.Compare(y.At), cmp.Compare(x.Name, y.Name), bytes.Compare(x.Place.ID[:], y.Place.ID[:]))
		})
	}
}
