package season

import (
	"bytes"
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// sortSources puts the largest first; ties go by name and then by id, so that
// the same book gives the same order.
func sortSources(in []Source) {
	slices.SortFunc(in, func(a, b Source) int {
		return cmp.Or(cmp.Compare(b.Grams, a.Grams), cmp.Compare(a.Name, b.Name), bytes.Compare(a.From.ID[:], b.From.ID[:]))
	})
	for i := range in {
		slices.SortFunc(in[i].Pulls, func(a, b SourcePull) int {
			return cmp.Or(a.PulledAt.Compare(b.PulledAt), bytes.Compare(a.PullID[:], b.PullID[:]))
		})
	}
}

// KindCount is a number of supers of one kind.
type KindCount struct {
	SuperKindID ledger.ID
	Name        string
	Supers      int
}

// tally counts supers by kind.
type tally map[ledger.ID]int

func (t tally) add(b *ledger.Book, c ledger.SuperCount) { t[b.Root(c.SuperKindID)] += c.Supers }

func (t tally) total() int {
	n := 0
	for _, supers := range t {
		n += supers
	}
	return n
}

// counts lists the tally, most supers first.
func (t tally) counts(b *ledger.Book) []KindCount {
	out := make([]KindCount, 0, len(t))
	for id, n := range t {
		name := "a kind that is not in the book"
		if k := ledger.Named[ledger.SuperKind](b, id); k != nil {
			name = k.Name
		}
		out = append(out, KindCount{id, name, n})
	}
	slices.SortFunc(out, func(a, c KindCount) int {
		return cmp.Or(cmp.Compare(c.Supers, a.Supers), cmp.Compare(a.Name, c.Name), bytes.Compare(a.SuperKindID[:], c.SuperKindID[:]))
	})
	return out
}

// mean gathers an arithmetic or weighted mean.
type mean struct{ sum, weight float64 }

func (m *mean) add(value, weight float64) {
	m.sum += value * weight
	m.weight += weight
}

func (m mean) value() *float64 {
	if m.weight == 0 {
		return nil
	}
	v := m.sum / m.weight
	return &v
}

// sampled gathers readings of moisture: their mean, and each with its time.
type sampled struct {
	mean
	reads []readAt
}

type readAt struct {
	at  time.Time
	pct float64
}

func (s *sampled) read(at time.Time, pct float64) {
	s.add(pct, 1)
	s.reads = append(s.reads, readAt{at, pct})
}

// ratio is a over b; nil where b is nothing.
func ratio(a, b float64) *float64 {
	if b == 0 {
		return nil
	}
	r := a / b
	return &r
}

// pullFacts is what the book says about one pull.
type pullFacts struct {
	id       ledger.ID
	at       time.Time
	pull     *ledger.Pull
	yard     ledger.ID
	used     tally
	moisture sampled
	// withdrawn is true where the pull does not stand any more.
	withdrawn bool
}

// runFacts is what the book says about one run.
type runFacts struct {
	id        ledger.ID
	at        time.Time
	run       *ledger.Run
	supers    tally
	fromPulls map[ledger.ID]int
	loads     int
	frames    int
	waxG      int64
	setAside  int
	emptiesG  int64
	moisture  sampled
	honeyG    int64
	harvest   ledger.Harvest
	perPull   []int64
}

// gathered is the book's yield side, read once.
type gathered struct {
	book   *ledger.Book
	pulls  map[ledger.ID]*pullFacts
	runs   map[ledger.ID]*runFacts
	counts []hiveCount
	// fills and dispatches are in order of occurrence.
	fills      []fill
	dispatches []dispatch
	// pullsInOrder and runsInOrder are in order of occurrence.
	pullsInOrder []*pullFacts
	runsInOrder  []*runFacts
}

type hiveCount struct {
	yard ledger.ID
	at   time.Time
	*ledger.HiveCount
}

type fill struct {
	at   time.Time
	netG int64
}

type dispatch struct {
	id ledger.ID
	at time.Time
	*ledger.Dispatch
}

// gather reads what yields rest on. Pulls and runs that were withdrawn are
// left out; honey that rests on them still shows as theirs in a make-up.
func gather(b *ledger.Book) *gathered {
	g := &gathered{book: b, pulls: map[ledger.ID]*pullFacts{}, runs: map[ledger.ID]*runFacts{}}
	var attached []*ledger.Entry // what says something of a pull or run that may come after it
	yielding := b.HappenedOf(ledger.KindPull, ledger.KindRun, ledger.KindHiveCount, ledger.KindFill, ledger.KindDispatch,
		ledger.KindRunSupers, ledger.KindLoad, ledger.KindRunEnd, ledger.KindReading)
	for root, e := range yielding {
		switch body := e.Body.(type) {
		case *ledger.Pull:
			p := &pullFacts{id: root, at: e.OccurredAt, pull: body, yard: b.Root(body.YardID), used: tally{}}
			g.pulls[root] = p
			g.pullsInOrder = append(g.pullsInOrder, p)
		case *ledger.Run:
			r := &runFacts{id: root, at: e.OccurredAt, run: body, supers: tally{}, fromPulls: map[ledger.ID]int{}}
			g.runs[root] = r
			g.runsInOrder = append(g.runsInOrder, r)
		case *ledger.HiveCount:
			g.counts = append(g.counts, hiveCount{b.Root(body.YardID), e.OccurredAt, body})
		case *ledger.Fill:
			g.fills = append(g.fills, fill{e.OccurredAt, body.NetG()})
		case *ledger.Dispatch:
			g.dispatches = append(g.dispatches, dispatch{root, e.OccurredAt, body})
		case *ledger.RunSupers, *ledger.Load, *ledger.RunEnd:
			attached = append(attached, e)
		case *ledger.Reading:
			if body.Moisture != nil && (body.On.Kind == ledger.PlacePull || body.On.Kind == ledger.PlaceRun) {
				attached = append(attached, e)
			}
		}
	}
	for h := range b.State().Holders {
		if h.Place.Kind == ledger.PlaceRun && g.runs[h.Place.ID] == nil {
			g.addWithdrawnRun(h.Place.ID)
		}
	}
	for _, e := range attached {
		g.attach(e)
	}
	for _, r := range g.runsInOrder {
		h, _ := b.State().Holder(r.id)
		r.honeyG, r.harvest = h.OutG, b.Harvest(r.id)
		r.perPull = apportion(r.harvest.Mix, r.honeyG)
	}
	return g
}

// addWithdrawnRun takes up a run that was withdrawn though honey still comes
// from it in the book: the honey must show somewhere.
func (g *gathered) addWithdrawnRun(id ledger.ID) {
	e, _ := g.book.Entry(id)
	r := &runFacts{id: id, at: e.OccurredAt, run: ledger.Named[ledger.Run](g.book, id),
		supers: tally{}, fromPulls: map[ledger.ID]int{}}
	g.runs[id] = r
	g.runsInOrder = append(g.runsInOrder, r)
}

// pullOf finds a pull; one that was withdrawn though honey still comes from it
// is taken up as it last stood. It is nil where id names no pull.
func (g *gathered) pullOf(id ledger.ID) *pullFacts {
	if p := g.pulls[id]; p != nil {
		return p
	}
	pull := ledger.Named[ledger.Pull](g.book, id)
	if pull == nil {
		return nil
	}
	p := &pullFacts{id: id, at: pulledAt(g.book, id), pull: pull, yard: g.book.Root(pull.YardID), withdrawn: true, used: tally{}}
	g.pulls[id] = p
	return p
}

// attach adds what is said about a pull or run to it.
func (g *gathered) attach(e *ledger.Entry) {
	switch body := e.Body.(type) {
	case *ledger.RunSupers:
		if p := g.pulls[g.book.Root(body.PullID)]; p != nil {
			p.used.add(g.book, body.SuperCount)
		}
		if r := g.runs[g.book.Root(body.RunID)]; r != nil {
			r.supers.add(g.book, body.SuperCount)
			r.fromPulls[g.book.Root(body.PullID)] += body.Supers
		}
	case *ledger.Load:
		if r := g.runs[g.book.Root(body.RunID)]; r != nil {
			r.loads++
			r.frames += body.FramesLeft + body.FramesRight
		}
	case *ledger.RunEnd:
		if r := g.runs[g.book.Root(body.RunID)]; r != nil {
			r.waxG += body.WaxG
			r.setAside += body.SetAsideFrames
			r.emptiesG += body.EmptiesG
		}
	case *ledger.Reading:
		switch body.On.Kind {
		case ledger.PlacePull:
			if p := g.pulls[g.book.Root(body.On.ID)]; p != nil {
				p.moisture.read(e.OccurredAt, body.Moisture.Pct)
			}
		case ledger.PlaceRun:
			if r := g.runs[g.book.Root(body.On.ID)]; r != nil {
				r.moisture.read(e.OccurredAt, body.Moisture.Pct)
			}
		}
	}
}
