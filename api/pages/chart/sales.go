package chart

import (
	"fmt"

	"pullbook/api/locale"
	"pullbook/domain/plan/sale"
)

// Sales draws for each contract as a bar what goes to it by an assignment, as a frame what it takes at the most, and as
// an upright mark what is promised of that. Of more than 40 contracts the first are drawn.
func Sales(form Form, f locale.Voice, s *sale.Spec, a *sale.Assignment) ([]byte, error) {
	units := func(kg float64) *float64 { return new(kg * 1000 / f.GramsPerUnit) }
	rows := make([]bar, len(s.Contracts))
	for i := range s.Contracts {
		c := &s.Contracts[i]
		if rows[i] = (bar{name: c.Name, value: units(0), frame: units(c.MostKg)}); c.PromisedKg > 0 {
			rows[i].mark = units(c.PromisedKg)
		}
	}
	for i := range a.Sales {
		rows[a.Sales[i].Contract].value = units(a.Sales[i].Kg)
	}
	pl, err := barPlot(form, f, f.Mass, rows)
	if err != nil {
		return nil, fmt.Errorf("chart of sales: %w", err)
	}
	return SVG(pl, form.Width, form.barsHeight(len(rows)))
}
