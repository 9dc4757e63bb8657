package chart

import (
	"fmt"
	"image/color"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/domain/season"
)

// bar is one row of a chart of bars, with an upright mark to compare it with, and a frame for how long it can
// be. What is not known is not drawn.
type bar struct {
	name               string
	value, mark, frame *float64
}

// mostBars are drawn, the first ones.
const mostBars = 40

// BarsByYard draws each yard's honey as a bar, and what it gave in the season
// before as an upright mark. A yard whose honey is not known is left
// out: a bar that is not there would look like nothing.
func BarsByYard(form Form, f locale.Voice, r *season.Report) ([]byte, error) {
	var rows []bar
	for _, y := range r.Yards {
		if y.NotKnown {
			continue
		}
		row := bar{name: y.Name, value: new(float64(y.HoneyG) / f.GramsPerUnit)}
		if y.LastSeason != nil && !y.LastSeason.NotKnown && y.LastSeason.HoneyG > 0 {
			row.mark = new(float64(y.LastSeason.HoneyG) / f.GramsPerUnit)
		}
		rows = append(rows, row)
	}
	pl, err := barPlot(form, f, f.Mass, rows)
	if err != nil {
		return nil, fmt.Errorf("chart of yards: %w", err)
	}
	return SVG(pl, form.Width, form.barsHeight(len(rows)))
}

// barsHeight is how high a chart of so many bars is.
func (form Form) barsHeight(rows int) vg.Length {
	return form.perBar*(vg.Length(max(1, min(rows, mostBars)))+0.2) + 5*form.TextSize
}

func barPlot(form Form, f locale.Voice, quantity string, rows []bar) (*plot.Plot, error) {
	rows = slices.Clone(rows[:min(len(rows), mostBars)])
	slices.Reverse(rows) // The first stands at the top.
	pl := plainPlot(form, f)
	pl.X.Label.Text = quantity
	if len(rows) == 0 {
		pl.HideAxes()
		return pl, nil
	}
	values, frames, marks, names := make(plotter.Values, len(rows)), make(plotter.Values, len(rows)), plotter.XYs{}, make([]string, len(rows))
	framed := false
	for i, row := range rows {
		names[i] = form.Fit(row.name)
		if row.value != nil {
			values[i] = *row.value
		}
		if row.frame != nil {
			frames[i], framed = *row.frame, true
		}
		if row.mark != nil {
			marks = append(marks, plotter.XY{X: *row.mark, Y: float64(i)})
		}
	}
	bars, err := plotter.NewBarChart(values, form.perBar*0.6)
	if err != nil {
		return nil, err
	}
	bars.Horizontal, bars.Color, bars.LineStyle = true, BarColour, draw.LineStyle{}
	pl.Add(bars)
	if framed {
		around, err := plotter.NewBarChart(frames, form.perBar*0.6)
		if err != nil {
			return nil, err
		}
		around.Horizontal, around.Color, around.LineStyle = true, color.Transparent, draw.LineStyle{Color: InkColour, Width: 0.75}
		pl.Add(around)
	}
	if len(marks) > 0 {
		uprights, err := plotter.NewScatter(marks)
		if err != nil {
			return nil, err
		}
		uprights.GlyphStyle = draw.GlyphStyle{Color: BeforeColour, Shape: upright{}, Radius: form.perBar * 0.42}
		pl.Add(uprights)
	}
	pl.NominalY(names...)
	pl.Y.Tick.Length, pl.Y.LineStyle.Width = 0, 0
	pl.X.Min, pl.X.Max = 0, max(pl.X.Max*1.03, 1)
	pl.Y.Min, pl.Y.Max = -0.6, float64(len(rows))-0.4
	return pl, nil
}

// upright is a mark that stands across a bar, with a light edge to be seen on it.
type upright struct{}

// DrawGlyph draws it; it implements draw.GlyphDrawer.
func (upright) DrawGlyph(c *draw.Canvas, s draw.GlyphStyle, at vg.Point) {
	for _, line := range []draw.LineStyle{{Color: sheetColour, Width: 4.5}, {Color: s.Color, Width: 2}} {
		c.StrokeLine2(line, at.X, at.Y-s.Radius, at.X, at.Y+s.Radius)
	}
}
