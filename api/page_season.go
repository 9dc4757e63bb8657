package api

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"net/http"
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
	Tanks             []tankCard
	Lots              []lotRow
	Evening           eveningView
}

type seasonChoice struct {
	ID, Name string
	Chosen   bool
}

// season is the first page: one season of the outfit.
func (p *pages) season(ctx echo.Context) error {
	if _, ok, err := p.session(ctx); err != nil {
		return err
	} else if !ok {
		return p.signInPage(ctx, http.StatusOK, "")
	}
	var view *seasonView
	var out answer
	var key answerKey
	err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		key = p.pageKey(ctx, who, "/?"+ctx.QueryParam("season"))
		at := moment{b.Len(), p.Now().In(b.Location()).Format("20060102")}
		var had bool
		if out, had = p.answers.get(key, at); !had {
			out.at = at
			view, err = p.seasonView(figuresFor(tongueOf(ctx), o, b.Location()), ctx.QueryParam("season"), b)
		}
		return err
	})
	if err != nil {
		return err
	}
	if view != nil {
		if out.body, err = p.render(ctx, "season.html", view); err != nil {
			return err
		}
		p.answers.put(key, out)
	}
	return sendPage(ctx, http.StatusOK, out.body)
}

func (p *pages) seasonView(f figures, asked string, b *ledger.Book) (*seasonView, error) {
	v := &seasonView{Mass: f.Mass, Entries: f.count(int(b.Len())), Tanks: tankCards(f, b), Evening: eveningOf(f, b)}
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
	v.Name, v.First, v.Last = r.Season.Name, f.date(r.Season.First), f.date(r.Season.Last)
	v.Yards, v.Account, v.Lots = yardTableOf(f, r), accountOf(f, r.Balance), lotRows(f, lots)
	return v, nil
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
	b.Of(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
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
	b.Of(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
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
	Rank, Name                             string
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
		Rank: f.count(y.Rank), Name: y.Name, Supers: f.count(y.SupersPulled), Hives: nothing,
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
	return f.say("told|" + string(how))
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

// tankCard is a tank as it stands.
type tankCard struct {
	Name, Use           string
	Held, Capacity      string
	Full, State         string
	LevelY, LevelHeight string
	Over                bool
	Moisture, ReadAt    string
	LastMoved           string
	From                []sourceLine
	MoreSources         int
	MoreShare           string
}

type sourceLine struct{ Name, Share string }

// tankUse is what a tank is for.
func (f figures) tankUse(use ledger.TankUse) string {
	switch use {
	case ledger.Sump:
		return f.say("sump")
	case ledger.Settling:
		return f.say("settling tank")
	case ledger.Heated:
		return f.say("heated tank")
	case ledger.Bulk:
		return f.say("bulk tank")
	}
	return string(use)
}

// mostSources of a tank's make-up are named; the rest are summed.
const mostSources = 4

// gaugeHeight is that of the drawn tank's inside.
const gaugeHeight = 64.0

func tankCards(f figures, b *ledger.Book) []tankCard {
	var out []tankCard
	for _, t := range season.Tanks(b) {
		c := tankCard{
			Name: t.Name, Use: f.tankUse(t.Use), Held: f.mass(t.Grams), Capacity: f.Kg(kg(t.CapacityG)),
			LastMoved: f.minute(t.LastMoved),
		}
		c.level(f, t)
		if m := t.Moisture; m != nil {
			c.Moisture, c.ReadAt = f.pct(&m.Pct), f.minute(m.At)
		}
		c.sources(f, t.MakeUp)
		out = append(out, c)
	}
	return out
}

func (c *tankCard) level(f figures, t season.TankLine) {
	full := 0.0
	if t.FullPct != nil {
		full = *t.FullPct
	}
	switch {
	case t.Grams == 0:
		c.State = f.say("tank|empty")
	case t.FullPct != nil:
		c.Full = f.number(full, 0)
	}
	if full > 100 {
		c.State, c.Over = f.say("over its capacity"), true
	}
	height := gaugeHeight * math.Min(full, 100) / 100
	c.LevelY, c.LevelHeight = fmt.Sprintf("%.1f", 4+gaugeHeight-height), fmt.Sprintf("%.1f", height)
}

func (c *tankCard) sources(f figures, sources []season.Source) {
	named := min(len(sources), mostSources)
	rest := 0.0
	for i, s := range sources {
		if i < named {
			c.From = append(c.From, sourceLine{s.Name, f.share(s.Share)})
			continue
		}
		rest += s.Share
	}
	c.MoreSources, c.MoreShare = len(sources)-named, f.share(rest)
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

// eveningView is what is odd and not settled.
type eveningView struct {
	Count, Settled int
	Mass           string
	First, More    []oddLine
}

type oddLine struct{ Sentence, Happened, By string }

// mostOdd are shown at once; the rest can be unfolded.
const mostOdd = 8

func eveningOf(f figures, b *ledger.Book) eveningView {
	list := season.Evening(b)
	v := eveningView{Count: len(list.Open), Settled: len(list.Settled), Mass: f.Kg(kg(list.OpenG))}
	for i, o := range list.Open {
		line := oddLine{o.InFull().In(f), f.minute(o.OccurredAt), o.RecordedBy}
		if i < mostOdd {
			v.First = append(v.First, line)
			continue
		}
		v.More = append(v.More, line)
	}
	return v
}
