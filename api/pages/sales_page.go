package pages

import (
	"errors"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"

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
	"pullbook/domain/plan/sale"
	"pullbook/domain/standard"
)

// salesView is a question for sales with what it came to.
type salesView struct {
	Form *askForm
	AsOf string
	// Records: the reader may record a contract.
	Records bool
	// Answered is false where nothing was asked for, or something is wrong with it.
	Answered            bool
	Entries, On, OnHand string
	// Assignments are the best and the next best, Mixed is what goes where honey is mixed first, nil
	// where that brings nothing more.
	Assignments []salesShown
	// GoBy is how somebody goes by the best; nil where nothing goes.
	GoBy      *toGoBy
	Mixed     *salesShown
	MixedSays string
	Says      []string
	Contracts []salesContract
	Refused   []salesRefused
	LeftOut   []blendLeftOut
	Looks     []string
	Cautions  []string
}

// salesShown is one assignment.
type salesShown struct {
	ID, Title, Money, Counted, Proved string
	Sales                             []saleShown
	Stays                             []saleStays
	// Drawing and Workbook are empty where honey has to be mixed first; Filled are the figures of the drawing.
	Drawing, Workbook string
	Filled            []saleFilled
}

// saleFilled is how far a contract is filled.
type saleFilled struct{ Name, Goes, Promised, Most string }

// saleShown is what goes to one contract.
type saleShown struct {
	Contract, Buyer, LastDay, Mass, Count, Net, Freight, Short, Means string
	Lots                                                              []saleLot
	// Prepare leads to the form of a dispatch of just that; empty where honey has to be mixed first.
	Prepare string
}

// saleLot is what goes of a lot, and what would change that.
type saleLot struct {
	Lot, Mass, Price, Turns string
	Containers              []string
}

type saleStays struct {
	Lot, Mass, Why, Best string
	Containers           []string
}

// salesContract is an open contract, with what it still takes and what its next container is worth.
type salesContract struct{ Path, Name, Buyer, LastDay, Price, Takes, Promised, Sent, Next, Turns string }

type salesRefused struct{ Path, Name, Buyer, Why string }

func (p *pages) salesPage(ctx echo.Context) error {
	f, form, found, err := p.salesOf(ctx)
	if err != nil {
		return err
	}
	v := &salesView{Form: form, AsOf: ctx.QueryParam("as_of")}
	err = p.look(ctx, func(who db.Principal, _ db.Outfit, _ *ledger.Book) error {
		v.Records = who.Role == db.Manager
		return nil
	})
	if err != nil {
		return err
	}
	if found != nil {
		v.answer(f, found, ctx.QueryParams())
	}
	if v.GoBy, err = p.goByOf(ctx, salesPath, adoptedSales(f, found)); err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "sales.html", v)
}

// salesOf works out what a query asks for. It finds nothing where nothing is asked for, or something is
// wrong with it, which the form says.
func (p *pages) salesOf(ctx echo.Context) (f locale.Voice, form *askForm, found *plans.Sales, err error) {
	var currencies []string
	err = p.lookAsOf(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		f, currencies = request.VoiceFor(ctx, o, b), p.currenciesOf(b)
		return nil
	})
	if err != nil {
		return f, nil, nil, err
	}
	form = salesForm(f, currencies)
	form.fill(ctx.QueryParams())
	if !form.Asked {
		return f, form, nil, nil
	}
	params := salesParams(form, currencies)
	if params == nil {
		return f, form, nil, nil
	}
	var question plans.SalesQuestion
	err = p.lookAsOf(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		question, err = p.plans.AskSales(o, b, params)
		return err
	})
	var refused *fault.Error
	if errors.As(err, &refused) && refused.Code == fault.Invalid {
		form.refuse(refused, map[string]string{"keep_minor_per_kg": "keep"})
		return f, form, nil, nil
	}
	if err == nil {
		found, err = p.plans.Sales(ctx.Request().Context(), question)
	}
	return f, form, found, err
}

// salesChosen is what a query asks for, and the place of the assignment that it is about.
func (p *pages) salesChosen(ctx echo.Context) (f locale.Voice, found *plans.Sales, which int, err error) {
	f, _, found, err = p.salesOf(ctx)
	if err != nil {
		return f, nil, 0, err
	}
	n, err := strconv.Atoi(ctx.QueryParam("sales"))
	if found == nil || err != nil || n < 1 || n > len(found.Assignments) {
		return f, nil, 0, fault.New(fault.NotFound, "There are no such sales. Ask for them anew on the page of sales.")
	}
	return f, found, n - 1, nil
}

// salesDrawing draws what goes to each contract.
func (p *pages) salesDrawing(ctx echo.Context) error {
	f, found, which, err := p.salesChosen(ctx)
	if err != nil {
		return err
	}
	svg, err := chart.Sales(formAsked(ctx), f, &found.Spec, &found.Assignments[which])
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}

// salesWorkbook is an assignment as a workbook that reckons.
func (p *pages) salesWorkbook(ctx echo.Context) error {
	f, found, which, err := p.salesChosen(ctx)
	if err != nil {
		return err
	}
	book, err := found.Workbook(f, which)
	if err != nil {
		return err
	}
	return sendWorkbook(ctx, "sales.xlsx", book)
}

// adoptableSales is the best that a query asks for, as a plan that somebody may go by.
func (p *pages) adoptableSales(ctx echo.Context) (*ledger.AdoptedPlan, error) {
	f, _, found, err := p.salesOf(ctx)
	if err != nil {
		return nil, err
	}
	return adoptedSales(f, found), nil
}

func adoptedSales(f locale.Voice, found *plans.Sales) *ledger.AdoptedPlan {
	if found == nil || len(found.Assignments) == 0 {
		return nil
	}
	best := &found.Assignments[0]
	out := found.Adopted(best, f.Say("Sales of %s", f.Date(string(found.On))))
	if out != nil && len(out.Steps) == sale.MostSteps {
		out.Note = f.Say("Only the first %s deliveries are steps.", f.Count(sale.MostSteps))
	}
	return out
}

// answer puts what was found into words.
func (v *salesView) answer(f locale.Voice, found *plans.Sales, asked url.Values) {
	spec := &found.Spec
	v.Answered, v.Entries, v.On = true, f.Count(int(found.Through)), f.Date(string(found.On))
	onHand := 0.0
	for i := range spec.Stock {
		onHand += spec.Stock[i].Kg
	}
	v.OnHand, v.Says, v.Cautions = f.Kg(onHand), f.SayEach(found.Says), f.SayEach(sale.Cautions())
	for i := range found.Assignments {
		shown := salesShownOf(f, found, i)
		shown.leadOn(asked)
		for j := range shown.Sales {
			if !v.Records {
				shown.Sales[j].Prepare = "" // a manager prepares
			}
		}
		v.Assignments = append(v.Assignments, shown)
	}
	switch {
	case len(found.Assignments) > 0:
		v.MixedSays = found.Said().In(f)
		v.Mixed = mixedShownOf(f, found)
	case len(spec.Contracts) > 0 && len(spec.Stock) > 0:
		v.Says = append(v.Says, found.Said().In(f))
	}
	for _, r := range found.Refused {
		v.Refused = append(v.Refused, salesRefused{journalPath + "/" + r.ID.String(), r.Name, r.Buyer, r.Why.In(f)})
	}
	for _, l := range found.LeftOut {
		v.LeftOut = append(v.LeftOut, blendLeftOut{Source: l.Source, Mass: f.Kg(l.Kg), Why: l.Why.In(f), Containers: someNames(f, l.Names)})
	}
	for i := range spec.Contracts {
		v.Contracts = append(v.Contracts, salesContractOf(f, found, i))
		for _, l := range spec.Contracts[i].Looks {
			v.Looks = append(v.Looks, f.Say("%s, %s", spec.Contracts[i].Name, sayLimit(f, l)))
		}
	}
}

func salesContractOf(f locale.Voice, found *plans.Sales, i int) salesContract {
	c := &found.Spec.Contracts[i]
	out := salesContract{
		Path: journalPath + "/" + c.ID.String(), Name: c.Name, Buyer: c.Buyer, LastDay: lastDayOf(f, c.LastDay), Price: priceOf(f, c.Terms.PricePerKg.Float64(), found.Currency),
		Takes: f.Kg(c.MostKg), Sent: f.Kg(c.SentKg),
	}
	if c.PromisedKg > 0 {
		out.Promised = f.Kg(c.PromisedKg)
	}
	if len(found.Assignments) > 0 {
		out.Next = nextOf(f, found.NextContainerMinor(&found.Spec, i), moneyOf(f, found.Currency))
	}
	if len(found.PriceTurns) > 0 {
		out.Turns = priceTurnsIn(f, found.PriceTurns[i], found.Currency)
	}
	return out
}

// priceTurnsIn says from which price of a contract on other sales are the best; nothing where nobody knows.
func priceTurnsIn(f locale.Voice, t sale.PriceTurn, currency string) string {
	switch {
	case !t.Known:
		return ""
	case t.Below != nil && t.Above != nil:
		return f.Say("Below %s or above %s, other sales are the best.", priceOf(f, *t.Below, currency), priceOf(f, *t.Above, currency))
	case t.Below != nil:
		return f.Say("Below %s, other sales are the best.", priceOf(f, *t.Below, currency))
	case t.Above != nil:
		return f.Say("Above %s, other sales are the best.", priceOf(f, *t.Above, currency))
	}
	return f.Say("At half its price, and at half as much again, the best stays the best.")
}

func salesShownOf(f locale.Voice, found *plans.Sales, i int) salesShown {
	a, best := &found.Assignments[i], &found.Assignments[0]
	money := moneyOf(f, found.Currency)
	out := salesShown{ID: strconv.Itoa(i + 1), Money: money(a.EarnedMinor)}
	if i == 0 {
		out.Title, out.Counted = f.Say("What brings the most"), f.Say("That is the price less discount and freight.")
	} else {
		out.Title, out.Counted = f.Say("The next best, %s", f.Count(i)), f.Say("It comes to %s less than the best.", money(best.WorthMinor()-a.WorthMinor()))
	}
	if found.Spec.KeepPerKg > 0 {
		out.Counted = f.Say("%s What stays counts as %s beside it.", out.Counted, money(a.KeptMinor))
	}
	switch {
	case a.Proved() && i == 0:
		out.Proved = f.Say("No other brings more: the search came to its end.")
	case a.Proved():
		out.Proved = f.Say("Of those that send a lot of each one before elsewhere, none brings more.")
	case math.IsInf(a.BoundMinor, 0):
		out.Proved = f.Say("The time for the search was over: another may bring more.")
	default:
		out.Proved = f.Say("There are too many to try each: another may bring up to %s more.", money(a.BoundMinor-a.WorthMinor()))
	}
	out.Sales, out.Filled = salesShownIn(f, found, a), salesFilledOf(f, &found.Spec, a)
	for _, x := range found.Stays(&found.Spec, a) {
		row := saleStays{Lot: x.Source, Mass: f.Kg(x.Kg), Why: f.Say("%s", message.Capital(x.Why)), Containers: namesIn(&found.Spec, x.Stock)}
		if x.Best >= 0 {
			row.Best = f.Say("%s at %s", priceOf(f, x.PerKg, found.Currency), found.Spec.Contracts[x.Best].Name)
		}
		out.Stays = append(out.Stays, row)
	}
	return out
}

// leadOn gives the addresses of what shows the same assignment.
func (s *salesShown) leadOn(asked url.Values) {
	query := url.Values{}
	for name, values := range asked {
		query[name] = values
	}
	query.Set("sales", s.ID)
	s.Drawing, s.Workbook = salesDrawingPath+"?"+query.Encode(), salesBookPath+"?"+query.Encode()
}

// salesFilledOf is by how much each contract is filled.
func salesFilledOf(f locale.Voice, spec *sale.Spec, a *sale.Assignment) []saleFilled {
	out := make([]saleFilled, len(spec.Contracts))
	for i := range spec.Contracts {
		c := &spec.Contracts[i]
		if out[i] = (saleFilled{c.Name, f.Kg(0), locale.Missing, f.Kg(c.MostKg)}); c.PromisedKg > 0 {
			out[i].Promised = f.Kg(c.PromisedKg)
		}
	}
	for i := range a.Sales {
		out[a.Sales[i].Contract].Goes = f.Kg(a.Sales[i].Kg)
	}
	return out
}

// mixedShownOf is what goes where honey is mixed first; nil where that brings nothing more.
func mixedShownOf(f locale.Voice, found *plans.Sales) *salesShown {
	if !found.MixingPays() {
		return nil
	}
	more := found.Mixed.WorthMinor() - found.Assignments[0].WorthMinor()
	return &salesShown{ID: "mixed", Title: f.Say("Mixed before it is sold"), Money: moneyOf(f, found.Currency)(more), Sales: salesShownIn(f, found, found.Mixed)}
}

// salesShownIn are the sales of an assignment.
func salesShownIn(f locale.Voice, found *plans.Sales, a *sale.Assignment) (out []saleShown) {
	spec, money := &found.Spec, moneyOf(f, found.Currency)
	for i := range a.Sales {
		x := &a.Sales[i]
		c := &spec.Contracts[x.Contract]
		row := saleShown{
			Contract: c.Name, Buyer: c.Buyer, LastDay: lastDayOf(f, c.LastDay), Mass: f.Kg(x.Kg), Net: money(x.NetMinor), Freight: money(x.FreightMinor),
			Count: f.Say("%s", message.Plural{N: float64(len(x.Takes)), One: "%s container, whole", Other: "%s containers, whole"}), Lots: saleLots(f, found, x),
		}
		if x.ShortKg >= 0.5 {
			row.Short = f.Say("%s of what was promised is missing.", message.Kg(x.ShortKg))
		}
		if !x.Mixed && len(x.Takes) > 0 && len(x.Takes) <= mostPrepared {
			row.Prepare = prepareOf(spec, x)
		}
		for _, m := range x.Means {
			row.Means += f.Say("%s: %s", message.Capital(standard.SayParameter(m.Parameter)), f.Number(m.Mean, 2)+" "+standard.SayUnit(plan.UnitOf(m.Parameter)).In(f)) + ". "
		}
		out = append(out, row)
	}
	return out
}

// mostPrepared is of how many containers a link prepares a dispatch: an address has no room for more.
const mostPrepared = 200

// prepareOf is where a sale becomes a dispatch that is prepared, once somebody says on which day it leaves.
func prepareOf(spec *sale.Spec, x *sale.Sale) string {
	query := url.Values{"buyer": {spec.Contracts[x.Contract].BuyerID.String()}, "reference": {spec.Contracts[x.Contract].Name}}
	for _, t := range x.Takes {
		query.Add("container", spec.Stock[t.Stock].ID.String())
	}
	return preparePath + "?" + query.Encode()
}

// nextOf says what a contract's next container is worth.
func nextOf(f locale.Voice, minor float64, money func(float64) string) string {
	switch {
	case minor >= 1:
		return f.Say("If it took one container more, that would bring about %s.", money(minor))
	case minor <= -1:
		return f.Say("One container less of it would bring about %s more elsewhere.", money(-minor))
	}
	return f.Say("It takes more than goes there.")
}

// saleLots are what goes of each lot, those that bring different prices apart.
func saleLots(f locale.Voice, found *plans.Sales, x *sale.Sale) (out []saleLot) {
	var kg []float64
	for _, t := range x.Takes {
		stock, price := &found.Spec.Stock[t.Stock], priceOf(f, t.PerKg, found.Currency)
		at := slices.IndexFunc(out, func(l saleLot) bool { return l.Lot == stock.Source && l.Price == price })
		if at < 0 {
			at = len(out)
			row := saleLot{Lot: stock.Source, Price: price}
			if !x.Mixed {
				row.Turns = turnsIn(f, found.Spec.Turns(t.Stock, x.Contract))
			}
			out, kg = append(out, row), append(kg, 0)
		}
		kg[at] += stock.Kg
		out[at].Containers, out[at].Mass = append(out[at].Containers, stock.Name), f.Kg(kg[at])
	}
	return out
}

// turnsIn says up to which figures a lot goes where it goes.
func turnsIn(f locale.Voice, turns []sale.Turn) (said string) {
	for i, t := range turns {
		if i > 0 {
			said += "; "
		}
		unit := standard.SayUnit(plan.UnitOf(t.Limit.Parameter)).In(f)
		said += f.Say("%s %s, turns at %s", standard.SayParameter(t.Limit.Parameter), f.Number(t.Now, 2)+" "+unit, f.Number(t.At, 2)+" "+unit)
	}
	return said
}

func namesIn(spec *sale.Spec, stock []int) (out []string) {
	for _, i := range stock {
		out = append(out, spec.Stock[i].Name)
	}
	return out
}

func moneyOf(f locale.Voice, currency string) func(minor float64) string {
	return func(minor float64) string { return f.Money(int64(math.Round(minor)), currency) }
}

// priceOf is a price as the outfit has it, of a kilogram or a pound.
func priceOf(f locale.Voice, minorPerKg float64, currency string) string {
	return f.PriceTyped(strconv.FormatFloat(math.Round(10*minorPerKg)/10, 'f', -1, 64), currency) + "\u00a0" + currency + "/" + f.Mass
}
