package trace

import (
	"cmp"
	"slices"
	"sync"
	"time"

	"pullbook/domain/balance"
	"pullbook/domain/ledger"
)

// Tracer answers about one book at one entry. It holds for as long as nothing is
// appended to the book, and any number may ask it at once.
type Tracer struct {
	allowance
	book    *ledger.Book
	through int64
	// walk is what flows were had from, and follows the book further.
	walk  *ledger.FlowWalk
	flows []ledger.Flow
	// moves are the flows by the places of their holders in holders.
	moves   []move
	holders []ledger.Place
	at      map[ledger.ID]int32
	// runs are what the runs gave, by holder; nil for what is no run.
	runs []*run
	// origins are all pulls, yards and runs that honey came from, each with its
	// number as a source; the first stands for honey of no entry.
	origins  []Origin
	sourceOf map[ledger.Place]int32
	// given is what each source gave in all at the most, in grams.
	given []float64
	// boxes are, by run, how many of each pull went in.
	boxes map[ledger.ID]map[ledger.ID]int
	// told is what is said of runs and places; nil until somebody asks.
	told *told
}

// told are entries that move no honey, by what they are about, in order of occurrence.
type told struct {
	once sync.Once
	// said is about each run, and mentions are the readings on each place.
	said, mentions map[ledger.ID][]*ledger.Entry
}

// move is a flow from one holder to another; outside stands for what is none.
type move struct {
	from, to     int32
	grams, short int64
	wash         bool
	// off2 is the square of how far the grams may be off; of a stocktake or wash, which
	// sets what a tank has, how far that may be off.
	off2 float64
	sets bool
}

const outside int32 = -1

// run is a run as a holder: full of all that ever comes out of it.
type run struct {
	grams int64
	mix   *ledger.Mix
	how   ledger.Allocation
	// off2 is the square of how far grams may be off.
	off2 float64
	// boxes are how many of each pull went in.
	boxes map[ledger.ID]int
	// of is what it is full of: its pulls, their yards, and itself.
	of  []portion
	may sources
}

const unexplained int32 = 0

// Open readies a book for tracing.
func Open(b *ledger.Book) *Tracer { return open(b, allowed) }

// open allows so many standard deviations of masses and shares.
func open(b *ledger.Book, allowed float64) *Tracer {
	t := &Tracer{
		allowance: allowance{balance.WeightsOf(b), allowed}, book: b, through: b.Len(), walk: b.FlowsAsKnown(), at: map[ledger.ID]int32{},
		origins: []Origin{{Name: placeName(b, ledger.Place{})}}, given: []float64{0}, sourceOf: map[ledger.Place]int32{{}: unexplained},
		boxes: map[ledger.ID]map[ledger.ID]int{}, told: new(told),
	}
	for _, e := range b.HappenedOf(ledger.KindRunSupers) {
		body := e.Body.(*ledger.RunSupers)
		run := b.Root(body.RunID)
		if t.boxes[run] == nil {
			t.boxes[run] = map[ledger.ID]int{}
		}
		t.boxes[run][b.Root(body.PullID)] += body.Supers
	}
	t.follow()
	return t
}

// GoOn takes in what the book learned since the tracer was opened, and reports whether it
// could. It can where that leaves what was traced as it was, as most entries do. Nobody may ask
// the tracer meanwhile.
func (t *Tracer) GoOn(b *ledger.Book) bool {
	if t.book != b || !t.walk.GoOn(b) {
		return false
	}
	t.through, t.told = b.Len(), new(told)
	t.follow()
	return true
}

// follow takes in the flows that the walk has still to give.
func (t *Tracer) follow() {
	fuller := map[int32]bool{}
	flows, more := []ledger.Flow(nil), true
	for more {
		flows, more = t.walk.Some(t.book, 1<<10)
		for _, f := range flows {
			m := move{from: t.holder(f.From), to: t.holder(f.To), grams: f.Grams, short: f.UnexplainedG, wash: f.Entry.Kind == ledger.KindWash}
			m.off2, m.sets = t.off2(f)
			if f.From.Kind == ledger.PlaceRun {
				t.harvest(m, f.From.ID)
				fuller[m.from] = true
			}
			t.flows, t.moves = append(t.flows, f), append(t.moves, m)
		}
	}
	for at, place := range t.holders {
		if fuller[int32(at)] {
			t.fill(place, t.runs[at])
		}
	}
	if len(fuller) > 0 {
		t.sumGiven()
	}
}

// harvest adds to a run what a move takes out of it.
func (t *Tracer) harvest(m move, id ledger.ID) {
	r := t.runs[m.from]
	if r == nil {
		h := t.book.Harvest(id)
		r = &run{mix: h.Mix, how: h.How, boxes: t.boxes[id]}
		t.runs[m.from] = r
	}
	r.grams += m.grams
	r.off2 += m.off2
}

// sumGiven adds up what each source gave, run by run.
func (t *Tracer) sumGiven() {
	clear(t.given)
	for _, r := range t.runs {
		if r == nil {
			continue
		}
		for _, p := range r.of {
			t.given[p.source] += p.top
		}
	}
}

// toldOf is what is said of runs and places.
func (t *Tracer) toldOf() *told {
	t.told.once.Do(func() {
		t.told.said, t.told.mentions = map[ledger.ID][]*ledger.Entry{}, map[ledger.ID][]*ledger.Entry{}
		add := func(to map[ledger.ID][]*ledger.Entry, id ledger.ID, e *ledger.Entry) {
			id = t.book.Root(id)
			to[id] = append(to[id], e)
		}
		for _, e := range t.book.HappenedOf(ledger.KindReading, ledger.KindRunSupers, ledger.KindLoad, ledger.KindRunEnd) {
			switch body := e.Body.(type) {
			case *ledger.Reading:
				add(t.told.mentions, body.On.ID, e)
			case *ledger.RunSupers:
				add(t.told.said, body.RunID, e)
			case *ledger.Load:
				add(t.told.said, body.RunID, e)
			case *ledger.RunEnd:
				add(t.told.said, body.RunID, e)
			}
		}
	})
	return t.told
}

// fill puts into a run what its pulls and their yards gave.
func (t *Tracer) fill(place ledger.Place, r *run) {
	parts := map[int32][]ledger.Part{}
	for _, p := range r.mix.Parts {
		yard := t.yardOf(p.Origin)
		if yard == (ledger.ID{}) {
			continue
		}
		for _, of := range []ledger.Place{{Kind: ledger.PlacePull, ID: p.Origin}, {Kind: ledger.PlaceYard, ID: yard}} {
			s := t.source(of)
			parts[s] = append(parts[s], p)
		}
	}
	parts[t.source(place)] = r.mix.Parts
	r.of, r.may = nil, nil
	for s, of := range parts {
		p := t.partOf(r, of)
		p.source = s
		r.of = append(r.of, p)
		r.may.add(s)
	}
	slices.SortFunc(r.of, func(a, b portion) int { return cmp.Compare(a.source, b.source) })
}

// source gives a yard, pull or run its number.
func (t *Tracer) source(p ledger.Place) int32 {
	i, known := t.sourceOf[p]
	if known {
		return i
	}
	i = int32(len(t.origins))
	t.sourceOf[p] = i
	o := Origin{Place: p, Name: placeName(t.book, p)}
	if e := standingOrFirst(t.book, p.ID); e != nil && p.Kind != ledger.PlaceYard {
		o.At = e.OccurredAt
	}
	t.origins, t.given = append(t.origins, o), append(t.given, 0)
	return i
}

// Of reports whether the tracer is of that book as it is now.
func (t *Tracer) Of(b *ledger.Book) bool { return t.book == b && t.through == b.Len() }

// holder is the place of a holder in holders.
func (t *Tracer) holder(p ledger.Place) int32 {
	switch p.Kind {
	case ledger.PlaceRun, ledger.PlaceTank, ledger.PlaceContainer:
	default:
		return outside
	}
	i, known := t.at[p.ID]
	if !known {
		i = int32(len(t.holders))
		t.holders, t.runs = append(t.holders, p), append(t.runs, nil)
		t.at[p.ID] = i
	}
	return i
}

// day is the local day of an instant.
func (t *Tracer) day(at time.Time) ledger.Date {
	return ledger.Date(at.In(t.book.Location()).Format(time.DateOnly))
}

// yardOf is the yard of an origin; the zero ID where it is of none.
func (t *Tracer) yardOf(o ledger.Origin) ledger.ID {
	if p := ledger.Named[ledger.Pull](t.book, o); p != nil {
		return t.book.Root(p.YardID)
	}
	return ledger.ID{}
}
