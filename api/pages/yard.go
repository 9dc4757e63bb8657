package pages

import (
	"cmp"
	"math"
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

const (
	yardsPath = "/yards"
	yardRoute = yardsPath + "/:id"
)

func yardPath(id ledger.ID) string { return yardsPath + "/" + id.String() }

// yardView is one yard over all its seasons.
type yardView struct {
	Name, Registration, Country, Note string
	// Position is written in degrees; empty where it is not known.
	Position string
	Mass     string
	Seasons  []yardSeasonRow
	Counts   []yardCountRow
	Pulls    []yardPullRow
	Runs     []yardRunRow
	Lots     []yardLotRow
	Buyers   []yardLotRow
	Tanks    []yardLotRow
	// MorePulls and MoreRuns are earlier than those shown, of those that are asked for.
	MorePulls, MoreRuns int
	Sift                siftView
	Recall              string
	// SeasonsPicture and PullsPicture are where they are drawn; empty where nothing of
	// them can be.
	SeasonsPicture, PullsPicture string
	// NotCounted names the seasons in which nobody counted its hives.
	NotCounted string
	// LotCount is how many lots may hold honey of it, InLots how much they do.
	LotCount, InLots string
	// MoistureRead is whether any of its honey was read, Limit the limit it is drawn with.
	MoistureRead bool
	Limit        string
}

type yardSeasonRow struct {
	Address, Name, Honey, PerSuper, PerHive, Supers, Moisture, Rank string
}

type yardCountRow struct{ Name, When, Hives string }

type yardPullRow struct {
	When, Supers, Gross, Honey, PerSuper, Moisture, Left string
	Entry                                                entryLink
}

type yardRunRow struct {
	Name, When, Supers, Honey, Share string
	Entry                            entryLink
}

// yardLotRow is something that may hold honey of the yard.
type yardLotRow struct{ Address, Name, Of, Net, Share, Containers, Here, Gone string }

const mostYardRows = 60

func (p *pages) yard(ctx echo.Context) error {
	asked, err := siftingAsked(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "yard.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		story, err := yardAsked(ctx, b)
		if err != nil {
			return nil, err
		}
		subject, err := trace.SubjectOf(b, story.YardID)
		if err != nil {
			return nil, errNoYard
		}
		limit, err := p.moistureLimit(b, farDay)
		if err != nil {
			return nil, err
		}
		to, l := p.Tracers.Of(who.Outfit, b, true).Forward(subject), links{}
		for _, x := range story.Pulls {
			l.add(b, x.PullID)
		}
		for _, r := range story.Runs {
			l.add(b, r.RunID)
		}
		return func(f locale.Voice) any {
			v := yardViewOf(f, story)
			v.list(f, l, story, asked)
			v.draw(f, story, limit)
			v.follow(f, to)
			return v
		}, nil
	})
}

var errNoYard = fault.New(fault.NotFound, "The outfit has no such yard.")

func yardViewOf(f locale.Voice, story *season.YardStory) *yardView {
	v := &yardView{
		Name: story.Yard.Name, Registration: story.Yard.Registration, Country: story.Yard.Country, Note: story.Yard.Note, Mass: f.Mass,
		Position: positionText(f, story.Yard), Recall: recallPath + "?of=" + story.YardID.String(),
	}
	for _, s := range story.Seasons {
		row := yardSeasonRow{
			Address: seasonPath + "?season=" + s.SeasonID.String(), Name: s.Season.Name, Honey: honeyOf(f, s.Yield),
			PerSuper: f.Kilograms(s.KgPerSuper), PerHive: f.Kilograms(s.KgPerHive), Supers: f.Count(s.SupersPulled), Moisture: f.Percent(s.MoisturePct), Rank: locale.Missing,
		}
		if s.HoneyG > 0 && s.Rank > 0 {
			row.Rank = f.Say("%s of %s", s.Rank, s.Of)
		}
		v.Seasons = append(v.Seasons, row)
	}
	for _, c := range story.Counts {
		v.Counts = append(v.Counts, yardCountRow{c.Name, f.Day(c.CountedAt), f.Count(c.Hives)})
	}
	return v
}

// list lists the latest pulls and runs of those that are asked for.
func (v *yardView) list(f locale.Voice, l links, story *season.YardStory, asked sifting) {
	for _, x := range story.Pulls {
		row := yardPullRowOf(f, l, x)
		if asked.day(x.PulledAt.In(f.Zone)) && asked.holds(row.When, row.Supers, row.Gross, row.Honey, row.Entry.Name) {
			v.Pulls = append(v.Pulls, row)
		}
	}
	for _, r := range story.Runs {
		row := yardRunRow{r.Name, f.Day(r.StartedAt), f.Count(r.Supers), f.Grams(r.HoneyG), locale.Missing, l.to(f, r.RunID)}
		if r.RunG > 0 {
			row.Share = f.Share(float64(r.HoneyG) / float64(r.RunG))
		}
		if asked.day(r.StartedAt.In(f.Zone)) && asked.holds(row.Name, row.When, row.Supers, row.Honey, row.Entry.Name) {
			v.Runs = append(v.Runs, row)
		}
	}
	pulls, runs := min(len(v.Pulls), mostYardRows), min(len(v.Runs), mostYardRows)
	v.MorePulls, v.MoreRuns = len(v.Pulls)-pulls, len(v.Runs)-runs
	v.Pulls, v.Runs = v.Pulls[:pulls], v.Runs[:runs]
	v.Sift = asked.view(f, yardPath(story.YardID)+"#pulls", pulls+runs, len(story.Pulls)+len(story.Runs))
}

func yardPullRowOf(f locale.Voice, l links, x season.PullLine) yardPullRow {
	row := yardPullRow{
		When: f.Day(x.PulledAt), Supers: f.Count(x.SupersPulled), Gross: locale.Missing, Honey: honeyOf(f, x.Yield),
		PerSuper: f.Kilograms(x.KgPerSuper), Moisture: f.Percent(x.MoisturePct), Entry: l.to(f, x.PullID),
	}
	if x.GrossG > 0 {
		row.Gross = f.Grams(x.GrossG)
	}
	if x.SupersLeft > 0 {
		row.Left = f.Count(x.SupersLeft)
	}
	return row
}

// positionText is a position in degrees, with the side of the equator and of
// Greenwich rather than a sign.
func positionText(f locale.Voice, y ledger.Yard) string {
	if y.Latitude == nil || y.Longitude == nil {
		return ""
	}
	side := func(v float64, plus, less string) string {
		if v < 0 {
			plus = less
		}
		return f.Number(math.Abs(v), 4) + "° " + plus
	}
	return side(*y.Latitude, f.Say("compass|N"), f.Say("compass|S")) + ", " + side(*y.Longitude, f.Say("compass|E"), f.Say("compass|W"))
}

// follow lists where the yard's honey is or went: by lot, tank and buyer.
func (v *yardView) follow(f locale.Voice, to *trace.Forward) {
	type sum struct {
		row                    yardLotRow
		of, net, most          int64
		containers, here, sent int
	}
	lots := map[ledger.ID]*sum{}
	var order []*sum
	for _, c := range to.Containers {
		s := lots[c.LotID]
		if s == nil {
			s = &sum{row: yardLotRow{Address: sheetPath(c.LotID), Name: c.Lot}}
			lots[c.LotID], order = s, append(order, s)
		}
		s.of, s.most, s.net, s.containers = s.of+c.Of.Grams, s.most+c.Of.MostG, s.net+c.NetG, s.containers+1
		switch c.State {
		case season.Held:
			s.here++
		case season.Dispatched:
			s.sent++
		}
	}
	slices.SortStableFunc(order, func(a, c *sum) int { return cmp.Compare(c.of, a.of) })
	var all int64
	for _, s := range order {
		all += s.of
		s.row.Of, s.row.Net, s.row.Share = partOf(f, trace.Amount{Grams: s.of, MostG: s.most}), f.Grams(s.net), locale.Missing
		if s.net > 0 && s.most > 0 {
			s.row.Share = f.Share(float64(s.of) / float64(s.net))
		}
		s.row.Containers, s.row.Here, s.row.Gone = f.Count(s.containers), f.Count(s.here), f.Count(s.sent)
		v.Lots = append(v.Lots, s.row)
	}
	v.LotCount, v.InLots = f.Count(len(order)), f.Grams(all)
	for _, t := range to.Tanks {
		v.Tanks = append(v.Tanks, yardLotRow{Address: tankPath(t.ID), Name: t.Name, Of: partOf(f, t.Of), Net: f.Grams(t.HeldG)})
	}
	for _, b := range to.Buyers {
		v.Buyers = append(v.Buyers, yardLotRow{Name: b.Name, Of: partOf(f, b.Of), Net: f.Grams(b.NetG), Containers: f.Count(b.Containers)})
	}
}

// partOf is how much of a source is in something. A heel is an amount that the
// book does not know.
func partOf(f locale.Voice, a trace.Amount) string {
	if a.MostG == 0 {
		return f.Say("a heel")
	}
	return f.Grams(a.Grams)
}
