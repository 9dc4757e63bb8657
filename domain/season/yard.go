package season

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// YardStory is a yard over all its seasons.
type YardStory struct {
	YardID ledger.ID
	Yard   ledger.Yard
	// Seasons are those in which it was worked or counted, the latest first.
	Seasons []YardSeason
	// Counts are its hive counts, Pulls and Runs its supers and what they gave,
	// the latest first.
	Counts []CountLine
	Pulls  []PullLine
	Runs   []YardRun
}

// YardSeason is what a yard gave in one season.
type YardSeason struct {
	SeasonID ledger.ID
	Season   ledger.Season
	YardLine
	// Of is how many yards gave honey in that season.
	Of int
	// Together is what all of the outfit's yards gave in it, as in a Report.
	Together Yield
}

// CountLine is one count of a yard's hives.
type CountLine struct {
	Name      string
	CountedAt time.Time
	Hives     int
}

// YardRun is a run with honey of a yard.
type YardRun struct {
	RunID     ledger.ID
	Name      string
	StartedAt time.Time
	// Supers of the yard went in, HoneyG is its part of RunG.
	Supers       int
	HoneyG, RunG int64
}

// Yard tells a yard's story. It fails where yardID names no yard that stands.
func Yard(b *ledger.Book, yardID ledger.ID) (*YardStory, error) {
	yard, err := inForce[ledger.Yard](b, yardID, "yard")
	if err != nil {
		return nil, err
	}
	out := &YardStory{YardID: b.Root(yardID), Yard: *yard}
	g := gather(b)
	b.InForceOf(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
		out.addSeason(g, root, e.Body.(*ledger.Season))
		return true
	})
	slices.SortStableFunc(out.Seasons, func(a, c YardSeason) int { return cmp.Compare(c.Season.First, a.Season.First) })
	slices.SortStableFunc(out.Pulls, func(a, c PullLine) int { return c.PulledAt.Compare(a.PulledAt) })
	for _, c := range slices.Backward(g.counts) {
		if c.yard == out.YardID {
			out.Counts = append(out.Counts, CountLine{c.Name, c.at, c.Hives})
		}
	}
	for _, r := range slices.Backward(g.runsInOrder) {
		if line, ok := g.yardRun(out.YardID, r); ok {
			out.Runs = append(out.Runs, line)
		}
	}
	return out, nil
}

func (s *YardStory) addSeason(g *gathered, id ledger.ID, season *ledger.Season) {
	y := g.yieldsOf(season)
	lines := y.yardLines(g)
	of, all := 0, together(lines)
	for _, l := range lines {
		if l.HoneyG > 0 {
			of++
		}
	}
	for _, l := range lines {
		if l.YardID == s.YardID {
			s.Seasons = append(s.Seasons, YardSeason{SeasonID: id, Season: *season, YardLine: l, Of: of, Together: all})
		}
	}
	for _, p := range y.pullLines(g.book) {
		// A pull whose supers went into two seasons' runs is of its own season.
		if p.YardID == s.YardID && !p.OtherSeason {
			s.Pulls = append(s.Pulls, p)
		}
	}
}

// yardRun is a yard's part in a run; false where it has none.
func (g *gathered) yardRun(yard ledger.ID, r *runFacts) (YardRun, bool) {
	line := YardRun{RunID: r.id, Name: r.run.Name, StartedAt: r.at, RunG: r.honeyG}
	for pull, n := range r.fromPulls {
		if p := g.pullOf(pull); p != nil && p.yard == yard {
			line.Supers += n
		}
	}
	for i, part := range r.harvest.Mix.Parts {
		if from, _ := origin(g.book, part.Origin); from.ID == yard {
			line.HoneyG += r.perPull[i]
		}
	}
	return line, line.Supers > 0 || line.HoneyG > 0
}
