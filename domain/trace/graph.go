package trace

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Tracer answers about one book at one entry. It holds for as long as nothing is
// appended to the book, and any number may ask it at once.
type Tracer struct {
	book    *ledger.Book
	through int64
	flows   []ledger.Flow
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
	// given is what each source gave in all, in grams.
	given []float64
	said  map[ledger.ID][]*ledger.Entry
	// mentions are the readings on each place, in order of their numbers.
	mentions map[ledger.ID][]*ledger.Entry
}

// move is a flow from one holder to another; outside stands for what is none.
type move struct {
	from, to     int32
	grams, short int64
	wash         bool
}

const outside int32 = -1

// run is a run as a holder: full of all that ever comes out of it.
type run struct {
	grams int64
	mix   *ledger.Mix
	// of is what it is full of: its pulls, their yards, and itself.
	of  []portion
	may sources
}

const unexplained int32 = 0

// Open readies a book for tracing.
func Open(b *ledger.Book) *Tracer {
	t := &Tracer{
		book: b, through: b.Len(), at: map[ledger.ID]int32{},
		origins: []Origin{{Name: placeName(b, ledger.Place{})}}, given: []float64{0}, sourceOf: map[ledger.Place]int32{{}: unexplained},
		said: map[ledger.ID][]*ledger.Entry{}, mentions: map[ledger.ID][]*ledger.Entry{},
	}
	for f := range b.Flows {
		m := move{from: t.holder(f.From), to: t.holder(f.To), grams: f.Grams, short: f.UnexplainedG, wash: f.Entry.Kind == ledger.KindWash}
		if f.From.Kind == ledger.PlaceRun {
			r := t.runs[m.from]
			if r == nil {
				r = &run{mix: b.Harvest(f.From.ID).Mix}
				t.runs[m.from] = r
			}
			r.grams += f.Grams
		}
		t.flows, t.moves = append(t.flows, f), append(t.moves, m)
	}
	for at, place := range t.holders {
		if r := t.runs[at]; r != nil {
			t.fill(place, r)
		}
	}
	for _, e := range b.Happened {
		switch body := e.Body.(type) {
		case *ledger.Reading:
			on := b.Root(body.On.ID)
			t.mentions[on] = append(t.mentions[on], e)
		case *ledger.RunSupers:
			t.say(body.RunID, e)
		case *ledger.Load:
			t.say(body.RunID, e)
		case *ledger.RunEnd:
			t.say(body.RunID, e)
		}
	}
	return t
}

// fill puts into a run what its pulls and their yards gave.
func (t *Tracer) fill(place ledger.Place, r *run) {
	grams := map[int32]float64{t.source(place): float64(r.grams)}
	for _, p := range r.mix.Parts {
		yard := t.yardOf(p.Origin)
		if yard == (ledger.ID{}) {
			continue
		}
		g := p.Share * float64(r.grams)
		grams[t.source(ledger.Place{Kind: ledger.PlacePull, ID: p.Origin})] += g
		grams[t.source(ledger.Place{Kind: ledger.PlaceYard, ID: yard})] += g
	}
	for s, g := range grams {
		if g > float64(r.grams)*(1-1e-12) {
			g = float64(r.grams) // its only one
		}
		t.given[s] += g
		r.of = append(r.of, portion{s, g, g, g})
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

func (t *Tracer) say(run ledger.ID, e *ledger.Entry) {
	run = t.book.Root(run)
	t.said[run] = append(t.said[run], e)
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
