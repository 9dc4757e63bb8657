package yards

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// Asked is a question with what the book has for it.
type Asked struct {
	Question Question
	Per      Per
	// Seasons are those that tell something, the earliest first; Yards are in the order of their names.
	Seasons      []Season
	Yards        []Yard
	Observations []Observation
	// LeftOut says what tells nothing, and what to enter: the first MostLeftOut of LeftOutInAll.
	LeftOut      []LeftOut
	LeftOutInAll int
	// Unfinished are seasons that go on and count all the same.
	Unfinished []string
	kinds      map[ledger.ID]string
	costs      map[ledger.ID]float64
}

// Season and Yard are of the book.
type (
	Season struct {
		ID   ledger.ID
		Name string
	}
	Yard struct {
		ID   ledger.ID
		Name string
	}
)

// Observation is what a yard gave in a season.
type Observation struct {
	// Yard and Season are places in Asked.Yards and Asked.Seasons.
	Yard, Season int
	// Kg is honey per hive or super, Units the hives or supers, HoneyKg the product.
	Kg, Units, HoneyKg float64
	// Visits are the days on which something was pulled or hives were counted.
	Visits int
	// Supers of each kind were pulled.
	Supers map[ledger.ID]int
}

// LeftOut is what tells nothing: a yard in a season, or a whole season where Yard is empty.
type LeftOut struct {
	Yard, Season string
	Why          message.Text
}

const (
	// MostLeftOut are listed.
	MostLeftOut = 200
	// allOut is the part of its supers that has to be extracted for a yard's season to count: a
	// few that are set aside change less than a season does by chance.
	allOut = 0.9
	// quiet is how long nothing was pulled when a season counts as over before its last day.
	quiet = 45 * 24 * time.Hour
)

// Ask takes from the book what a question is about. The error is a fault.Error.
func Ask(b *ledger.Book, q Question, now time.Time) (*Asked, error) {
	if err := q.Check(); err != nil {
		return nil, err
	}
	all, err := season.EachYard(b, season.PerHiveOf(q.HiveCount))
	if err != nil {
		return nil, err
	}
	if len(all) > MostSeasons {
		all = all[len(all)-MostSeasons:]
	}
	a := &Asked{Question: q, Per: perOf(q, all), kinds: map[ledger.ID]string{}}
	g := gatherer{Asked: a, place: map[ledger.ID]int{}}
	for i := range all {
		g.season(&all[i], over(b, &all[i], now))
	}
	if len(a.Yards) > MostYards {
		return nil, fault.New(fault.TooLarge, "At most %s yards are compared, and %s gave honey.", MostYards, len(a.Yards))
	}
	a.inOrder()
	if a.costs, err = q.costs(a.Yards); err != nil {
		return nil, err
	}
	return a, nil
}

// perOf is what honey is divided by.
func perOf(q Question, all []season.SeasonYards) Per {
	if q.Per != "" {
		return q.Per
	}
	for _, s := range all {
		if slices.ContainsFunc(s.Yards, func(l season.YardLine) bool { return l.KgPerHive != nil }) {
			return PerHive
		}
	}
	return PerSuper
}

// over reports whether nothing more is likely to come from a season.
func over(b *ledger.Book, s *season.SeasonYards, now time.Time) bool {
	if ledger.Date(now.In(b.Location()).Format(time.DateOnly)) > s.Season.Last {
		return true
	}
	return !s.LastPull.IsZero() && now.Sub(s.LastPull) > quiet
}

// gatherer takes observations from seasons.
type gatherer struct {
	*Asked
	place map[ledger.ID]int
}

func (g *gatherer) leave(yard, season string, why message.Text) {
	if g.LeftOutInAll++; len(g.LeftOut) < MostLeftOut {
		g.LeftOut = append(g.LeftOut, LeftOut{yard, season, why})
	}
}

// season takes the observations of one season, or says why it tells nothing.
func (g *gatherer) season(s *season.SeasonYards, over bool) {
	name := s.Season.Name
	if len(s.Yards) == 0 && !over {
		return // it has not begun
	}
	if why := g.whole(s, over); !why.IsEmpty() {
		g.leave("", name, why)
		return
	}
	var here []Observation
	var of []season.YardLine
	sum := 0.0
	for _, l := range s.Yards {
		if why := g.unusable(&l); !why.IsEmpty() {
			g.leave(l.Name, name, why)
			continue
		}
		o := g.observation(&l)
		o.Visits = s.Visits[l.YardID]
		sum += o.HoneyKg
		here, of = append(here, o), append(of, l)
	}
	switch {
	case len(here) == 0:
		return
	case len(here) == 1:
		g.leave("", name, message.F("Only %s has figures. What is of the yard and what of the season can be told only beside other yards.", message.Verbatim(of[0].Name)))
		return
	case sum == 0:
		g.leave("", name, message.F("No yard gave honey, which says nothing of one beside another."))
		return
	}
	for i := range here {
		here[i].Yard, here[i].Season = g.yard(&of[i]), len(g.Seasons)
	}
	g.Observations = append(g.Observations, here...)
	g.Seasons = append(g.Seasons, Season{s.SeasonID, name})
	if !over {
		g.Unfinished = append(g.Unfinished, name)
	}
}

// whole says why a season as a whole tells nothing; empty where it may.
func (g *gatherer) whole(s *season.SeasonYards, over bool) message.Text {
	switch {
	case len(s.Yards) == 0:
		return message.F("Nothing was pulled.")
	case !over && !g.Question.Unfinished:
		return message.F("This season goes on. It counts once it is over, or once nothing was pulled for %s days.", int(quiet.Hours()/24))
	case g.Per == PerHive && !slices.ContainsFunc(s.Yards, func(l season.YardLine) bool { return l.Hives != nil }):
		return message.F("No hives were counted. Enter a hive count of each yard to have this season count.")
	}
	return message.Text{}
}

// unusable says why a yard's season tells nothing; empty where it tells something.
func (g *gatherer) unusable(l *season.YardLine) message.Text {
	nothing := l.SupersPulled == 0 && l.HoneyG == 0
	switch {
	case l.NotKnown:
		return message.F("Its honey is not known: some run does not say from which pulls its supers came. Enter the supers of that run.")
	case g.Per == PerHive && l.Hives == nil:
		return message.F("Its hives were not counted. Enter a hive count.")
	case g.Per == PerHive && l.Hives.Hives == 0:
		return message.F("The hive count says 0 hives. Enter a count of the time when they stood there.")
	case nothing && (g.Per == PerSuper || !g.Question.UnpulledIsNothing):
		return message.F("Nothing was pulled. Enter the pull; where yards gave nothing, have those without a pull count as nothing%s.", message.Option("unpulled_is_nothing"))
	case nothing:
		return message.Text{}
	case float64(l.SupersExtracted) < allOut*float64(l.SupersPulled):
		return message.F("Only %s of its %s supers are extracted. Enter the run that the others went into.", l.SupersExtracted, l.SupersPulled)
	case g.Per == PerSuper && l.SupersExtracted == 0:
		return message.F("No supers of it went into a run. Enter the supers of the run.")
	}
	return message.Text{}
}

func (g *gatherer) observation(l *season.YardLine) Observation {
	o := Observation{HoneyKg: float64(l.HoneyG) / 1000, Supers: map[ledger.ID]int{}}
	if o.Units = float64(l.SupersExtracted); g.Per == PerHive {
		o.Units = float64(l.Hives.Hives)
	}
	o.Kg = o.HoneyKg / o.Units
	for _, k := range l.Supers {
		o.Supers[k.SuperKindID] = k.Supers
		g.kinds[k.SuperKindID] = k.Name
	}
	return o
}

func (g *gatherer) yard(l *season.YardLine) int {
	i, known := g.place[l.YardID]
	if !known {
		i = len(g.Yards)
		g.place[l.YardID] = i
		g.Yards = append(g.Yards, Yard{l.YardID, l.Name})
	}
	return i
}

// inOrder puts yards in the order of their names.
func (a *Asked) inOrder() {
	order := make([]int, 0, len(a.Yards))
	for i := range a.Yards {
		order = append(order, i)
	}
	slices.SortFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(a.Yards[i].Name, a.Yards[j].Name), cmp.Compare(a.Yards[i].ID.String(), a.Yards[j].ID.String()))
	})
	to, sorted := make([]int, len(order)), make([]Yard, len(order))
	for place, i := range order {
		to[i], sorted[place] = place, a.Yards[i]
	}
	a.Yards = sorted
	for i := range a.Observations {
		a.Observations[i].Yard = to[a.Observations[i].Yard]
	}
}
