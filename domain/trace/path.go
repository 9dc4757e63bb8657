package trace

import (
	"bytes"
	"cmp"
	"math"
	"slices"

	"pullbook/domain/ledger"
)

// leastStepG is the least that a step carries to be listed.
const leastStepG = 0.5

// path follows the targets' honey back along each move and lists what it went
// through.
func (b *back) path() {
	carried := make([]rounds, len(b.relevant))
	b.reverse(outside, nil, carried)
	days := map[Day]float64{}
	places := map[int32]*Passed{}
	for k := len(b.relevant) - 1; k >= 0; k-- {
		if g := carried[k].sum(); g >= leastStepG {
			b.stepOf(k, g, days, places)
		}
	}
	slices.Reverse(b.out.Steps)
	for _, p := range b.out.Pulls {
		days[Day{Day: b.day(p.At), Work: WorkPulled}] += float64(p.Of.Grams)
	}
	b.days(days)
	b.passed(places)
	b.hands()
}

// rounds tells honey apart by how often it has yet to turn back to a place that
// it was in before, the last standing for as often or more.
type rounds [4]float64

func (r rounds) sum() float64 { return r[0] + r[1] + r[2] + r[3] }

// turned is honey that turns back once more.
func (r rounds) turned() rounds { return rounds{0, r[0], r[1], r[2] + r[3]} }

func (r rounds) times(x float64) rounds {
	return rounds{r[0] * x, r[1] * x, r[2] * x, r[3] * x}
}

func (r *rounds) add(o rounds) {
	for k := range r {
		r[k] += o[k]
	}
}

// reverse notes in carried, for each relevant move, what it carried of the honey
// that is in the targets, under perfect mixing; carried may be nil. Honey that
// comes to the holder absorb is followed no further; what came to it is returned.
// turns says which moves turn back; it may be nil.
func (b *back) reverse(absorb int32, turns func(i int) bool, carried []rounds) (absorbed float64) {
	if b.weight == nil {
		b.weight = make([]rounds, len(b.holders))
	} else {
		clear(b.weight)
	}
	weight := b.weight
	for _, x := range b.targets {
		if x.until == len(b.moves) {
			weight[x.at][0] += float64(x.grams)
		}
	}
	for n := len(b.bringing) - 1; n >= 0; n-- {
		k := b.bringing[n]
		i := b.relevant[k]
		m := &b.moves[i]
		if m.to != outside && m.grams > 0 && weight[m.to] != (rounds{}) {
			w := &weight[m.to]
			g := w.times(float64(m.grams) / float64(b.held[k]+m.grams))
			*w = w.times(float64(b.held[k]) / float64(b.held[k]+m.grams))
			if turns != nil && turns(i) {
				g = g.turned()
			}
			if carried != nil {
				carried[k] = g
			}
			if m.from != outside {
				known := g.times(float64(m.grams-m.short) / float64(m.grams))
				if m.from == absorb {
					absorbed += known.sum()
				} else {
					weight[m.from].add(known)
				}
			}
		}
		if x, leaving := b.leaves[i]; leaving {
			weight[b.targets[x].at][0] += float64(b.targets[x].grams)
		}
	}
	return absorbed
}

func (b *back) stepOf(k int, grams float64, days map[Day]float64, places map[int32]*Passed) {
	i := b.relevant[k]
	m, f := b.moves[i], b.flows[i]
	b.out.Steps = append(b.out.Steps, Step{
		Entry: f.Entry, From: f.From, To: f.To, FromName: placeName(b.book, f.From), ToName: placeName(b.book, f.To),
		Grams: int64(math.Round(grams)), UnexplainedG: int64(math.Round(grams * float64(m.short) / float64(m.grams))),
	})
	if work := workOf(f); work != "" {
		days[Day{Day: b.day(f.Entry.OccurredAt), Work: work}] += grams
	}
	for _, at := range []int32{m.from, m.to} {
		if at == outside || b.holders[at].Kind == ledger.PlaceRun {
			continue
		}
		p := places[at]
		if p == nil {
			p = &Passed{Place: b.holders[at], Name: placeName(b.book, b.holders[at]), Last: f.Entry.OccurredAt}
			places[at] = p
		}
		p.First = f.Entry.OccurredAt
	}
}

func workOf(f ledger.Flow) Work {
	switch {
	case f.From.Kind == ledger.PlaceRun:
		return WorkExtracted
	case f.Entry.Kind == ledger.KindFill:
		return WorkFilled
	case f.Entry.Kind == ledger.KindMovement:
		return WorkMoved
	}
	return ""
}

func (b *back) days(days map[Day]float64) {
	for d, grams := range days {
		if d.Grams = int64(math.Round(grams)); d.Grams > 0 {
			b.out.Days = append(b.out.Days, d)
		}
	}
	slices.SortFunc(b.out.Days, func(x, y Day) int { return cmp.Or(cmp.Compare(x.Day, y.Day), cmp.Compare(x.Work, y.Work)) })
}

// passed lists the tanks and containers on the way, each with what of the honey
// was ever in it.
func (b *back) passed(places map[int32]*Passed) {
	for at, p := range places {
		if slices.ContainsFunc(b.targets, func(x target) bool { return x.at == at }) {
			continue
		}
		grams := b.reverse(at, nil, nil)
		p.Grams = int64(math.Round(grams))
		b.out.Passed = append(b.out.Passed, *p)
	}
	slices.SortFunc(b.out.Passed, func(x, y Passed) int {
		return cmp.Or(x.First.Compare(y.First), cmp.Compare(x.Name, y.Name), bytes.Compare(x.Place.ID[:], y.Place.ID[:]))
	})
}

// hands lists who wrote down what the trace rests on, and what it was measured
// with.
func (b *back) hands() {
	people, instruments := map[string]int{}, map[ledger.ID]int{}
	note := func(e *ledger.Entry) {
		people[e.RecordedBy]++
		if r, ok := e.Body.(*ledger.Reading); ok && r.InstrumentID != (ledger.ID{}) {
			instruments[b.book.Root(r.InstrumentID)]++
		}
	}
	for e := range b.restsOn {
		note(e)
	}
	for name, n := range people {
		b.out.People = append(b.out.People, Person{name, n})
	}
	for id, n := range instruments {
		b.out.Instruments = append(b.out.Instruments, Instrument{id, placeName(b.book, ledger.Place{Kind: "instrument", ID: id}), n})
	}
	slices.SortFunc(b.out.People, func(x, y Person) int {
		return cmp.Or(cmp.Compare(y.Entries, x.Entries), cmp.Compare(x.Name, y.Name))
	})
	slices.SortFunc(b.out.Instruments, func(x, y Instrument) int {
		return cmp.Or(cmp.Compare(y.Readings, x.Readings), cmp.Compare(x.Name, y.Name), bytes.Compare(x.ID[:], y.ID[:]))
	})
}

// restsOn gives the entries that the trace rests on: the steps, what was said of
// their runs, the pulls, and the readings on the way.
func (b *back) restsOn(yield func(*ledger.Entry) bool) {
	var seen sources // by number
	more := true
	give := func(e *ledger.Entry) {
		if more && e != nil && !seen.has(int32(e.Number)) {
			seen.add(int32(e.Number))
			more = yield(e)
		}
	}
	told := b.toldOf()
	about := func(id ledger.ID) {
		give(b.book.InForce(id))
		for _, e := range told.said[id] {
			give(e)
		}
		for _, e := range told.mentions[id] {
			give(e)
		}
	}
	for _, s := range b.out.Steps {
		give(s.Entry)
		if s.From.Kind == ledger.PlaceRun {
			about(s.From.ID)
		}
	}
	for _, p := range b.out.Pulls {
		if p.Of.Grams > 0 {
			about(p.Place.ID)
		}
	}
	for _, x := range b.targets {
		about(b.holders[x.at].ID)
	}
	if b.out.Of.Kind == ledger.PlaceLot {
		about(b.out.Of.ID)
	}
	for _, p := range b.out.Passed {
		for _, e := range told.mentions[p.Place.ID] {
			if !e.OccurredAt.Before(p.First) && !e.OccurredAt.After(p.Last) {
				give(e)
			}
		}
	}
}
