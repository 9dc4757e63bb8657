package season

import (
	"bytes"
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// OneYard labels honey of runs whose supers all came from one yard: no other
// yard has a share in it, however it was split among that yard's pulls.
const OneYard ledger.Allocation = "one yard"

// HiveBasis is the hive count that a figure per hive rests on.
type HiveBasis struct {
	Name      string
	CountedAt time.Time
	Hives     int
}

// Yield is what a yard gave in one season.
type Yield struct {
	// HoneyG is of the runs whose pulls are known; where NotKnown, it is the least that
	// the yard gave.
	HoneyG int64
	// NotKnown is true where runs that name no pulls gave honey in the season, and some of
	// it may be the yard's: it was not pulled as far as the book knows, or has supers that
	// went into no known run.
	NotKnown bool
	// KgPerSuper is honey over the supers that went into the season's runs;
	// nil where none did.
	KgPerSuper *float64
	// KgPerHive is honey over Hives; nil where no hives were counted, or the honey is not
	// known.
	KgPerHive *float64
	Hives     *HiveBasis
}

// YardLine is one yard's season.
type YardLine struct {
	YardID ledger.ID
	Name   string
	// Supers were pulled off the yard in the season, by kind.
	Supers       []KindCount
	SupersPulled int
	// SupersExtracted of the yard went into the season's runs.
	SupersExtracted int
	// HivesWorked is the sum over the season's pulls.
	HivesWorked int
	Yield
	// Share is this yard's part of the season's honey, 0 to 1; nil where its honey is not
	// known.
	Share *float64
	// MoisturePct is the mean of what came from the yard, weighted by honey:
	// from readings on its pulls, else on the runs that they went into.
	MoisturePct *float64
	// Rank is by honey, from 1; yards that gave alike share a rank. It is 0 where the honey
	// of some yard is not known, since that may have given more.
	Rank int
	// RankPerHive is by honey per hive; 0 where no hives were counted, or the honey of some
	// yard is not known.
	RankPerHive int
	// How says how its honey was told from other yards', by the least sure of
	// its runs; empty where it gave none.
	How ledger.Allocation
	// LastSeason is what it gave in the season before; nil where there is no
	// such season. ChangeG and ChangePct compare honey with it, and are nil where either
	// is not known; ChangePct is nil where the yard gave nothing then.
	LastSeason *Yield
	ChangeG    *int64
	ChangePct  *float64
}

// PullLine is one pull's part in a season.
type PullLine struct {
	PullID       ledger.ID
	YardID       ledger.ID
	Yard         string
	PulledAt     time.Time
	Supers       []KindCount
	SupersPulled int
	// SupersExtracted went into the season's runs; SupersLeft into no run yet,
	// below zero where more went in than were pulled.
	SupersExtracted int
	SupersLeft      int
	HivesWorked     int
	GrossG          int64
	// Yield is what it gave; of hives it says nothing.
	Yield
	Share       *float64
	MoisturePct *float64
	How         ledger.Allocation
	// OtherSeason is true for a pull of other dates whose supers went into
	// this season's runs: its honey counts here, its supers there.
	OtherSeason bool
	// Withdrawn is true where the pull no longer stands but honey still rests
	// on it: it has no supers of its own then.
	Withdrawn bool
}

// yields is a season's honey by pull and yard.
type yields struct {
	season    *ledger.Season
	pulls     []*pullYield
	byPull    map[ledger.ID]*pullYield
	runs      []*runFacts
	honeyG    int64
	noPullG   int64
	countName string
}

type pullYield struct {
	*pullFacts
	otherSeason bool
	honeyG      int64
	extracted   int
	fromRuns    mean
	how         ledger.Allocation
	howYard     ledger.Allocation
}

// counts reports whether the pull's own supers and hives are of the season.
func (p *pullYield) counts() bool { return !p.otherSeason && !p.withdrawn }

// sureness puts the ways of sharing from the surest to the least sure.
var sureness = []ledger.Allocation{"", ledger.OnePull, OneYard, ledger.Weighed, ledger.SharedOut, ledger.NoSupers}

func lessSure(a, b ledger.Allocation) ledger.Allocation {
	if slices.Index(sureness, a) > slices.Index(sureness, b) {
		return a
	}
	return b
}

// yieldsOf shares the honey of a season's runs among pulls.
func (g *gathered) yieldsOf(s *ledger.Season) *yields {
	y := &yields{season: s, byPull: map[ledger.ID]*pullYield{}}
	loc := g.book.Location()
	for _, p := range g.pullsInOrder {
		if s.Holds(p.at, loc) {
			y.of(p)
		}
	}
	for _, r := range g.runsInOrder {
		if s.Holds(r.at, loc) {
			y.addRun(g, r)
		}
	}
	slices.SortStableFunc(y.pulls, func(a, b *pullYield) int {
		return cmp.Or(a.at.Compare(b.at), bytes.Compare(a.id[:], b.id[:]))
	})
	return y
}

func (y *yields) of(p *pullFacts) *pullYield {
	l := y.byPull[p.id]
	if l == nil {
		l = &pullYield{pullFacts: p}
		y.byPull[p.id] = l
		y.pulls = append(y.pulls, l)
	}
	return l
}

func (y *yields) addRun(g *gathered, r *runFacts) {
	y.runs = append(y.runs, r)
	y.honeyG += r.honeyG
	lineOf := func(id ledger.ID) *pullYield {
		p := g.pullOf(id)
		if p == nil {
			return nil
		}
		l := y.of(p)
		l.otherSeason = !y.season.Holds(p.at, g.book.Location())
		return l
	}
	for id, supers := range r.fromPulls {
		if l := lineOf(id); l != nil {
			l.extracted += supers
		}
	}
	howYard := r.harvest.How
	if oneYard(g.book, r.harvest.Mix) && howYard != ledger.OnePull && howYard != ledger.NoSupers {
		howYard = OneYard
	}
	for i, part := range r.harvest.Mix.Parts {
		l := lineOf(part.Origin)
		if l == nil {
			y.noPullG += r.perPull[i]
			continue
		}
		l.honeyG += r.perPull[i]
		if pct := r.moisture.value(); pct != nil {
			l.fromRuns.add(*pct, float64(r.perPull[i]))
		}
		if r.honeyG > 0 {
			l.how, l.howYard = lessSure(l.how, r.harvest.How), lessSure(l.howYard, howYard)
		}
	}
}

func oneYard(b *ledger.Book, mix *ledger.Mix) bool {
	first, _ := origin(b, mix.Parts[0].Origin)
	for _, p := range mix.Parts[1:] {
		if from, _ := origin(b, p.Origin); from != first {
			return false
		}
	}
	return true
}

// moisturePct is a pull's own mean, else the mean of the runs it went into.
func (p *pullYield) moisturePct() *float64 {
	if pct := p.moisture.value(); pct != nil {
		return pct
	}
	return p.fromRuns.value()
}

// share is a part of the season's honey, 0 to 1; nil where the part is not known.
func (y *yields) share(part Yield) *float64 {
	switch {
	case part.NotKnown:
		return nil
	case y.honeyG == 0:
		return new(0.0)
	}
	return new(float64(part.HoneyG) / float64(y.honeyG))
}

// pullLines writes the season's pulls, earliest first.
func (y *yields) pullLines(b *ledger.Book) []PullLine {
	out := make([]PullLine, 0, len(y.pulls))
	for _, p := range y.pulls {
		pulled := tally{}
		if !p.withdrawn {
			for _, c := range p.pull.Supers {
				pulled.add(b, c)
			}
		}
		out = append(out, PullLine{
			PullID: p.id, YardID: p.yard, Yard: yardName(b, p.yard), PulledAt: p.at,
			Supers: pulled.counts(b), SupersPulled: pulled.total(),
			SupersExtracted: p.extracted, SupersLeft: pulled.total() - p.used.total(),
			HivesWorked: p.pull.HivesWorked, GrossG: p.pull.GrossG,
			Yield:       Yield{HoneyG: p.honeyG, NotKnown: !y.allKnown() && !p.isKnown(), KgPerSuper: ratio(kg(p.honeyG), float64(p.extracted))},
			MoisturePct: p.moisturePct(), How: p.how,
			OtherSeason: p.otherSeason, Withdrawn: p.withdrawn,
		})
		out[len(out)-1].Share = y.share(out[len(out)-1].Yield)
	}
	return out
}

// yardLines writes the season by yard, most honey first.
func (y *yields) yardLines(g *gathered) []YardLine {
	b := g.book
	lines := map[ledger.ID]*YardLine{}
	pulled := map[ledger.ID]tally{}
	moisture := map[ledger.ID]*moistureOfYard{}
	at := func(yard ledger.ID) *YardLine {
		l := lines[yard]
		if l == nil {
			l = &YardLine{YardID: yard, Name: yardName(b, yard)}
			lines[yard], pulled[yard], moisture[yard] = l, tally{}, &moistureOfYard{}
		}
		return l
	}
	for _, p := range y.pulls {
		l := at(p.yard)
		l.HoneyG += p.honeyG
		l.SupersExtracted += p.extracted
		l.How = lessSure(l.How, p.howYard)
		if p.counts() {
			for _, c := range p.pull.Supers {
				pulled[p.yard].add(b, c)
			}
			l.HivesWorked += p.pull.HivesWorked
		}
		moisture[p.yard].add(p)
	}
	hives := g.hives(y.season, y.countName)
	for yard := range hives {
		at(yard)
	}
	out, known := make([]YardLine, 0, len(lines)), y.yardsKnown()
	for yard, l := range lines {
		l.NotKnown = !y.allKnown() && !known[yard]
		l.Supers, l.SupersPulled = pulled[yard].counts(b), pulled[yard].total()
		l.MoisturePct = moisture[yard].value()
		l.Share = y.share(l.Yield)
		l.KgPerSuper = ratio(kg(l.HoneyG), float64(l.SupersExtracted))
		if h := hives[yard]; h != nil {
			if l.Hives = h; !l.NotKnown {
				l.KgPerHive = ratio(kg(l.HoneyG), float64(h.Hives))
			}
		}
		out = append(out, *l)
	}
	rank(out)
	return out
}

// together is what yards gave in all.
func together(lines []YardLine) Yield {
	var out Yield
	var supers, hives int
	var ofCounted int64
	for _, l := range lines {
		out.HoneyG += l.HoneyG
		supers += l.SupersExtracted
		out.NotKnown = out.NotKnown || l.NotKnown
		if l.Hives != nil {
			hives, ofCounted = hives+l.Hives.Hives, ofCounted+l.HoneyG
		}
	}
	if out.KgPerSuper = ratio(kg(out.HoneyG), float64(supers)); !out.NotKnown {
		out.KgPerHive = ratio(kg(ofCounted), float64(hives))
	}
	return out
}

// moistureOfYard weighs pulls by their honey; where none has been extracted
// yet, by their supers.
type moistureOfYard struct{ byHoney, bySupers mean }

func (m *moistureOfYard) add(p *pullYield) {
	if pct := p.moisturePct(); pct != nil {
		m.byHoney.add(*pct, float64(p.honeyG))
		for _, c := range p.pull.Supers {
			m.bySupers.add(*pct, float64(c.Supers))
		}
	}
}

func (m *moistureOfYard) value() *float64 {
	if pct := m.byHoney.value(); pct != nil {
		return pct
	}
	return m.bySupers.value()
}

// rank orders yards by honey and numbers them, where the honey of all of them is known.
func rank(lines []YardLine) {
	perHive := func(l YardLine) float64 {
		if l.KgPerHive == nil {
			return -1
		}
		return *l.KgPerHive
	}
	byName := func(a, b YardLine) int {
		return cmp.Or(cmp.Compare(a.Name, b.Name), bytes.Compare(a.YardID[:], b.YardID[:]))
	}
	slices.SortFunc(lines, func(a, b YardLine) int {
		return cmp.Or(cmp.Compare(perHive(b), perHive(a)), byName(a, b))
	})
	for i := range lines {
		switch {
		case lines[i].KgPerHive == nil:
		case i > 0 && *lines[i].KgPerHive == *lines[i-1].KgPerHive:
			lines[i].RankPerHive = lines[i-1].RankPerHive
		default:
			lines[i].RankPerHive = i + 1
		}
	}
	slices.SortFunc(lines, func(a, b YardLine) int {
		return cmp.Or(cmp.Compare(b.HoneyG, a.HoneyG), byName(a, b))
	})
	if slices.ContainsFunc(lines, func(l YardLine) bool { return l.NotKnown }) {
		for i := range lines {
			lines[i].Rank, lines[i].RankPerHive = 0, 0
		}
		return
	}
	for i := range lines {
		lines[i].Rank = i + 1
		if i > 0 && lines[i].HoneyG == lines[i-1].HoneyG {
			lines[i].Rank = lines[i-1].Rank
		}
	}
}

// hives gives each yard's hive count for a season: the latest of that name, or
// the latest of any where no name is asked for.
func (g *gathered) hives(s *ledger.Season, name string) map[ledger.ID]*HiveBasis {
	out := map[ledger.ID]*HiveBasis{}
	for _, c := range g.counts {
		if s.Holds(c.at, g.book.Location()) && (name == "" || c.Name == name) {
			out[c.yard] = &HiveBasis{c.Name, c.at, c.Hives}
		}
	}
	return out
}

func kg(grams int64) float64 { return float64(grams) / 1000 }
