package pages

import (
	"cmp"
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/reports"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

const lotsPath = "/lots"

// lotPath is where the page of a lot is.
func lotPath(lot ledger.ID) string { return lotsPath + "/" + lot.String() }

// routeLots serves the lots of a season, and one of them with what can be done
// about it.
func (p *pages) routeLots(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET(lotsPath, p.lotsPage, squeezed)
	e.GET(lotsPath+"/:id", p.lotPage, squeezed)
	e.POST(lotsPath+"/:id", p.decideLot, squeezed)
}

// mark is something told by a word and a sign, so that no colour is needed.
type mark struct{ Sign, Word, Class string }

var outcomeSigns = map[string][2]string{
	standard.Meets.String(): {"✓", "good"}, standard.Fails.String(): {"✗", "bad"}, standard.TooClose.String(): {"≈", "watch"},
	standard.NotMeasured.String(): {"?", "watch"}, standard.DoesNotApply.String(): {"–", ""},
}

func outcome(f locale.Voice, outcome string) mark {
	sign := outcomeSigns[outcome]
	return mark{sign[0], standard.SayOutcome(outcome).In(f), sign[1]}
}

var statusSigns = map[ledger.Status][2]string{
	ledger.StatusOpen: {"○", ""}, ledger.StatusHeld: {"■", "bad"}, ledger.StatusReleased: {"✓", "good"}, ledger.StatusGone: {"→", ""},
}

func statusMark(f locale.Voice, s ledger.Status) mark {
	sign := statusSigns[s]
	return mark{sign[0], s.Text().In(f), sign[1]}
}

func risk(f locale.Voice, r standard.FermentationRisk) mark {
	switch r {
	case standard.RiskHigh:
		return mark{"▲▲", f.Say("risk|high"), "bad"}
	case standard.RiskWatch:
		return mark{"▲", f.Say("risk|watch"), "watch"}
	}
	return mark{"▽", f.Say("risk|low"), "good"}
}

// lotsView is the lots of a season.
type lotsView struct {
	Seasons  []seasonChoice
	States   []choice
	RuleSets []choice
	// Season is empty where the outfit has none; Mass is the unit.
	Season, Mass, Entries string
	Rows                  []lotLine
	// First are the lots that must go first, with why.
	First []goesFirst
	// Any: the season has lots, whatever the filter leaves.
	Any bool
	// By names what verdicts are by.
	By string
}

type choice struct {
	Value, Name string
	Chosen      bool
}

// lotLine is a lot in the table.
type lotLine struct {
	Path, Code, Product, Net, Held, Moisture, Filled, GoBy string
	State                                                  mark
	// Risk has no word where nothing of the lot is here or its moisture is not
	// known.
	Risk     mark
	Verdicts []verdictCount
}

// verdictCount is how many rule sets answer the same; with Name where it is one.
type verdictCount struct {
	mark
	Of certificate.Quoted
}

type goesFirst struct {
	Path, Code, Held, GoBy, Why string
	Risk                        mark
}

// mostFirst are named of the lots that must go first.
const mostFirst = 5

// lotsAsked is what the address of the page asks for.
type lotsAsked struct{ season, state, ruleSet string }

func (p *pages) lotsPage(ctx echo.Context) error {
	asked := lotsAsked{ctx.QueryParam("season"), ctx.QueryParam("state"), ctx.QueryParam("rule_set")}
	return p.kept(ctx, "lots.html", func(_ db.Principal, f locale.Voice, b *ledger.Book) (any, error) {
		return p.lotsView(f, asked, b)
	})
}

func (p *pages) lotsView(f locale.Voice, asked lotsAsked, b *ledger.Book) (*lotsView, error) {
	v := &lotsView{Mass: f.Mass, Entries: f.Count(int(b.Len()))}
	on := reports.OnDay(p.Service, b, nil)
	sets, err := v.ruleSets(f, asked.ruleSet, b, on)
	if err != nil {
		return nil, err
	}
	if err := v.states(f, asked.state); err != nil {
		return nil, err
	}
	id, found, err := p.chosen(asked.season, b)
	if err != nil || !found {
		return v, err
	}
	v.Seasons, v.Season = seasonChoices(b, id), ledger.Named[ledger.Season](b, id).Name
	lots, err := season.Stock(b, id)
	if err != nil {
		return nil, err
	}
	v.Any = len(lots) > 0
	return v, v.fill(f, b, lots, sets, asked.state, on)
}

// ruleSets are those that verdicts are by: the one asked for, or those in use.
func (v *lotsView) ruleSets(f locale.Voice, asked string, b *ledger.Book, on standard.Date) ([]ledger.Resolved, error) {
	used, err := reports.RuleSetsInUse(b, nil, on)
	if err != nil {
		return nil, err
	}
	every, err := reports.EveryRuleSet(b, on)
	if err != nil {
		return nil, err
	}
	v.RuleSets = append(v.RuleSets, choice{"", f.Say("those in use (%s)", len(used)), asked == ""})
	for _, set := range every {
		v.RuleSets = append(v.RuleSets, choice{set.ID, nameOfSet(f, set), set.ID == asked})
	}
	if asked == "" {
		v.By = f.Say("the outfit's own rule sets and those that its checks use, %s in all", len(used))
		return used, nil
	}
	set, err := reports.RuleSetOf(b, "rule_set", asked, on)
	if err != nil {
		return nil, err
	}
	v.By = nameOfSet(f, set)
	return []ledger.Resolved{set}, nil
}

func nameOfSet(f locale.Voice, set ledger.Resolved) string {
	return certificate.NameOfSetEdition(f, set.Title, set.Edition, set.Version).String()
}

func (v *lotsView) states(f locale.Voice, asked string) error {
	v.States = []choice{{"", f.Say("all"), asked == ""}}
	known := asked == ""
	for _, s := range []ledger.Status{ledger.StatusOpen, ledger.StatusHeld, ledger.StatusReleased, ledger.StatusGone} {
		v.States = append(v.States, choice{string(s), s.Text().In(f), asked == string(s)})
		known = known || asked == string(s)
	}
	if !known {
		return fault.New(fault.NotFound, "A lot is open, held, released or gone.")
	}
	return nil
}

// fill makes the table: what must go first first, then what is not here.
func (v *lotsView) fill(f locale.Voice, b *ledger.Book, lots []*season.LotReport, sets []ledger.Resolved, state string, on standard.Date) error {
	status := map[ledger.ID]ledger.Status{}
	var ids []ledger.ID
	for _, l := range lots {
		status[l.LotID] = b.State().LotStatus(l.LotID).Status
		if state == "" || state == string(status[l.LotID]) {
			ids = append(ids, l.LotID)
		}
	}
	kept, err := quality.Keeping(b, ids, sets, on)
	if err != nil {
		return err
	}
	rank, keeps := map[ledger.ID]int{}, map[ledger.ID]quality.Keeps{}
	for i, k := range kept {
		rank[k.LotID], keeps[k.LotID] = i+1, k
		if len(v.First) < mostFirst && (k.GoBy != "" || k.Risk > standard.RiskLow) {
			v.First = append(v.First, goesFirst{lotPath(k.LotID), k.Code, f.Grams(k.HeldG), goBy(f, k), k.Why.In(f), risk(f, k.Risk)})
		}
	}
	lots = slices.DeleteFunc(lots, func(l *season.LotReport) bool { return !slices.Contains(ids, l.LotID) })
	slices.SortStableFunc(lots, func(x, y *season.LotReport) int {
		return cmp.Compare(cmp.Or(rank[x.LotID], len(lots)+1), cmp.Or(rank[y.LotID], len(lots)+1))
	})
	for _, l := range lots {
		line := lotLine{
			Path: lotPath(l.LotID), Code: l.Code, Product: l.Product, Net: f.Grams(l.NetG), Held: f.Grams(l.HeldG), Moisture: f.Percent(l.MoisturePct),
			Filled: certificate.Span(f, l.FirstFill, l.LastFill), GoBy: locale.Missing, State: statusMark(f, status[l.LotID]),
		}
		if k, here := keeps[l.LotID]; here {
			line.Risk, line.GoBy = risk(f, k.Risk), goBy(f, k)
		}
		if line.Verdicts, err = verdictCounts(f, b, l.LotID, sets, on); err != nil {
			return err
		}
		v.Rows = append(v.Rows, line)
	}
	return nil
}

func goBy(f locale.Voice, k quality.Keeps) string {
	if k.GoBy == "" {
		return locale.Missing
	}
	return f.Date(string(k.GoBy))
}

// verdictCounts are the answers of rule sets about a lot, the worst first.
func verdictCounts(f locale.Voice, b *ledger.Book, lot ledger.ID, sets []ledger.Resolved, on standard.Date) ([]verdictCount, error) {
	row, err := reports.VerdictRow(b, lot, sets, on)
	if err != nil {
		return nil, err
	}
	var out []verdictCount
	for o := standard.Fails; o >= standard.DoesNotApply; o-- {
		n, last := 0, 0
		for i, outcome := range row.Outcomes {
			if outcome == o.String() {
				n, last = n+1, i
			}
		}
		if n == 0 {
			continue
		}
		c := verdictCount{mark: outcome(f, o.String())}
		switch {
		case len(sets) == 1:
			c.Of.Text = standard.SayGrade(row.Grades[last]).In(f)
		case n == 1:
			c.Of = certificate.NameOfSetEdition(f, sets[last].Title, sets[last].Edition, sets[last].Version).Title
		default:
			c.Of.Text = f.Say("%s rule sets", message.Number{V: float64(n)})
		}
		out = append(out, c)
	}
	return out, nil
}
