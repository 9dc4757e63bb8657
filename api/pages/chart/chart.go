// Package chart draws figures of the book as SVG.
package chart

import (
	"bytes"
	"fmt"
	"image/color"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"pullbook/api/locale"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// Form is how large a chart is drawn: at a point of 4/3 CSS pixels it
// comes out with text of a readable size where it is shown.
type Form struct {
	Width, perBar, TextSize vg.Length
	// NameRunes is how much of a name fits.
	NameRunes int
	// ticks is about how many marks the scale has.
	ticks int
}

var (
	Wide   = Form{Width: 690, perBar: 12.5, TextSize: 9, NameRunes: 30, ticks: 8}
	Narrow = Form{Width: 252, perBar: 16, TextSize: 9.5, NameRunes: 14, ticks: 3}
)

// Colours of drawings, as in style.css; each is told from the next by its
// lightness and its shape too.
var (
	InkColour    = color.RGBA{0x1d, 0x2a, 0x33, 0xff}
	sheetColour  = color.RGBA{0xfd, 0xfd, 0xfb, 0xff}
	ruleColour   = color.RGBA{0xc9, 0xd3, 0xcf, 0xff}
	BarColour    = color.RGBA{0x2b, 0x66, 0x6d, 0xff}
	BeforeColour = color.RGBA{0x8f, 0x36, 0x1d, 0xff}
)

// mostBars are drawn, of the yards that gave most.
const mostBars = 40

// BarsByYard draws each yard's honey as a bar, and what it gave in the season
// before as an upright mark.
func BarsByYard(form Form, f locale.Voice, r *season.Report) ([]byte, error) {
	yards := slices.Clone(r.Yards[:min(len(r.Yards), mostBars)])
	slices.Reverse(yards) // The first yard stands at the top.
	values, before := make(plotter.Values, len(yards)), plotter.XYs{}
	names := make([]string, len(yards))
	for i, y := range yards {
		values[i] = float64(y.HoneyG) / f.GramsPerUnit
		names[i] = message.Shortened(y.Name, form.NameRunes)
		if y.LastSeason != nil && y.LastSeason.HoneyG > 0 {
			before = append(before, plotter.XY{X: float64(y.LastSeason.HoneyG) / f.GramsPerUnit, Y: float64(i)})
		}
	}
	pl := plainPlot(form, f)
	if len(yards) == 0 {
		return SVG(pl, form.Width, 6*form.perBar)
	}
	bars, err := plotter.NewBarChart(values, form.perBar*0.6)
	if err != nil {
		return nil, fmt.Errorf("chart of yards: %w", err)
	}
	bars.Horizontal, bars.Color, bars.LineStyle = true, BarColour, draw.LineStyle{}
	pl.Add(bars)
	if len(before) > 0 {
		marks, err := plotter.NewScatter(before)
		if err != nil {
			return nil, fmt.Errorf("chart of yards: %w", err)
		}
		marks.GlyphStyle = draw.GlyphStyle{Color: BeforeColour, Shape: upright{}, Radius: form.perBar * 0.42}
		pl.Add(marks)
	}
	pl.NominalY(names...)
	pl.Y.Tick.Length, pl.Y.LineStyle.Width = 0, 0
	pl.X.Min, pl.X.Max = 0, max(pl.X.Max*1.03, 1)
	pl.Y.Min, pl.Y.Max = -0.6, float64(len(yards))-0.4
	return SVG(pl, form.Width, form.perBar*vg.Length(len(yards))+4*form.TextSize)
}

// plainPlot is a plot in the pages' own style, its scale in the outfit's mass.
func plainPlot(form Form, f locale.Voice) *plot.Plot {
	pl := plot.New()
	pl.BackgroundColor = color.Transparent
	style := letters(form.TextSize)
	for _, axis := range []*plot.Axis{&pl.X, &pl.Y} {
		align := axis.Tick.Label
		axis.Tick.Label = style
		axis.Tick.Label.XAlign, axis.Tick.Label.YAlign = align.XAlign, align.YAlign
		align = axis.Label.TextStyle
		axis.Label.TextStyle = style
		axis.Label.TextStyle.XAlign, axis.Label.TextStyle.YAlign = align.XAlign, align.YAlign
		axis.LineStyle.Color, axis.Tick.LineStyle.Color = InkColour, InkColour
	}
	pl.X.Label.Text = f.Mass
	pl.X.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick {
		return majorTicks(f, low, high, form.ticks)
	})
	grid := plotter.NewGrid()
	grid.Horizontal.Width, grid.Vertical.Color = 0, ruleColour
	pl.Add(grid)
	return pl
}

// majorTicks marks a scale at round figures, written as the page writes them.
func majorTicks(f locale.Voice, low, high float64, about int) []plot.Tick {
	out := fewer(slices.DeleteFunc((plot.DefaultTicks{}).Ticks(low, high), plot.Tick.IsMinor), about)
	places := 0
	if high < 10 {
		places = 1
	}
	for i, t := range out {
		out[i].Label = f.Number(t.Value, places)
	}
	return out
}

// fewer leaves every so manieth mark, about so many of them.
func fewer(all []plot.Tick, about int) (out []plot.Tick) {
	every := max(1, (len(all)+about-1)/about)
	for i := 0; i < len(all); i += every {
		out = append(out, all[i])
	}
	return out
}

// upright is a mark that stands across a bar, with a light edge to be seen on it.
type upright struct{}

// DrawGlyph draws it; it implements draw.GlyphDrawer.
func (upright) DrawGlyph(c *draw.Canvas, s draw.GlyphStyle, at vg.Point) {
	for _, line := range []draw.LineStyle{{Color: sheetColour, Width: 4.5}, {Color: s.Color, Width: 2}} {
		c.StrokeLine2(line, at.X, at.Y-s.Radius, at.X, at.Y+s.Radius)
	}
}

// SVG draws a plot as SVG.
func SVG(pl *plot.Plot, width, height vg.Length) ([]byte, error) {
	return drawn(width, height, func(c draw.Canvas) { pl.Draw(c) })
}

// columnOf draws plots one above another, with scales that begin at the same place.
func columnOf(plots []*plot.Plot, width, height vg.Length, tiles draw.Tiles) ([]byte, error) {
	tiles.Rows, tiles.Cols = len(plots), 1
	rows := make([][]*plot.Plot, len(plots))
	for i, pl := range plots {
		rows[i] = []*plot.Plot{pl}
	}
	return drawn(width, height, func(c draw.Canvas) {
		for i, row := range plot.Align(rows, tiles, c) {
			plots[i].Draw(row[0])
		}
	})
}

// drawn returns what is drawn on a canvas as SVG.
func drawn(width, height vg.Length, on func(draw.Canvas)) ([]byte, error) {
	c := vgsvg.New(width, height)
	on(draw.New(c))
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("draw a chart: %w", err)
	}
	return out.Bytes(), nil
}

// letters are those of names and figures in a drawing.
func letters(size vg.Length) text.Style {
	return text.Style{Color: InkColour, Font: font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, size), Handler: plot.DefaultTextHandler}
}
