package season

import (
	"slices"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Report is one season of an outfit.
type Report struct {
	SeasonID ledger.ID
	Season   ledger.Season
	// Before is the season that changes are measured from: of those that end
	// before this one begins, the last. Nil where there is none.
	Before *ledger.Season
	// Yards are by rank, Pulls in order of occurrence.
	Yards []YardLine
	Pulls []PullLine
	// HoneyG came out of the season's runs, whenever it was drawn off; the
	// yards' honey and NoPullG sum to it.
	HoneyG int64
	// NoPullG is honey of runs into which no supers of a known pull were
	// booked.
	NoPullG int64
	// Together is what the yards gave in all. Its honey is that of known pulls, and is not
	// known where that of one yard is not; per super and per hive are as for one yard, per
	// hive over the yards whose hives were counted, where the honey of all is known.
	Together Yield
	Course   Course
	Balance  Balance
}

// Option sets how a report is made.
type Option func(*options)

type options struct{ countName string }

// PerHiveOf asks for hive counts of one name as the denominator of honey per
// hive; without it the latest count of the season serves, whatever its name.
func PerHiveOf(countName string) Option {
	return func(o *options) { o.countName = countName }
}

// Of reports a season. A pull belongs to the season whose dates hold it, a
// run's honey to the season that holds the run. It fails where seasonID names
// no season that stands, or no yard has a hive count of the name asked for.
func Of(b *ledger.Book, seasonID ledger.ID, opts ...Option) (*Report, error) {
	s, err := inForce[ledger.Season](b, seasonID, "season")
	if err != nil {
		return nil, err
	}
	var o options
	for _, opt := range opts {
		opt(&o)
	}
	g := gather(b)
	if err := g.knowsCount(o.countName); err != nil {
		return nil, err
	}
	y := g.yieldsOf(s)
	y.countName = o.countName
	r := &Report{
		SeasonID: b.Root(seasonID), Season: *s, Before: seasonBefore(b, s),
		Yards: y.yardLines(g), Pulls: y.pullLines(b),
		HoneyG: y.honeyG, NoPullG: y.noPullG,
		Balance: balance(g, y),
	}
	r.Together = together(r.Yards)
	var last *yields
	if r.Before != nil {
		last = g.yieldsOf(r.Before)
		last.countName = o.countName
		r.compare(last.yardLines(g), last.allKnown())
	}
	r.Course = courseOf(y, last, b.Location())
	return r, nil
}

// inForce gives the thing of type T that id names, and says so where none
// stands.
func inForce[T any](b *ledger.Book, id ledger.ID, what string) (*T, error) {
	if e := b.InForce(id); e != nil {
		if t, ok := any(e.Body).(*T); ok {
			return t, nil
		}
	}
	return nil, fault.New(fault.NotFound, "The book has no %s %s.", message.F("kind|"+what), id)
}

func (g *gathered) knowsCount(name string) error {
	if name == "" {
		return nil
	}
	var names []string
	for _, c := range g.counts {
		if c.Name == name {
			return nil
		}
		if !slices.Contains(names, c.Name) {
			names = append(names, c.Name)
		}
	}
	if len(names) == 0 {
		return fault.New(fault.NotFound, "There is no hive count %s: no hives were counted at all.", message.Quoted(name))
	}
	slices.Sort(names)
	return fault.New(fault.NotFound, "No hive count %s; hives were counted as %s.", message.Quoted(name), strings.Join(names, ", "))
}

// seasonBefore is the last of the seasons that end before s begins.
func seasonBefore(b *ledger.Book, s *ledger.Season) *ledger.Season {
	var before *ledger.Season
	b.InForceOf(ledger.KindSeason, func(_ ledger.ID, e *ledger.Entry) bool {
		o := e.Body.(*ledger.Season)
		if o.Last < s.First && (before == nil || o.Last > before.Last) {
			before = o
		}
		return true
	})
	return before
}

// compare sets each yard beside the season before. A yard that gave then and
// has not been heard of since is listed with nothing, or as not known. allKnown says
// whether all of the honey of the season before is of known pulls.
func (r *Report) compare(last []YardLine, allKnown bool) {
	then := make(map[ledger.ID]*YardLine, len(last))
	for i := range last {
		then[last[i].YardID] = &last[i]
	}
	here := map[ledger.ID]bool{}
	for i := range r.Yards {
		here[r.Yards[i].YardID] = true
	}
	for i := range last {
		if l := &last[i]; !here[l.YardID] && l.HoneyG > 0 {
			r.Yards = append(r.Yards, YardLine{YardID: l.YardID, Name: l.Name, Yield: Yield{NotKnown: r.NoPullG > 0}})
			if r.NoPullG == 0 {
				r.Yards[len(r.Yards)-1].Share = new(0.0)
			}
		}
	}
	rank(r.Yards)
	for i := range r.Yards {
		l := &r.Yards[i]
		l.LastSeason = &Yield{NotKnown: !allKnown}
		if t := then[l.YardID]; t != nil {
			*l.LastSeason = t.Yield
		}
		if l.NotKnown || l.LastSeason.NotKnown {
			continue
		}
		change := l.HoneyG - l.LastSeason.HoneyG
		l.ChangeG = &change
		if pct := ratio(100*kg(change), kg(l.LastSeason.HoneyG)); pct != nil {
			l.ChangePct = pct
		}
	}
}
