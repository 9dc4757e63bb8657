package pages

import (
	"errors"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/plans"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// blendView is a question for a blend with what it came to.
type blendView struct {
	Form, Weights *askForm
	AsOf          string
	// Own says that the weights are the outfit's own, Manages that the reader may change them.
	Own, Manages bool
	// Answered is false where nothing was asked for, or something is wrong with it.
	Answered bool
	// Entries are those of the book that it rests on.
	Entries, On, Mass, OnHand string
	Blends                    []blendShown
	// Impossible says why there is no blend, Changes what would have to change.
	Impossible, Buy string
	Changes         []string
	LeftOut         []blendLeftOut
	Looks           []string
	Cautions        []string
	// Tanks are what a manager may have a blend made in; none for others.
	Tanks []choice
}

// blendShown is one blend.
type blendShown struct {
	// ID is the place among the blends, from 1.
	ID, Title, Mass, Sources, Counted, Proved string
	Goes                                      []blendSource
	Mixed                                     []blendMixed
	Turns                                     []blendTurn
	Origins                                   blendOrigins
	Drawing, Blank, Workbook, Prepare, NewID  string
}

// blendSource is what goes in of a lot or a tank.
type blendSource struct {
	Name, Mass, What string
	Containers       []string
}

type blendMixed struct{ Name, Limit, From, Expected, Probability string }

// blendTurn is a figure that would change the plan.
type blendTurn struct{ Name, Source, Now, At string }

// blendOrigins are where honey is from: countries, the most first, and yards.
type blendOrigins struct {
	Countries []blendOrigin
	Yards     []blendOrigin
}

// blendOrigin is the share of a yard or a country. Path leads to the yard.
type blendOrigin struct{ Name, Path, Share string }

// originsShown are where a blend's honey is from; countries only where some yard says one.
func originsShown(f locale.Voice, b *plan.Blend) (out blendOrigins) {
	share := func(of float64) string { return f.Share(of) + " %" }
	for _, o := range b.Origins {
		out.Yards = append(out.Yards, blendOrigin{o.Name, yardPath(o.Yard), share(o.Share)})
	}
	for _, c := range b.Countries {
		out.Countries = append(out.Countries, blendOrigin{Name: c.Code, Share: share(c.Share)})
	}
	if b.NotSaid > 0 {
		out.Countries = append(out.Countries, blendOrigin{Name: f.Say("yards that say no country"), Share: share(b.NotSaid)})
	}
	if b.NotKnown > 0 {
		out.Countries = append(out.Countries, blendOrigin{Name: f.Say("not known"), Share: share(b.NotKnown)})
	}
	return out
}

type blendLeftOut struct{ Source, Mass, Why, Containers string }

func (p *pages) blendPage(ctx echo.Context) error {
	v := &blendView{AsOf: ctx.QueryParam("as_of")}
	f, found, err := p.blendOf(ctx, v)
	if err != nil {
		return err
	}
	if found != nil {
		v.answer(f, found, ctx.QueryParams())
	}
	if found != nil && v.Manages {
		err = p.look(ctx, func(_ db.Principal, _ db.Outfit, b *ledger.Book) error {
			v.Tanks = tankChoices(b)
			return nil
		})
		if err != nil {
			return err
		}
	}
	return p.page(ctx, http.StatusOK, "blend.html", v)
}

// blendOf works out what a query asks for. It finds nothing where nothing is asked for, or
// something is wrong with it, which the forms say.
func (p *pages) blendOf(ctx echo.Context, v *blendView) (f locale.Voice, found *plans.Blends, err error) {
	if f, err = p.blendForms(ctx, v, ctx.QueryParams()); err != nil || !v.Form.Asked {
		return f, nil, err
	}
	params := blendParams(v.Form, v.Weights)
	if params == nil {
		return f, nil, nil
	}
	var question plans.BlendQuestion
	err = p.lookAsOf(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		question, err = p.plans.AskBlend(o, b, params)
		return err
	})
	var refused *fault.Error
	if errors.As(err, &refused) && refused.Code == fault.Invalid {
		v.refuse(refused)
		return f, nil, nil
	}
	if err == nil {
		found, err = p.plans.Blends(ctx.Request().Context(), question)
	}
	return f, found, err
}

// blendForms makes the forms that ask for a blend, filled in with what was sent.
func (p *pages) blendForms(ctx echo.Context, v *blendView, sent url.Values) (f locale.Voice, err error) {
	var choices blendChoices
	var own *ledger.BlendWeights
	err = p.lookAsOf(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f, own, v.Manages = request.VoiceFor(ctx, o, b), o.BlendWeights, who.Role == db.Manager
		choices, err = p.blendChoices(b)
		return err
	})
	if err != nil {
		return f, err
	}
	v.Mass, v.Own = f.Mass, own != nil
	v.Form, v.Weights = blendForm(f, choices), weightsForm(f, plan.WeightsOf(own))
	v.Form.fill(sent)
	v.Weights.fill(sent)
	return f, nil
}

// refuse says beside the inputs of either form what is refused.
func (v *blendView) refuse(err *fault.Error) {
	ofWeights := *err
	ofWeights.Fields = nil
	of := *err
	of.Fields = nil
	for _, field := range err.Fields {
		if v.Weights.input(strings.TrimPrefix(field.Pointer, "query:")) != nil {
			ofWeights.Fields = append(ofWeights.Fields, field)
		} else {
			of.Fields = append(of.Fields, field)
		}
	}
	v.Form.refuse(&of, nil)
	v.Weights.refuse(&ofWeights, nil)
}

// answer puts what was found into words.
func (v *blendView) answer(f locale.Voice, found *plans.Blends, asked url.Values) {
	v.Answered, v.Entries, v.On = true, f.Count(int(found.Through)), f.Date(string(found.On))
	var onHand float64
	for _, s := range found.Stock {
		onHand += s.Kg
	}
	v.OnHand = f.Kg(onHand)
	for i := range found.Blends {
		v.Blends = append(v.Blends, blendShownOf(f, found, i, asked))
	}
	if why := found.Impossible; why != nil {
		v.Impossible = why.Said().In(f)
		for _, c := range slices.Concat(why.Alone, why.Together) {
			v.Changes = append(v.Changes, f.Say("%s", message.Capital(c.Said())))
		}
	}
	if why := found.Impossible; why != nil && why.Buy != nil {
		v.Buy = why.Buy.Said().In(f)
	}
	for _, l := range found.LeftOut {
		row := blendLeftOut{Source: l.Source, Mass: f.Kg(l.Kg), Why: l.Why.In(f)}
		if len(l.Names) > 0 {
			row.Containers = someNames(f, l.Names)
		}
		v.LeftOut = append(v.LeftOut, row)
	}
	for _, l := range found.Looks {
		v.Looks = append(v.Looks, sayLimit(f, l))
	}
	v.Cautions = f.SayEach(plan.BlendCautions())
}

// mostNames are named of many.
const mostNames = 12

func someNames(f locale.Voice, names []string) string {
	shown, more := names[:min(len(names), mostNames)], len(names)-mostNames
	out := ""
	for i, name := range shown {
		if i > 0 {
			out += ", "
		}
		out += name
	}
	if more > 0 {
		out += " " + f.Say("and %s more", f.Count(more))
	}
	return out
}

func sayLimit(f locale.Voice, l plan.Limit) string {
	what := f.Say("%s: %s", message.Capital(standard.SayParameter(l.Parameter)), l.Said)
	if !l.From.IsEmpty() {
		what += " (" + l.From.In(f) + ")"
	}
	return what
}

func blendShownOf(f locale.Voice, found *plans.Blends, i int, asked url.Values) blendShown {
	b, best := &found.Blends[i], &found.Blends[0]
	out := blendShown{ID: strconv.Itoa(i + 1), Mass: f.Kg(b.Kg), Goes: blendSources(f, b)}
	out.Sources = f.Say("%s", message.Plural{N: float64(len(b.Sources)), One: "of %s lot or tank", Other: "of %s lots and tanks"})
	switch {
	case i == 0:
		out.Title, out.Counted = f.Say("The best blend"), f.Say("It counts as %s of honey.", message.Kg(b.Cost))
	default:
		out.Title, out.Counted = f.Say("The next best, %s", f.Count(i)), f.Say("It counts as %s more than the best.", message.Kg(b.Cost-best.Cost))
	}
	out.Proved = f.Say("No blend is better: the search came to its end.")
	if i > 0 {
		out.Proved = f.Say("Of those without something that goes into each one before, none is better.")
	}
	if !b.Proved() {
		out.Proved = f.Say("The time for the search was over: a blend may be better by up to %s of honey.", message.Kg(b.Cost-b.Bound))
	}
	for _, m := range b.Mixed {
		out.Mixed = append(out.Mixed, blendMixedOf(f, m))
		for _, t := range m.Turns {
			out.Turns = append(out.Turns, blendTurn{standard.SayParameter(m.Limit.Parameter).In(f), t.Source, ofUnit(f, m, t.Now), ofUnit(f, m, t.At)})
		}
	}
	out.Origins = originsShown(f, b)
	query := url.Values{}
	for name, values := range asked {
		query[name] = values
	}
	query.Set("blend", out.ID)
	query.Set("as_of", strconv.FormatInt(found.Through, 10))
	out.Prepare, out.NewID = prepareBlendPath+"?"+query.Encode(), uuid.NewString()
	out.Blank, out.Workbook = blendBlankPath+"?"+query.Encode(), blendBookPath+"?"+query.Encode()
	if len(b.Mixed) > 0 {
		out.Drawing = blendDrawingPath + "?" + query.Encode()
	}
	return out
}

// blendSources are a blend's takes by source, the most honey first.
func blendSources(f locale.Voice, b *plan.Blend) (out []blendSource) {
	mass := map[string]float64{}
	for _, t := range b.Takes {
		mass[t.Stock.Source] += t.Kg
	}
	order := slices.Clone(b.Sources)
	slices.SortStableFunc(order, func(x, y string) int { return int(math.Copysign(1, mass[y]-mass[x])) })
	for _, name := range order {
		row := blendSource{Name: name, Mass: f.Kg(mass[name])}
		for _, t := range b.Takes {
			switch {
			case t.Stock.Source != name:
			case t.Stock.Part:
				row.What = f.Say("of %s that the tank holds", message.Kg(t.Stock.Kg))
			default:
				row.Containers = append(row.Containers, t.Stock.Name)
			}
		}
		if n := len(row.Containers); n > 0 {
			row.What = f.Say("%s", message.Plural{N: float64(n), One: "%s container, whole", Other: "%s containers, whole"})
		}
		out = append(out, row)
	}
	return out
}

func blendMixedOf(f locale.Voice, m plan.Mixed) blendMixed {
	out := blendMixed{
		Name: f.Say("%s", message.Capital(standard.SayParameter(m.Limit.Parameter))), Limit: m.Limit.Said.In(f), From: m.Limit.From.In(f), Expected: ofUnit(f, m, m.Mean),
		Probability: f.Number(100*m.Probability, 1) + " %",
	}
	if m.SD > 0 {
		out.Expected = f.Say("%s, give or take %s", out.Expected, message.Significant(2*m.SD, 2))
	}
	if m.Probability > 0.9995 {
		out.Probability = f.Say("over %s %%", f.Number(99.9, 1))
	}
	return out
}

// ofUnit is a figure of a property with its unit, to the place that its uncertainty deserves.
func ofUnit(f locale.Voice, m plan.Mixed, v float64) string {
	places := 2
	if m.SD > 0 {
		places = min(4, max(0, 1-int(math.Floor(math.Log10(m.SD)))))
	}
	return f.Number(v, places) + " " + standard.SayUnit(plan.UnitOf(m.Limit.Parameter)).In(f)
}

// blendChosen is what a query asks for, and the place of the blend that it is about.
func (p *pages) blendChosen(ctx echo.Context) (f locale.Voice, found *plans.Blends, which int, err error) {
	f, found, err = p.blendOf(ctx, &blendView{})
	if err != nil {
		return f, nil, 0, err
	}
	n, err := strconv.Atoi(ctx.QueryParam("blend"))
	if found == nil || err != nil || n < 1 || n > len(found.Blends) {
		return f, nil, 0, fault.New(fault.NotFound, "There is no such blend. Ask for it anew on the page of blends.")
	}
	return f, found, n - 1, nil
}

// blendDrawing draws a blend against its limits.
func (p *pages) blendDrawing(ctx echo.Context) error {
	f, found, which, err := p.blendChosen(ctx)
	if err != nil {
		return err
	}
	group := chart.LimitGroup{Name: f.Say("What the blend comes to")}
	for _, m := range found.Blends[which].Mixed {
		said := blendMixedOf(f, m)
		group.Lines = append(group.Lines, chart.LimitLine{
			Answer: f.Say("%s: kept with %s", said.Name, said.Probability), Figures: f.Say("%s, limit: %s", said.Expected, said.Limit),
			Low: m.Limit.Low, High: m.Limit.High, Has: &chart.Has{From: m.Mean, To: m.Mean, Off: 2 * m.SD},
		})
	}
	svg, err := chart.Limits(formAsked(ctx), []chart.LimitGroup{group})
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}

// blendWorkbook is a blend as a workbook that reckons.
func (p *pages) blendWorkbook(ctx echo.Context) error {
	f, found, which, err := p.blendChosen(ctx)
	if err != nil {
		return err
	}
	book, err := found.Workbook(f, which)
	if err != nil {
		return err
	}
	return sendWorkbook(ctx, "blend.xlsx", book)
}
