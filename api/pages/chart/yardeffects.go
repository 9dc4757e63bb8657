package chart

import (
	"cmp"
	"fmt"
	"slices"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/domain/plan/yards"
)

// YardEffects draws what yards give beside the average yard: a mark for each with its band of nine tenths,
// the best at the top. Yards to move are triangles, yards to keep dots, and the others rings. An upright line
// is the average yard, a broken one what moving is worth the while below. Of more than 40 yards those that
// give least are drawn.
func YardEffects(form Form, f locale.Voice, p *yards.Plan) ([]byte, error) {
	rows := slices.DeleteFunc(slices.Clone(p.Proposals), func(y yards.Proposal) bool { return y.Effect == nil })
	slices.SortStableFunc(rows, func(a, b yards.Proposal) int { return cmp.Compare(a.Effect.Kg, b.Effect.Kg) })
	rows = rows[:min(len(rows), mostBars)]
	pl := plainPlot(form, f)
	pl.X.Label.Text = f.Say("%s per hive, from the average", f.Mass)
	if p.Per == yards.PerSuper {
		pl.X.Label.Text = f.Say("%s per super, from the average", f.Mass)
	}
	if len(rows) == 0 {
		pl.HideAxes()
		return SVG(pl, form.Width, form.barsHeight(0))
	}
	units := func(kg float64) float64 { return kg * 1000 / f.GramsPerUnit }
	names := make([]string, len(rows))
	low, high := 0.0, 0.0
	for i, y := range rows {
		names[i] = form.Fit(y.Name)
		low, high = min(low, units(y.Effect.LowKg)), max(high, units(y.Effect.HighKg))
		band, err := plotter.NewLine(plotter.XYs{{X: units(y.Effect.LowKg), Y: float64(i)}, {X: units(y.Effect.HighKg), Y: float64(i)}})
		if err != nil {
			return nil, fmt.Errorf("bands of yards: %w", err)
		}
		band.LineStyle = draw.LineStyle{Color: BarColour, Width: 2.5}
		mark, err := plotter.NewScatter(plotter.XYs{{X: units(y.Effect.Kg), Y: float64(i)}})
		if err != nil {
			return nil, fmt.Errorf("yards beside the average: %w", err)
		}
		mark.GlyphStyle = verdictMark[y.Verdict]
		mark.GlyphStyle.Radius = form.perBar * 0.3
		pl.Add(band, mark)
	}
	top := float64(len(rows)) - 0.4
	for _, line := range []struct {
		at    float64
		style draw.LineStyle
	}{{0, draw.LineStyle{Color: InkColour, Width: 1}}, {-units(p.MarginKg), draw.LineStyle{Color: BeforeColour, Width: 1, Dashes: []vg.Length{4, 3}}}} {
		upright, err := plotter.NewLine(plotter.XYs{{X: line.at, Y: -0.6}, {X: line.at, Y: top}})
		if err != nil {
			return nil, fmt.Errorf("the average yard: %w", err)
		}
		upright.LineStyle = line.style
		pl.Add(upright)
		low = min(low, line.at)
	}
	pl.NominalY(names...)
	pl.Y.Tick.Length, pl.Y.LineStyle.Width = 0, 0
	room := (high - low) * 0.03
	pl.X.Min, pl.X.Max, pl.Y.Min, pl.Y.Max = low-room, high+room, -0.6, top
	return SVG(pl, form.Width, form.barsHeight(len(rows)))
}

var verdictMark = map[yards.Verdict]draw.GlyphStyle{
	yards.Move:   {Color: BeforeColour, Shape: draw.PyramidGlyph{}},
	yards.Keep:   {Color: BarColour, Shape: draw.CircleGlyph{}},
	yards.Unsure: {Color: InkColour, Shape: hollow{}},
}

// hollow is a dot that the line behind it is not seen through.
type hollow struct{}

// DrawGlyph draws it; it implements draw.GlyphDrawer.
func (hollow) DrawGlyph(c *draw.Canvas, s draw.GlyphStyle, at vg.Point) {
	draw.CircleGlyph{}.DrawGlyph(c, s, at)
	c.DrawGlyph(draw.GlyphStyle{Color: sheetColour, Radius: s.Radius * 0.55, Shape: draw.CircleGlyph{}}, at)
}
