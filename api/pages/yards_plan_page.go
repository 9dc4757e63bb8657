package pages

import (
	"cmp"
	"errors"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/plans"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/yards"
)

// yardsPlanView is what yards give beside one another, and which to keep or to move.
type yardsPlanView struct {
	Form, Costs *askForm
	AsOf        string
	// Answered is false where something is wrong with the question.
	Answered      bool
	Entries, Mass string
	Says          []string
	// Told is whether the yards can be compared at all; else Yards have their plain averages alone.
	Told bool
	// Ordinary, Margin, Between and Within are per hive or super, as Each says.
	Ordinary, Margin, Between, Within, Each string
	Drawing                                 string
	// Yards are those that give least first, More the others.
	Yards, More yardsTable
	Next        []string
	Adjusted    []string
	LeftOut     []yardsLeftOut
	MoreLeftOut int
	Cautions    []string
	// Workbook is empty where there are no yards, or too many for one.
	Workbook string
	// GoBy is nil where there is nothing to go by.
	GoBy *toGoBy
}

// yardsTable are yards with their figures; what visits cost only where there is Money.
type yardsTable struct {
	Told, Money bool
	Rows        []yardsPlanRow
}

type yardsPlanRow struct {
	Name, Address                                              string
	Verdict                                                    mark
	Why                                                        string
	Effect, Low, High, Plain, Units, Seasons, Visits, Promises string
	// Next is the next season, with the ends between which nine of ten lie.
	Next                    string
	Honey, VisitsCost, Left string
}

// yardsLeftOut is why some yards tell nothing in a season.
type yardsLeftOut struct{ Season, Yards, Why string }

// mostYardsShown stand in the first table.
const mostYardsShown = 30

func (p *pages) yardsPlanPage(ctx echo.Context) error {
	v := &yardsPlanView{AsOf: ctx.QueryParam("as_of")}
	f, plan, entries, err := p.yardsPlanOf(ctx, v)
	if err != nil {
		return err
	}
	if plan != nil {
		v.Answered, v.Entries, v.Mass = true, f.Count(entries), f.Mass
		v.answer(f, plan)
		if plan.Told {
			v.Drawing = yardsDrawingPath + "?" + ctx.QueryParams().Encode()
		}
		if n := len(plan.Yards); n > 0 && n <= plans.MostBookYards {
			v.Workbook = yardsBookPath + "?" + ctx.QueryParams().Encode()
		}
		if v.GoBy, err = p.goByOf(ctx, yardsPlanPath, adoptedYards(f, plan)); err != nil {
			return err
		}
	}
	return p.page(ctx, http.StatusOK, "yards-plan.html", v)
}

// yardsPlanOf works out what a query asks for; it finds nothing where something is wrong with that, which
// the forms say.
func (p *pages) yardsPlanOf(ctx echo.Context, v *yardsPlanView) (f locale.Voice, plan *yards.Plan, entries int, err error) {
	var outfit []choice
	var counts []string
	err = p.lookAsOf(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		f, entries, outfit, counts = request.VoiceFor(ctx, o, b), int(b.Len()), choicesOf(b, ledger.KindYard), namesOfCounts(b)
		return nil
	})
	if err != nil {
		return f, nil, 0, err
	}
	slices.SortFunc(outfit, func(a, b choice) int { return cmp.Compare(a.Name, b.Name) })
	v.Form, v.Costs = yardsForm(f, counts), costsForm(f, outfit)
	v.Form.fill(ctx.QueryParams())
	v.Costs.fill(ctx.QueryParams())
	params := yardsParams(v.Form, v.Costs)
	if params == nil {
		return f, nil, entries, nil
	}
	var asked *yards.Asked
	err = p.lookAsOf(ctx, func(_ db.Principal, _ db.Outfit, b *ledger.Book) (err error) {
		asked, err = p.plans.AskYards(b, params)
		return err
	})
	var refused *fault.Error
	if errors.As(err, &refused) && refused.Code == fault.Invalid {
		v.Form.refuse(refused, nil)
		return f, nil, entries, nil
	}
	if err != nil {
		return f, nil, entries, err
	}
	return f, asked.Plan(), entries, nil
}

// answer puts a plan into words.
func (v *yardsPlanView) answer(f locale.Voice, p *yards.Plan) {
	v.Told, v.Says, v.Cautions = p.Told, f.SayEach(p.Says), f.SayEach(p.Cautions())
	v.Each = f.Say("per hive")
	if p.Per == yards.PerSuper {
		v.Each = f.Say("per super")
	}
	if p.Told {
		v.Ordinary, v.Margin = f.KgTo(p.OrdinaryKg, p.OrdinaryKg), f.KgTo(p.MarginKg, max(p.MarginKg, 0.1))
		v.Between, v.Within = f.KgTo(p.BetweenKg, max(p.BetweenKg, 0.1)), f.KgTo(p.WithinKg, p.WithinKg)
	}
	for _, c := range p.Next {
		v.Next = append(v.Next, c.Said.In(f))
	}
	for _, a := range p.Adjusted {
		v.Adjusted = append(v.Adjusted, a.Said.In(f))
	}
	order := slices.Clone(p.Proposals)
	if p.Told {
		slices.SortStableFunc(order, func(a, b yards.Proposal) int { return cmp.Compare(a.Effect.NetKg, b.Effect.NetKg) })
	}
	v.Yards = yardsTable{Told: p.Told, Money: p.Question.PricePerKg != nil}
	v.More = v.Yards
	for i := range order {
		of := &v.Yards
		if i >= mostYardsShown {
			of = &v.More
		}
		of.Rows = append(of.Rows, yardsPlanRowOf(f, &order[i], v.Each))
	}
	v.leftOut(f, p)
}

func yardsPlanRowOf(f locale.Voice, y *yards.Proposal, each string) yardsPlanRow {
	row := yardsPlanRow{
		Name: y.Name, Address: yardPath(y.ID), Verdict: yardVerdict(f, y.Verdict), Why: y.Why.In(f), Plain: f.Kilograms(&y.PlainKg),
		Units: f.Number(y.Units, 0), Seasons: f.Count(y.Seasons), Visits: f.Number(y.Visits, 1),
	}
	if e := y.Effect; e != nil {
		row.Effect, row.Low, row.High = f.Kilograms(&e.Kg), f.Kilograms(&e.LowKg), f.Kilograms(&e.HighKg)
		row.Promises = f.KgTo(e.GainsKg, e.GainsKg)
	}
	if n := y.Next; n != nil {
		kg := func(v float64) string { return f.KgTo(v, v) }
		row.Next = f.Say("%s (%s to %s)", kg(n.Kg), kg(n.LowKg), kg(n.HighKg)) + " " + each
	}
	if m := y.Money; m != nil {
		row.Honey, row.VisitsCost, row.Left = f.Number(m.Honey, 0), f.Number(m.Visits, 0), f.Number(m.Left, 0)
	}
	return row
}

func yardVerdict(f locale.Voice, v yards.Verdict) mark {
	switch v {
	case yards.Keep:
		return mark{"✓", f.Say("yard|keep"), "good"}
	case yards.Move:
		return mark{"→", f.Say("yard|move"), "bad"}
	}
	return mark{"?", f.Say("not enough known"), "watch"}
}

// leftOut says once of all yards of a season what is missing of them.
func (v *yardsPlanView) leftOut(f locale.Voice, p *yards.Plan) {
	names := map[yardsLeftOut][]string{}
	var order []yardsLeftOut
	for _, l := range p.LeftOut {
		key := yardsLeftOut{Season: l.Season, Why: l.Why.In(f)}
		if names[key] == nil {
			order = append(order, key)
		}
		names[key] = append(names[key], l.Yard)
	}
	for _, key := range order {
		if of := names[key]; of[0] != "" {
			key.Yards = someNames(f, of)
		}
		v.LeftOut = append(v.LeftOut, key)
	}
	v.MoreLeftOut = p.LeftOutInAll - len(p.LeftOut)
}

// adoptableYards is the comparison that a query asks for, as a plan that somebody may go by.
func (p *pages) adoptableYards(ctx echo.Context) (*ledger.AdoptedPlan, error) {
	f, plan, _, err := p.yardsPlanOf(ctx, &yardsPlanView{})
	if err != nil || plan == nil {
		return nil, err
	}
	return adoptedYards(f, plan), nil
}

func adoptedYards(f locale.Voice, plan *yards.Plan) *ledger.AdoptedPlan {
	out := plan.Adopted(f.Say("Keep and move yards"))
	if out != nil && len(out.Expects) == yards.MostExpects {
		out.Note = f.Say("Only the first %s yards have a figure that is expected.", f.Count(yards.MostExpects))
	}
	return out
}

// yardsWorkbook is the comparison as a workbook that reckons.
func (p *pages) yardsWorkbook(ctx echo.Context) error {
	f, plan, _, err := p.yardsPlanOf(ctx, &yardsPlanView{})
	if err != nil {
		return err
	}
	if plan == nil || len(plan.Yards) == 0 {
		return fault.New(fault.NotFound, "There is no such comparison. Ask for it anew on the page of yards.")
	}
	if len(plan.Yards) > plans.MostBookYards {
		return fault.New(fault.TooLarge, "A workbook takes at most %s yards, and %s are compared. The page has all of them.", plans.MostBookYards, len(plan.Yards))
	}
	book, err := plans.YardsWorkbook(f, plan)
	if err != nil {
		return err
	}
	return sendWorkbook(ctx, "yards.xlsx", book)
}

// yardsDrawing draws what yards give beside the average yard.
func (p *pages) yardsDrawing(ctx echo.Context) error {
	f, plan, _, err := p.yardsPlanOf(ctx, &yardsPlanView{})
	if err != nil {
		return err
	}
	if plan == nil {
		return fault.New(fault.NotFound, "There is no such comparison. Ask for it anew on the page of yards.")
	}
	svg, err := chart.YardEffects(formAsked(ctx), f, plan)
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}
