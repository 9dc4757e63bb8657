package pages

import (
	"cmp"
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

const mapRoute = "/charts/yards.svg"

// yardMap draws the yards of a season where they stand, each as a circle whose
// area is its honey. The table beside it says the same.
func (p *pages) yardMap(ctx echo.Context) error {
	return p.seasonPicture(ctx, func(b *ledger.Book, r *season.Report, form chart.Form) (written, error) {
		yards := placedYards(b, r)
		return func(f locale.Voice) ([]byte, error) { return chart.YardMap(form, f, yards) }, nil
	})
}

// placedYards are the yards of a season whose position is known, and any other
// yard that stands and has one.
func placedYards(b *ledger.Book, r *season.Report) []chart.Yard {
	var out []chart.Yard
	line := map[ledger.ID]season.YardLine{}
	for _, y := range r.Yards {
		line[y.YardID] = y
	}
	b.InForceOf(ledger.KindYard, func(root ledger.ID, e *ledger.Entry) bool {
		y := e.Body.(*ledger.Yard)
		if y.Latitude == nil || y.Longitude == nil {
			return true
		}
		l, ok := line[root]
		if !ok {
			l = season.YardLine{YardID: root, Name: y.Name, Yield: season.Yield{NotKnown: r.NoPullG > 0}}
		}
		out = append(out, chart.Yard{YardLine: l, Lat: *y.Latitude, Long: *y.Longitude})
		return true
	})
	// Large circles first, so that small ones lie on them.
	slices.SortStableFunc(out, func(a, c chart.Yard) int { return cmp.Compare(c.DrawnG(), a.DrawnG()) })
	return out
}
