package api

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// seasonView is a season as the page shows it.
type seasonView struct {
	Seasons []seasonChoice
	// Name is empty where the outfit has no season yet.
	Name, First, Last string
	Mass              string
	Entries           string
	Yards             *yardTable
	Account           *account
	Lots              []lotRow
	// Balance is where its weights are held against one another.
	Balance string
	// Workbook is all of it for a spreadsheet.
	Workbook string
	// Map is where the map of yards is drawn; empty where no yard has a
	// position. Unplaced yards have none.
	Map      string
	Places   []placeRow
	Unplaced int
}

// placeRow is a yard on the map, in figures.
type placeRow struct{ Address, Name, Honey, Position string }

type seasonChoice struct {
	ID, Name string
	Chosen   bool
}

const seasonPath = "/season"

// season is one season of the outfit.
func (p *pages) season(ctx echo.Context) error {
	return p.kept(ctx, "season.html", func(_ db.Principal, f figures, b *ledger.Book) (any, error) {
		return p.seasonView(f, ctx.QueryParam("season"), b)
	})
}

func (p *pages) seasonView(f figures, asked string, b *ledger.Book) (*seasonView, error) {
	v := &seasonView{Mass: f.Mass, Entries: f.count(int(b.Len()))}
	id, found, err := p.chosen(asked, b)
	if err != nil || !found {
		return v, err
	}
	v.Seasons = seasonChoices(b, id)
	r, err := season.Of(b, id)
	if err != nil {
		return nil, err
	}
	lots, err := season.Lots(b, id)
	if err != nil {
		return nil, err
	}
	v.Balance = balancePath + "?season=" + r.SeasonID.String()
	v.Workbook = feedsPrefix + seasonWorkbook + ".xlsx?units=outfit&language=" + f.Lang + "&season=" + r.SeasonID.String()
	v.Name, v.First, v.Last = r.Season.Name, f.date(r.Season.First), f.date(r.Season.Last)
	v.place(f, b, r)
	v.Yards, v.Account, v.Lots = yardTableOf(f, r), accountOf(f, r.Balance), lotRows(f, lots)
	return v, nil
}

// place puts the yards on the map.
func (v *seasonView) place(f figures, b *ledger.Book, r *season.Report) {
	placed := map[ledger.ID]bool{}
	for _, y := range placedYards(b, r) {
		placed[y.YardID] = true
		v.Places = append(v.Places, placeRow{yardPath(y.YardID), y.Name, f.mass(y.HoneyG), positionText(f, ledger.Yard{Latitude: &y.lat, Longitude: &y.long})})
	}
	for _, y := range r.Yards {
		if !placed[y.YardID] {
			v.Unplaced++
		}
	}
	if len(v.Places) > 0 {
		v.Map = mapRoute + "?season=" + r.SeasonID.String()
	}
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
	if id, err = p.seasonOf(nil, b); err == nil {
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
	// NoPull is honey that no pull explains; empty where there is none.
	NoPull, NoPullShare string
	Total               yardRow
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

// yardTableOf is nil where nothing was pulled, run or counted in the season.
func yardTableOf(f figures, r *season.Report) *yardTable {
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
		t.Rows = append(t.Rows, yardRowOf(f, y, t.Kinds))
	}
	if r.NoPullG != 0 {
		t.NoPull, t.NoPullShare = f.mass(r.NoPullG), f.share(float64(r.NoPullG)/float64(r.HoneyG))
	}
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

func yardRowOf(f figures, y season.YardLine, kinds []string) yardRow {
	row := yardRow{
		Address: yardPath(y.YardID), Rank: f.count(y.Rank), Name: y.Name, Supers: f.count(y.SupersPulled), Hives: nothing,
		Honey: f.mass(y.HoneyG), PerSuper: f.perKg(y.KgPerSuper), PerHive: f.perKg(y.KgPerHive), Share: f.share(y.Share),
		Moisture: f.pct(y.MoisturePct), LastSeason: nothing, Change: f.massChange(y.ChangeG), ToldFrom: told(f, y.How),
	}
	for _, kind := range kinds {
		n := 0
		for _, k := range y.Supers {
			if k.Name == kind {
				n += k.Supers
			}
		}
		row.Kinds = append(row.Kinds, f.count(n))
	}
	if y.Hives != nil {
		row.Hives, row.HiveCount = f.count(y.Hives.Hives), f.say("%s, counted %s", y.Hives.Name, f.day(y.Hives.CountedAt))
	}
	if y.LastSeason != nil {
		row.LastSeason = f.mass(y.LastSeason.HoneyG)
	}
	return row
}

// told is how the sharing of a yard's honey is known.
func told(f figures, how ledger.Allocation) string {
	if how == "" {
		return nothing
	}
	return toldBy(string(how)).In(f)
}

func totalRow(f figures, r *season.Report, kinds []string) yardRow {
	var pulled, extracted, hives int
	var last, change int64
	byKind := map[string]int{}
	for _, y := range r.Yards {
		pulled, extracted = pulled+y.SupersPulled, extracted+y.SupersExtracted
		if y.Hives != nil {
			hives += y.Hives.Hives
		}
		for _, k := range y.Supers {
			byKind[k.Name] += k.Supers
		}
		if y.LastSeason != nil {
			last, change = last+y.LastSeason.HoneyG, change+*y.ChangeG
		}
	}
	row := yardRow{
		Supers: f.count(pulled), Hives: nothing, Honey: f.mass(r.HoneyG), Share: nothing,
		PerSuper: f.perKg(per(r.HoneyG-r.NoPullG, extracted)), LastSeason: f.mass(last), Change: f.massChange(&change),
	}
	if hives > 0 {
		row.Hives = f.count(hives)
	}
	for _, kind := range kinds {
		row.Kinds = append(row.Kinds, f.count(byKind[kind]))
	}
	if r.HoneyG != 0 {
		row.Share = f.share(1)
	}
	return row
}

func per(grams int64, n int) *float64 {
	if n == 0 {
		return nil
	}
	return ptr(kg(grams) / float64(n))
}

// account is the season's honey as two sides that come to the same.
type account struct {
	In, Out                     []accountLine
	Total                       string
	SupersPulled, SupersLeft    string
	Unaccounted, UnaccountedPct string
}

type accountLine struct{ Name, Mass string }

func accountOf(f figures, b season.Balance) *account {
	return &account{
		In: f.side([]flow{
			{f.say("carried over in tanks"), b.InTanksBeforeG}, {f.say("carried over in containers"), b.InContainersBeforeG},
			{f.say("out of runs"), b.HarvestedG}, {f.say("found by stocktakes"), b.StocktakeGainedG}, {f.say("account|unexplained"), b.UnexplainedG},
		}),
		Out: f.side([]flow{
			{f.say("in tanks"), b.InTanksG}, {f.say("in containers"), b.InContainersG}, {f.say("left for buyers"), b.DispatchedG},
			{f.say("thrown out"), b.WastedG}, {f.say("washed out of tanks"), b.WashedG}, {f.say("missed by stocktakes"), b.StocktakeLostG},
		}),
		Total:        f.mass(b.HeldBeforeG() + b.HarvestedG + b.UnexplainedG + b.StocktakeGainedG),
		SupersPulled: f.count(b.SupersPulled), SupersLeft: f.count(b.SupersLeft),
		Unaccounted: f.Kg(kg(b.UnaccountedG)), UnaccountedPct: f.pct(b.UnaccountedPct),
	}
}

type flow struct {
	name  string
	grams int64
}

// side lists what there is of one side of an account.
func (f figures) side(flows []flow) (lines []accountLine) {
	for _, x := range flows {
		if x.grams != 0 {
			lines = append(lines, accountLine{x.name, f.mass(x.grams)})
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

func lotRows(f figures, lots []*season.LotReport) []lotRow {
	var out []lotRow
	for _, l := range lots {
		out = append(out, lotRow{
			Sheet: sheetPath(l.LotID), Code: l.Code, Product: l.Product, Containers: f.containersText(l.Containers), Net: f.mass(l.NetG), Held: f.mass(l.HeldG),
			Dispatched: f.mass(l.DispatchedG), Moisture: f.pct(l.MoisturePct), Yards: f.count(yardsIn(l.MakeUp)),
			Filled: f.span(l.FirstFill, l.LastFill), From: mostFrom(f, l.MakeUp),
		})
	}
	return out
}

// containersText is "12 drum, 3 pail": the kinds' own names, so no plural.
func (f figures) containersText(containers []season.Container) string {
	if len(containers) == 0 {
		return f.say("none yet")
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
func mostFrom(f figures, sources []season.Source) string {
	if len(sources) == 0 {
		return nothing
	}
	return fmt.Sprintf("%s %s\u00a0%%", sources[0].Name, f.share(sources[0].Share))
}

// span is the days from first to last.
func (f figures) span(first, last time.Time) string {
	if from, to := f.day(first), f.day(last); from != to {
		return from + " " + nothing + " " + to
	}
	return f.day(first)
}
