package pages

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/plans"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/week"
	"pullbook/openapi"
)

const (
	plansPath         = "/plans"
	blendPath         = plansPath + "/blend"
	blendBlankPath    = blendPath + "/blank"
	blendDrawingPath  = blendPath + "/drawing.svg"
	blendBookPath     = blendPath + "/blend.xlsx"
	prepareBlendPath  = blendPath + "/prepare"
	blendWeightsPath  = blendPath + "/weights"
	salesPath         = plansPath + "/sales"
	salesDrawingPath  = salesPath + "/drawing.svg"
	salesBookPath     = salesPath + "/sales.xlsx"
	preparedBlendPath = blendPath + "/prepared"
	yardsPlanPath     = plansPath + "/yards"
	yardsDrawingPath  = yardsPlanPath + "/drawing.svg"
	yardsBookPath     = yardsPlanPath + "/yards.xlsx"
	daysPath          = plansPath + "/days"
	daysDrawingPath   = daysPath + "/drawing.svg"
	daysBookPath      = daysPath + "/days.xlsx"
)

// routePlans serves what the book proposes to do next.
func (p *pages) routePlans(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET(plansPath, p.plansPage, squeezed)
	e.GET(blendPath, p.blendPage, squeezed)
	e.GET(salesPath, p.salesPage, squeezed)
	e.GET(salesDrawingPath, p.salesDrawing, squeezed)
	e.GET(salesBookPath, p.salesWorkbook)
	p.routeAdoptable(e, salesPath, p.adoptableSales, squeezed)
	e.GET(blendBlankPath, p.blendBlank, squeezed)
	e.GET(blendDrawingPath, p.blendDrawing, squeezed)
	e.GET(blendBookPath, p.blendWorkbook)
	e.POST(prepareBlendPath, p.prepareBlend)
	e.POST(blendWeightsPath, p.keepWeights)
	e.GET(preparedBlendPath+"/:id", p.preparedBlendPage, squeezed)
	e.POST(adoptPath, p.adopt)
	e.GET(adoptedPath+"/:id", p.adoptedPage, squeezed)
	e.GET(adoptedPath+"/:id/blank", p.adoptedBlank, squeezed)
	p.routeAdoptable(e, planWarmingPath, p.adoptableWarming, squeezed)
	p.routeAdoptable(e, daysPath, p.adoptableDays, squeezed)
	e.GET(yardsPlanPath, p.yardsPlanPage, squeezed)
	p.routeAdoptable(e, yardsPlanPath, p.adoptableYards, squeezed)
	e.GET(yardsDrawingPath, p.yardsDrawing, squeezed)
	e.GET(yardsBookPath, p.yardsWorkbook)
	e.GET(daysPath, p.daysPage, squeezed)
	e.GET(daysDrawingPath, p.daysDrawing, squeezed)
	e.GET(daysBookPath, p.daysWorkbook)
	e.GET(planWarmingPath, p.planWarmingPage, squeezed)
	e.GET(planWarmingDrawingPath, p.planWarmingDrawing, squeezed)
	e.GET(planWarmingBookPath, p.planWarmingWorkbook)
}

// plansPage leads to the plans.
func (p *pages) plansPage(ctx echo.Context) error {
	return p.kept(ctx, "plans.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		asked, err := p.plans.AskWeek(b, &openapi.GetWeekPlanParams{})
		if err != nil {
			return nil, err
		}
		v := &plansView{Blends: preparedBlends(b)}
		adopted := adoptedPlans(b)
		return func(f locale.Voice) any {
			v.week(f, plans.WeekOf(asked))
			for _, a := range adopted {
				v.Adopted = append(v.Adopted, adoptedShown{a.Path, a.Title, f.Day(a.At)})
			}
			return v
		}, nil
	})
}

// plansView is what to do next, what there is to plan, and what was planned and is not done yet.
type plansView struct {
	On     string
	Week   []weekRow
	Notes  []string
	Blends []preparedBlendRow
	// Adopted are the plans that somebody goes by, the latest first.
	Adopted []adoptedShown
}

type adoptedShown struct{ Path, Title, On string }

// weekRow is one thing to do. By is empty where no day is known, Late where that is past.
type weekRow struct {
	Do, Why, Waits, By, Kg, Path string
	Late                         bool
}

func (v *plansView) week(f locale.Voice, p *week.Plan) {
	v.On, v.Notes = f.Date(string(p.On)), f.SayEach(p.Notes)
	for _, x := range p.Items {
		row := weekRow{Do: x.Do.In(f), Why: x.Why.In(f), Waits: x.Waits.In(f), Path: pathOfItem(&x), Late: x.By != "" && x.By < p.On}
		if x.By != "" {
			row.By = f.Date(string(x.By))
		}
		if x.Kg > 0 {
			row.Kg = f.Kg(x.Kg)
		}
		v.Week = append(v.Week, row)
	}
}

// pathOfItem is where one goes on with something to do.
func pathOfItem(x *week.Item) string {
	switch x.Sort {
	case week.Load:
		return preparedPath + "/" + x.Of.String()
	case week.Pour:
		return preparedBlendPath + "/" + x.Of.String()
	case week.Do:
		return adoptedPath + "/" + x.Of.String()
	case week.Send:
		return lotPath(x.Of)
	case week.Fulfil:
		return salesPath
	case week.Pull:
		return yardPath(x.Of)
	case week.Order, week.Clear:
		return daysPath
	case week.Look:
		return findingsPath + "#" + findingID(ledger.Flag{Code: x.Code, Entry: x.Of})
	case week.Check:
		return instrumentsPath
	}
	return yardsPlanPath
}
