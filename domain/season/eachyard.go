package season

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// SeasonYards is what each yard gave in one season, and how often somebody was there.
type SeasonYards struct {
	SeasonID ledger.ID
	Season   ledger.Season
	Yards    []YardLine
	// Visits are, by yard, the days of the season on which something was pulled or hives were counted.
	Visits map[ledger.ID]int
	// LastPull is when something was pulled last in the season; zero where nothing was.
	LastPull time.Time
}

// EachYard tells of every season that stands what each yard gave in it, the earliest first. It fails
// where no yard has a hive count of the name asked for.
func EachYard(b *ledger.Book, opts ...Option) ([]SeasonYards, error) {
	var o options
	for _, opt := range opts {
		opt(&o)
	}
	g := gather(b)
	if err := g.knowsCount(o.countName); err != nil {
		return nil, err
	}
	var out []SeasonYards
	b.InForceOf(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
		s := e.Body.(*ledger.Season)
		y := g.yieldsOf(s)
		y.countName = o.countName
		of := SeasonYards{SeasonID: root, Season: *s, Yards: y.yardLines(g), Visits: g.visits(s)}
		for _, p := range y.pulls {
			if p.counts() && p.at.After(of.LastPull) {
				of.LastPull = p.at
			}
		}
		out = append(out, of)
		return true
	})
	slices.SortStableFunc(out, func(a, b SeasonYards) int { return cmp.Compare(a.Season.First, b.Season.First) })
	return out, nil
}

// visits counts by yard the days of a season on which somebody pulled or counted there.
func (g *gathered) visits(s *ledger.Season) map[ledger.ID]int {
	days := map[ledger.ID]map[ledger.Date]bool{}
	at := func(yard ledger.ID, when time.Time) {
		if !s.Holds(when, g.book.Location()) {
			return
		}
		if days[yard] == nil {
			days[yard] = map[ledger.Date]bool{}
		}
		days[yard][dateOf(when, g.book.Location())] = true
	}
	for _, p := range g.pullsInOrder {
		at(p.yard, p.at)
	}
	for _, c := range g.counts {
		at(c.yard, c.at)
	}
	out := make(map[ledger.ID]int, len(days))
	for yard, d := range days {
		out[yard] = len(d)
	}
	return out
}
