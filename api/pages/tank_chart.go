package pages

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/pages/chart"
	"pullbook/domain/ledger"
)

// tankChart draws a tank's story: its level, moisture, temperature and HMF, one
// over the other by the same time. The tables beside it say the same.
func (p *pages) tankChart(ctx echo.Context) error {
	return p.keptChart(ctx, func(b *ledger.Book) (written, error) {
		id, err := tankAsked(ctx, b)
		if err != nil {
			return nil, err
		}
		r := p.rangeOf(ctx, b, id)
		return chart.NewTank(formAsked(ctx), b, id, r.from, r.until).SVG, nil
	})
}
