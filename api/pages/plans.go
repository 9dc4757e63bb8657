package pages

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/ledger"
)

const (
	plansPath         = "/plans"
	blendPath         = plansPath + "/blend"
	blendBlankPath    = blendPath + "/blank"
	blendDrawingPath  = blendPath + "/drawing.svg"
	blendBookPath     = blendPath + "/blend.xlsx"
	prepareBlendPath  = blendPath + "/prepare"
	salesPath         = plansPath + "/sales"
	preparedBlendPath = blendPath + "/prepared"
	yardsPlanPath     = plansPath + "/yards"
	yardsDrawingPath  = yardsPlanPath + "/drawing.svg"
	daysPath          = plansPath + "/days"
	daysDrawingPath   = daysPath + "/drawing.svg"
)

// routePlans serves what the book proposes to do next.
func (p *pages) routePlans(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET(plansPath, p.plansPage, squeezed)
	e.GET(blendPath, p.blendPage, squeezed)
	e.GET(salesPath, p.salesPage, squeezed)
	e.GET(blendBlankPath, p.blendBlank, squeezed)
	e.GET(blendDrawingPath, p.blendDrawing, squeezed)
	e.GET(blendBookPath, p.blendWorkbook)
	e.POST(prepareBlendPath, p.prepareBlend)
	e.GET(preparedBlendPath+"/:id", p.preparedBlendPage, squeezed)
	e.GET(yardsPlanPath, p.yardsPlanPage, squeezed)
	e.GET(yardsDrawingPath, p.yardsDrawing, squeezed)
	e.GET(daysPath, p.daysPage, squeezed)
	e.GET(daysDrawingPath, p.daysDrawing, squeezed)
	e.GET(planWarmingPath, p.planWarmingPage, squeezed)
	e.GET(planWarmingDrawingPath, p.planWarmingDrawing, squeezed)
}

// plansPage leads to the plans.
func (p *pages) plansPage(ctx echo.Context) error {
	return p.kept(ctx, "plans.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		v := &plansView{Blends: preparedBlends(b)}
		return func(locale.Voice) any { return v }, nil
	})
}

// plansView is what there is to plan, and what was planned and is not done yet.
type plansView struct{ Blends []preparedBlendRow }
