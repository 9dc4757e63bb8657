package chart

import (
	"fmt"
	"slices"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// YardSeasons draws what a yard gave per super over what it gave per hive, season by season
// with the latest at the top. The upright marks are the outfit's.
func YardSeasons(form Form, f locale.Voice, seasons []season.YardSeason) ([]byte, error) {
	kilograms := func(kg *float64) *float64 {
		if kg == nil {
			return nil
		}
		return new(*kg * 1000 / f.GramsPerUnit)
	}
	var perSuper, perHive []bar
	for _, s := range seasons {
		perSuper = append(perSuper, bar{name: s.Season.Name, value: kilograms(s.KgPerSuper), mark: kilograms(s.Together.KgPerSuper)})
		perHive = append(perHive, bar{name: s.Season.Name, value: kilograms(s.KgPerHive), mark: kilograms(s.Together.KgPerHive)})
	}
	var plots []*plot.Plot
	for _, one := range []struct {
		quantity string
		rows     []bar
	}{{f.Say("%s per super", f.Mass), perSuper}, {f.Say("%s per hive", f.Mass), perHive}} {
		if !slices.ContainsFunc(one.rows, func(b bar) bool { return b.value != nil }) {
			continue
		}
		pl, err := barPlot(form, f, one.quantity, one.rows)
		if err != nil {
			return nil, fmt.Errorf("chart of a yard's seasons: %w", err)
		}
		plots = append(plots, pl)
	}
	if plots == nil { // nothing is known per super or per hive
		nothing, err := barPlot(form, f, "", nil)
		if err != nil {
			return nil, err
		}
		plots = append(plots, nothing)
	}
	return columnOf(plots, form.Width, form.barsHeight(len(seasons))*vg.Length(len(plots)), draw.Tiles{PadY: form.TextSize})
}

// YardPulls draws a yard's pulls by the day: their honey over their moisture. limit
// may be nil.
func YardPulls(form Form, f locale.Voice, pulls []season.PullLine, limit *float64) ([]byte, error) {
	var d days
	heights, read := map[float64]float64{}, plotter.XYs{}
	for _, p := range pulls {
		on := dayAt(ledger.Date(p.PulledAt.In(f.Zone).Format(time.DateOnly)))
		d.hold(on)
		if p.HoneyG > 0 && !p.NotKnown {
			heights[on] += float64(p.HoneyG) / f.GramsPerUnit
		}
		if p.MoisturePct != nil {
			read = append(read, plotter.XY{X: on, Y: *p.MoisturePct})
		}
	}
	honey := d.plot(form, f, f.Mass)
	d.bars(honey, form, heights)
	plots := []*plot.Plot{honey}
	if len(read) > 0 {
		moisture := d.plot(form, f, f.Say("moisture, %%"))
		if err := dots(moisture, read, form.dot(len(read))); err != nil {
			return nil, fmt.Errorf("a yard's pulls: %w", err)
		}
		if err := d.limited(moisture, form, f, limit); err != nil {
			return nil, fmt.Errorf("a yard's pulls: %w", err)
		}
		plots = append(plots, moisture)
	}
	return panelsOf(form, plots...)
}
