package pages

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/feeds"
	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/pages/chart"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// seasonView is a season as the page shows it. It holds figures of the book; the page
// asks its methods for words once the book is free.
type seasonView struct {
	F       locale.Voice
	Entries int
	Seasons []seasonChoice
	// Name is empty where the outfit has no season yet; nothing of Report is then known.
	Name   string
	Report *season.Report
	lots   []*season.LotReport
	// Balance is where its weights are held against one another.
	Balance string
	// Map is where the map of yards is drawn; empty where no yard has a
	// position.
	Map    string
	placed []chart.Yard
	limit  *heldLimit
	// The tables of the page hold the rows that are asked for.
	Course   *courseView
	Yards    *yardTable
	Moisture *moistureView
	Places   []placeRow
	Lots     []lotRow
	Sift     siftView
	asked    sifting
	// shown of rows are in the tables.
	shown, rows int
}

func seasonQuery(id ledger.ID) string { return "?season=" + id.String() }

// placeRow is a yard on the map, in figures.
type placeRow struct{ Address, Name, Honey, Position string }

type seasonChoice struct {
	ID, Name string
	Chosen   bool
}

const seasonPath = "/season"

// season is one season of the outfit.
func (p *pages) season(ctx echo.Context) error {
	asked, err := siftingAsked(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "season.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		return p.seasonView(ctx.QueryParam("season"), asked, b)
	})
}

func (p *pages) seasonView(of string, asked sifting, b *ledger.Book) (wording, error) {
	v := &seasonView{Entries: int(b.Len()), asked: asked}
	id, found, err := p.chosen(of, b)
	if err != nil || !found {
		return v.inWords, err
	}
	v.Seasons = seasonChoices(b, id)
	r, err := season.Of(b, id)
	if err != nil {
		return nil, err
	}
	if v.lots, err = season.Lots(b, id); err != nil {
		return nil, err
	}
	if v.limit, err = p.moistureLimit(b, r.Season.Last); err != nil {
		return nil, err
	}
	v.Balance = balancePath + seasonQuery(id)
	v.Name, v.Report = r.Season.Name, r
	if v.placed = placedYards(b, r); len(v.placed) > 0 {
		v.Map = mapRoute + seasonQuery(id)
	}
	return v.inWords, nil
}

func (v *seasonView) inWords(f locale.Voice) any {
	v.F = f
	if v.Report == nil {
		return v
	}
	v.Course, v.Yards, v.Moisture, v.Places, v.Lots = v.course(), v.yards(), v.moisture(), v.places(), v.packedLots()
	v.Sift = v.asked.view(f, seasonPath, v.shown, v.rows, "season")
	return v
}

// count notes that a table shows so many of its rows.
func (v *seasonView) count(shown, of int) { v.shown, v.rows = v.shown+shown, v.rows+of }

// Workbook is all of it for a spreadsheet.
func (v *seasonView) Workbook() string {
	return request.FeedsPrefix + feeds.SeasonWorkbook + ".xlsx?units=outfit&language=" + v.F.Lang + "&season=" + v.Report.SeasonID.String()
}

// places are the yards on the map, in figures.
func (v *seasonView) places() (rows []placeRow) {
	for _, y := range v.placed {
		rows = append(rows, placeRow{yardPath(y.YardID), y.Name, honeyOf(v.F, y.Yield), positionText(v.F, ledger.Yard{Latitude: &y.Lat, Longitude: &y.Long})})
	}
	rows = siftRows(v.asked, rows, func(r placeRow) bool { return v.asked.holds(r.Name, r.Honey, r.Position) })
	v.count(len(rows), len(v.placed))
	return rows
}

// Unplaced counts the season's yards that have no position.
func (v *seasonView) Unplaced() (n int) {
	for _, y := range v.Report.Yards {
		if !slices.ContainsFunc(v.placed, func(p chart.Yard) bool { return p.YardID == y.YardID }) {
			n++
		}
	}
	return n
}

// chosen is the season asked for, else the latest that has begun, else the
// first that will. There may be none.
func (p *pages) chosen(asked string, b *ledger.Book) (id ledger.ID, found bool, err error) {
	if asked != "" {
		id, err := uuid.Parse(asked)
		if err != nil || ledger.Named[ledger.Season](b, id) == nil {
			return id, false, fault.New(fault.NotFound, "The outfit has no such season.")
		}
		return b.Root(id), true, nil
	}
	if id, err = reports.SeasonOf(p.Service, nil, b); err == nil {
		return id, true, nil
	}
	var first ledger.Date
	b.InForceOf(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
		if s := e.Body.(*ledger.Season); first == "" || s.First < first {
			id, first = root, s.First
		}
		return true
	})
	return id, first != "", nil
}

// seasonChoices are the seasons, latest first.
func seasonChoices(b *ledger.Book, chosen ledger.ID) []seasonChoice {
	first := map[string]ledger.Date{}
	var out []seasonChoice
	b.InForceOf(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
		s := e.Body.(*ledger.Season)
		out = append(out, seasonChoice{root.String(), s.Name, root == chosen})
		first[root.String()] = s.First
		return true
	})
	slices.SortFunc(out, func(a, b seasonChoice) int { return cmp.Compare(first[b.ID], first[a.ID]) })
	return out
}

// yardTable is the season by yard.
type yardTable struct {
	SeasonID, Through string
	// Kinds are the columns of supers by kind; none where one would do.
	Kinds []string
	// Before names the season that is compared with; empty where there is none.
	Before string
	Rows   []yardRow
	// Drawn is whether the honey of any yard is known, and so drawn.
	Drawn bool
	// NoPull is honey that no pull explains; empty where there is none. ByYard is what is
	// known by yard; empty where all of it is, or the honey of each yard all the same.
	NoPull, NoPullShare, ByYard string
	// InAll is the season's honey, where ByYard is said.
	InAll string
	Total yardRow
}

type yardRow struct {
	Address, Rank, Name                    string
	Kinds                                  []string
	Supers, Hives, HiveCount               string
	Honey, PerSuper, PerHive, Share        string
	Moisture, LastSeason, Change, ToldFrom string
}

// mostKinds of super have a column each; with more, the table shows their sum.
const mostKinds = 3

// yards is nil where nothing was pulled, run or counted in the season.
func (v *seasonView) yards() *yardTable {
	f, r := v.F, v.Report
	if len(r.Yards) == 0 && r.HoneyG == 0 {
		return nil
	}
	t := &yardTable{SeasonID: r.SeasonID.String()}
	kinds := kindsOf(r)
	if 1 < len(kinds) && len(kinds) <= mostKinds {
		t.Kinds = kinds
	}
	if r.Before != nil {
		t.Before = r.Before.Name
	}
	for _, y := range r.Yards {
		t.Rows, t.Drawn = append(t.Rows, yardRowOf(f, y, t.Kinds)), t.Drawn || !y.NotKnown
	}
	if r.NoPullG != 0 {
		t.NoPull, t.NoPullShare = f.Grams(r.NoPullG), f.Share(float64(r.NoPullG)/float64(r.HoneyG))
		if r.Together.NotKnown || len(r.Yards) == 0 {
			t.ByYard, t.InAll = f.Grams(r.HoneyG-r.NoPullG)+" "+f.Mass, f.Grams(r.HoneyG)+" "+f.Mass
		}
	}
	t.Rows = siftRows(v.asked, t.Rows, func(r yardRow) bool { return v.asked.holds(r.Name, r.Honey, r.ToldFrom) })
	v.count(len(t.Rows), len(r.Yards))
	t.Total = totalRow(f, r, t.Kinds)
	return t
}

// kindsOf are the kinds of super pulled in the season, most first.
func kindsOf(r *season.Report) []string {
	n := map[string]int{}
	for _, y := range r.Yards {
		for _, k := range y.Supers {
			n[k.Name] += k.Supers
		}
	}
	return slices.SortedFunc(maps.Keys(n), func(a, b string) int { return cmp.Or(cmp.Compare(n[b], n[a]), cmp.Compare(a, b)) })
}

func yardRowOf(f locale.Voice, y season.YardLine, kinds []string) yardRow {
	row := yardRow{
		Address: yardPath(y.YardID), Rank: locale.Missing, Name: y.Name, Supers: f.Count(y.SupersPulled), Hives: locale.Missing,
		Honey: honeyOf(f, y.Yield), PerSuper: f.Kilograms(y.KgPerSuper), PerHive: f.Kilograms(y.KgPerHive), Share: locale.Missing,
		Moisture: f.Percent(y.MoisturePct), LastSeason: locale.Missing, Change: f.GramsChange(y.ChangeG), ToldFrom: told(f, y.How),
	}
	for _, kind := range kinds {
		n := 0
		for _, k := range y.Supers {
			if k.Name == kind {
				n += k.Supers
			}
		}
		row.Kinds = append(row.Kinds, f.Count(n))
	}
	if y.Hives != nil {
		row.Hives, row.HiveCount = f.Count(y.Hives.Hives), f.Say("%s, counted %s", y.Hives.Name, f.Day(y.Hives.CountedAt))
	}
	if y.Rank > 0 {
		row.Rank = f.Count(y.Rank)
	}
	if y.Share != nil {
		row.Share = f.Share(*y.Share)
	}
	if y.LastSeason != nil {
		row.LastSeason = honeyOf(f, *y.LastSeason)
	}
	return row
}

// honeyOf is what was given, or what is known of it.
func honeyOf(f locale.Voice, y season.Yield) string {
	switch {
	case !y.NotKnown:
		return f.Grams(y.HoneyG)
	case y.HoneyG > 0:
		return f.Say("at least %s", f.Grams(y.HoneyG))
	}
	return f.Say("not known")
}

// told is how the sharing of a yard's honey is known.
func told(f locale.Voice, how ledger.Allocation) string {
	if how == "" {
		return locale.Missing
	}
	return feeds.ToldBy(string(how)).In(f)
}

func totalRow(f locale.Voice, r *season.Report, kinds []string) yardRow {
	var pulled, hives int
	var last, change int64
	allKnown := true
	byKind := map[string]int{}
	for _, y := range r.Yards {
		pulled += y.SupersPulled
		if y.Hives != nil {
			hives += y.Hives.Hives
		}
		for _, k := range y.Supers {
			byKind[k.Name] += k.Supers
		}
		switch {
		case y.LastSeason == nil:
		case y.ChangeG == nil:
			allKnown = false
		default:
			last, change = last+y.LastSeason.HoneyG, change+*y.ChangeG
		}
	}
	row := yardRow{
		Supers: f.Count(pulled), Hives: locale.Missing, Honey: f.Grams(r.HoneyG), Share: locale.Missing,
		PerSuper: f.Kilograms(r.Together.KgPerSuper), PerHive: f.Kilograms(r.Together.KgPerHive), LastSeason: f.Grams(last), Change: f.GramsChange(&change),
	}
	if !allKnown {
		row.LastSeason, row.Change = locale.Missing, locale.Missing
	}
	if hives > 0 {
		row.Hives = f.Count(hives)
	}
	for _, kind := range kinds {
		row.Kinds = append(row.Kinds, f.Count(byKind[kind]))
	}
	if r.HoneyG != 0 {
		row.Share = f.Share(1)
	}
	return row
}

// account is the season's honey as two sides that come to the same.
type account struct {
	In, Out                     []accountLine
	Total                       string
	SupersPulled, SupersLeft    string
	Unaccounted, UnaccountedPct string
}

type accountLine struct{ Name, Mass string }

// Account is where the season's honey came from and went.
func (v *seasonView) Account() *account {
	f, b := v.F, v.Report.Balance
	return &account{
		In: side(f, []flow{
			{f.Say("carried over in tanks"), b.InTanksBeforeG}, {f.Say("carried over in containers"), b.InContainersBeforeG},
			{f.Say("out of runs"), b.HarvestedG}, {f.Say("found by stocktakes"), b.StocktakeGainedG}, {f.Say("account|unexplained"), b.UnexplainedG},
		}),
		Out: side(f, []flow{
			{f.Say("in tanks"), b.InTanksG}, {f.Say("in containers"), b.InContainersG}, {f.Say("left for buyers"), b.DispatchedG},
			{f.Say("thrown out"), b.WastedG}, {f.Say("washed out of tanks"), b.WashedG}, {f.Say("missed by stocktakes"), b.StocktakeLostG},
		}),
		Total:        f.Grams(b.HeldBeforeG() + b.HarvestedG + b.UnexplainedG + b.StocktakeGainedG),
		SupersPulled: f.Count(b.SupersPulled), SupersLeft: f.Count(b.SupersLeft),
		Unaccounted: f.Kg(wire.Kg(b.UnaccountedG)), UnaccountedPct: f.Percent(b.UnaccountedPct),
	}
}

type flow struct {
	name  string
	grams int64
}

// side lists what there is of one side of an account.
func side(f locale.Voice, flows []flow) (lines []accountLine) {
	for _, x := range flows {
		if x.grams != 0 {
			lines = append(lines, accountLine{x.name, f.Grams(x.grams)})
		}
	}
	return lines
}

// lotRow is one lot of the season.
type lotRow struct {
	Sheet, Code, Product, Containers string
	Net, Held, Dispatched            string
	Moisture, Yards, Filled, From    string
}

// packedLots are the season's lots, in order of their first fill.
func (v *seasonView) packedLots() (out []lotRow) {
	f := v.F
	for _, l := range v.lots {
		row := lotRow{
			Sheet: sheetPath(l.LotID), Code: l.Code, Product: l.Product, Containers: containersText(f, l.Containers), Net: f.Grams(l.NetG), Held: f.Grams(l.HeldG),
			Dispatched: f.Grams(l.DispatchedG), Moisture: f.Percent(l.MoisturePct), Yards: f.Count(reports.YardsIn(l.MakeUp)),
			Filled: certificate.Span(f, l.FirstFill, l.LastFill), From: mostFrom(f, l.MakeUp),
		}
		if v.asked.days(l.FirstFill.In(f.Zone), l.LastFill.In(f.Zone)) && v.asked.holds(row.Code, row.Product, row.Containers, row.Filled, row.From) {
			out = append(out, row)
		}
	}
	v.count(len(out), len(v.lots))
	return out
}

// Packed sums the season's lots up.
func (v *seasonView) Packed() lotsPacked {
	var net, here, gone int64
	for _, l := range v.lots {
		net, here, gone = net+l.NetG, here+l.HeldG, gone+l.DispatchedG
	}
	f := v.F
	return lotsPacked{lotsPath + seasonQuery(v.Report.SeasonID), f.Count(len(v.lots)), f.Grams(net), f.Grams(here), f.Grams(gone)}
}

// lotsPacked is all lots of a season, with the page that judges them.
type lotsPacked struct{ Address, Name, Net, Here, Gone string }

// containersText is "12 drum, 3 pail": the kinds' own names, so no plural.
func containersText(f locale.Voice, containers []season.Container) string {
	if len(containers) == 0 {
		return f.Say("none yet")
	}
	var kinds []string
	n := map[string]int{}
	for _, c := range containers {
		if n[c.Kind]++; n[c.Kind] == 1 {
			kinds = append(kinds, c.Kind)
		}
	}
	for i, k := range kinds {
		kinds[i] = fmt.Sprintf("%d\u00a0\u00d7\u00a0%s", n[k], k)
	}
	return strings.Join(kinds, ", ")
}

// mostFrom names the yard that gave most of a lot.
func mostFrom(f locale.Voice, sources []season.Source) string {
	if len(sources) == 0 {
		return locale.Missing
	}
	return fmt.Sprintf("%s %s\u00a0%%", sources[0].Name, f.Share(sources[0].Share))
}
