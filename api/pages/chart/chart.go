// Package chart draws figures of the book as SVG.
package chart

import (
	"bytes"
	"fmt"
	"image/color"
	"slices"
	"sort"
	"unicode/utf8"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"pullbook/api/locale"
	"pullbook/domain/message"
)

// Form is how large a chart is drawn: at a point of 4/3 CSS pixels it
// comes out with text of a readable size where it is shown.
type Form struct {
	Width, perBar, TextSize vg.Length
	// names is how long a name may be beside what it names.
	names vg.Length
	// circle is the radius of the largest circle of a map.
	circle vg.Length
	// ticks is about how many marks the scale has.
	ticks int
}

var (
	Wide   = Form{Width: 690, perBar: 12.5, TextSize: 9, names: 150, circle: 26, ticks: 8}
	Narrow = Form{Width: 252, perBar: 16, TextSize: 9.5, names: 84, circle: 13, ticks: 3}
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

// SVG draws a plot as SVG.
func SVG(pl *plot.Plot, width, height vg.Length) ([]byte, error) {
	return drawn(width, height, func(c draw.Canvas) { pl.Draw(within(c)) })
}

// columnOf draws plots one above another, with scales that begin at the same place.
func columnOf(plots []*plot.Plot, width, height vg.Length, tiles draw.Tiles) ([]byte, error) {
	tiles.Rows, tiles.Cols = len(plots), 1
	rows := make([][]*plot.Plot, len(plots))
	for i, pl := range plots {
		rows[i] = []*plot.Plot{pl}
	}
	return drawn(width, height, func(c draw.Canvas) {
		for i, row := range plot.Align(rows, tiles, within(c)) {
			plots[i].Draw(row[0])
		}
	})
}

// within leaves the edge free: the library has the first letters of a scale begin on it, and
// some go over.
func within(c draw.Canvas) draw.Canvas {
	const edge = 2
	return draw.Crop(c, edge, -edge, edge, -edge)
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

// Fit cuts a name to what there is room for beside what it names.
func (form Form) Fit(name string) string { return fitting(letters(form.TextSize), name, form.names) }

// fitting is as much of a name as is no longer than the room there is for it.
func fitting(style text.Style, name string, room vg.Length) string {
	if style.Width(name) <= room {
		return name
	}
	// How many letters do not fit grows with how many are taken.
	runes := sort.Search(utf8.RuneCountInString(name), func(n int) bool { return style.Width(message.Shortened(name, n+1)) > room })
	return message.Shortened(name, max(runes, 1))
}

// letters are those of names and figures in a drawing.
func letters(size vg.Length) text.Style {
	return text.Style{Color: InkColour, Font: font.From(font.Font{Typeface: "Liberation", Variant: "Sans"}, size), Handler: plot.DefaultTextHandler}
}
