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
	e.GET(lotsPath+"/:id/limits.svg", p.lotLimits, squeezed)
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
	case standard.RiskNotKnown:
		return mark{"?", f.Say("risk|not known"), "watch"}
	case standard.RiskWatch:
		return mark{"▲", f.Say("risk|watch"), "watch"}
	}
	return mark{"▽", f.Say("risk|low"), "good"}
}

// riskSeen is a risk of honey that somebody may have seen ferment.
func riskSeen(f locale.Voice, r standard.FermentationRisk, seen bool) mark {
	if seen {
		return mark{"▲▲", f.Say("seen fermenting"), "bad"}
	}
	return risk(f, r)
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
	Any  bool
	Sift siftView
	// By names what verdicts are by.
	By string

	asked   lotsAsked
	entries int
	// used are the rule sets in use, every are all, and sets those that verdicts are by.
	used, every, sets []ledger.Resolved
	kept              []quality.Keeps
	lots              []lotOfSeason
}

// lotOfSeason is a lot of the table. rank counts from 1 by what must go first; it is 0 where
// nothing of the lot is here.
type lotOfSeason struct {
	*season.LotReport
	status ledger.Status
	// outdated tells that the check that released it no longer speaks for it.
	outdated bool
	rank     int
	answers  []quality.Answer
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
type lotsAsked struct {
	season, state, ruleSet string
	sifting
}

func (p *pages) lotsPage(ctx echo.Context) error {
	sifted, err := siftingAsked(ctx)
	if err != nil {
		return err
	}
	asked := lotsAsked{ctx.QueryParam("season"), ctx.QueryParam("state"), ctx.QueryParam("rule_set"), sifted}
	return p.kept(ctx, "lots.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		return p.lotsView(asked, b)
	})
}

func (p *pages) lotsView(asked lotsAsked, b *ledger.Book) (wording, error) {
	v := &lotsView{asked: asked, entries: int(b.Len())}
	on := reports.OnDay(p.Service, b, nil)
	if err := v.ruleSets(b, on); err != nil {
		return nil, err
	}
	if asked.state != "" && !slices.Contains(lotStates, ledger.Status(asked.state)) {
		return nil, fault.New(fault.NotFound, "A lot is open, held, released or gone.")
	}
	id, found, err := p.chosen(asked.season, b)
	if err != nil || !found {
		return v.inWords, err
	}
	v.Seasons, v.Season = seasonChoices(b, id), ledger.Named[ledger.Season](b, id).Name
	lots, err := season.Stock(b, id)
	if err != nil {
		return nil, err
	}
	v.Any = len(lots) > 0
	return v.inWords, v.fill(lots, p.Judged.DayOf(b, on))
}

// ruleSets are those that verdicts are by: the one asked for, or those in use.
func (v *lotsView) ruleSets(b *ledger.Book, on standard.Date) (err error) {
	if v.used, err = reports.RuleSetsInUse(b, nil, on); err != nil {
		return err
	}
	if v.every, err = reports.EveryRuleSet(b, on); err != nil {
		return err
	}
	if v.sets = v.used; v.asked.ruleSet != "" {
		set, err := reports.RuleSetOf(b, "rule_set", v.asked.ruleSet, on)
		v.sets = []ledger.Resolved{set}
		return err
	}
	return nil
}

// fill takes the lots: what must go first first, then what is not here.
func (v *lotsView) fill(lots []*season.LotReport, day *quality.Day) (err error) {
	var ids []ledger.ID
	for _, l := range lots {
		standing, err := day.Standing(l.LotID)
		if err != nil {
			return err
		}
		if v.asked.state == "" || v.asked.state == string(standing.Status) {
			ids = append(ids, l.LotID)
			v.lots = append(v.lots, lotOfSeason{LotReport: l, status: standing.Status, outdated: !standing.Outdated.IsEmpty()})
		}
	}
	if v.kept, err = day.Keeping(ids, v.sets); err != nil {
		return err
	}
	rank := map[ledger.ID]int{}
	for i := range v.kept {
		rank[v.kept[i].LotID] = 1 + i
	}
	for i := range v.lots {
		l := &v.lots[i]
		l.rank = rank[l.LotID]
		if l.answers, err = day.Answers(l.LotID, v.sets); err != nil {
			return err
		}
	}
	slices.SortStableFunc(v.lots, func(x, y lotOfSeason) int {
		return cmp.Compare(cmp.Or(x.rank, len(lots)+1), cmp.Or(y.rank, len(lots)+1))
	})
	return nil
}

// lotStates are the states that a lot may be in.
var lotStates = []ledger.Status{ledger.StatusOpen, ledger.StatusHeld, ledger.StatusReleased, ledger.StatusGone}

func (v *lotsView) inWords(f locale.Voice) any {
	v.Mass, v.Entries = f.Mass, f.Count(v.entries)
	v.offer(f)
	for _, k := range v.kept {
		if len(v.First) < mostFirst && (k.GoBy != "" || k.Risk > standard.RiskLow) {
			v.First = append(v.First, goesFirst{lotPath(k.LotID), k.Code, f.Grams(k.HeldG), goBy(f, k), k.Why.In(f), riskSeen(f, k.Risk, k.SeenFermenting)})
		}
	}
	for _, l := range v.lots {
		line := lotLine{
			Path: lotPath(l.LotID), Code: l.Code, Product: l.Product, Net: f.Grams(l.NetG), Held: f.Grams(l.HeldG), Moisture: f.Percent(l.MoisturePct),
			Filled: certificate.Span(f, l.FirstFill, l.LastFill), GoBy: locale.Missing, State: statusMark(f, l.status), Verdicts: verdictCounts(f, l.answers, v.sets),
		}
		if l.outdated {
			line.State = mark{"▲", f.Say("released, by a check that is outdated"), "watch"}
		}
		if l.rank > 0 {
			k := v.kept[l.rank-1]
			line.Risk, line.GoBy = riskSeen(f, k.Risk, k.SeenFermenting), goBy(f, k)
		}
		if v.asked.days(l.FirstFill.In(f.Zone), l.LastFill.In(f.Zone)) && v.asked.holds(line.says()...) {
			v.Rows = append(v.Rows, line)
		}
	}
	v.Sift = v.asked.view(f, lotsPath, len(v.Rows), len(v.lots), "season", "state", "rule_set")
	return v
}

// says are the words of the line.
func (l *lotLine) says() []string {
	out := []string{l.Code, l.Product, l.State.Word, l.Risk.Word, l.GoBy, l.Filled, l.Moisture}
	for _, v := range l.Verdicts {
		out = append(out, v.Word, v.Of.Text)
	}
	return out
}

// offer lists the states and rule sets to choose from.
func (v *lotsView) offer(f locale.Voice) {
	v.States = []choice{{"", f.Say("all"), v.asked.state == ""}}
	for _, s := range lotStates {
		v.States = append(v.States, choice{string(s), s.Text().In(f), v.asked.state == string(s)})
	}
	v.RuleSets = []choice{{"", f.Say("those in use (%s)", len(v.used)), v.asked.ruleSet == ""}}
	for _, set := range v.every {
		v.RuleSets = append(v.RuleSets, choice{set.ID, nameOfSet(f, set), set.ID == v.asked.ruleSet})
	}
	if v.asked.ruleSet == "" {
		v.By = f.Say("the outfit's own rule sets and those that its checks use, %s in all", len(v.used))
		return
	}
	v.By = nameOfSet(f, v.sets[0])
}

func nameOfSet(f locale.Voice, set ledger.Resolved) string {
	return certificate.NameOfSetEdition(f, set.Title, set.Edition, set.Version).String()
}

func goBy(f locale.Voice, k quality.Keeps) string {
	if k.GoBy == "" {
		return locale.Missing
	}
	return f.Date(string(quality.Roughly(k.GoBy, k.On)))
}

// verdictCounts are the answers of rule sets about a lot, the worst first.
func verdictCounts(f locale.Voice, answers []quality.Answer, sets []ledger.Resolved) []verdictCount {
	var out []verdictCount
	for o := standard.Fails; o >= standard.DoesNotApply; o-- {
		n, last := 0, 0
		for i, a := range answers {
			if a.Outcome == o {
				n, last = n+1, i
			}
		}
		if n == 0 {
			continue
		}
		c := verdictCount{mark: outcome(f, o.String())}
		switch {
		case len(sets) == 1:
			c.Of.Text = standard.SayGrade(answers[last].Grade).In(f)
		case n == 1:
			c.Of = certificate.NameOfSetEdition(f, sets[last].Title, sets[last].Edition, sets[last].Version).Title
		default:
			c.Of.Text = f.Say("%s rule sets", message.Number{V: float64(n)})
		}
		out = append(out, c)
	}
	return out
}
