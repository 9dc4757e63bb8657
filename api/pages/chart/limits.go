package chart

import (
	"math"
	"slices"
	"unicode/utf8"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/domain/message"
)

// LimitGroup is what one rule set says of a lot.
type LimitGroup struct {
	Name  string
	Lines []LimitLine
}

// LimitLine is one limit with what a lot has against it. Figures are in the limit's own unit.
type LimitLine struct {
	// Answer says what and how it is, Figures the value and the limit.
	Answer, Figures string
	// Low and High are the ends of what the limit accepts; nil where it is open there. Both are nil
	// where it is about no figure, and then no bar is drawn.
	Low, High *float64
	// Has is what the lot has; nil where nothing was measured.
	Has *Has
}

// Has is a figure of a lot: from From to To, which differ where it is only known to be less than To, or
// was carried on from an earlier day. Either may be off by Off, and is less 95 times in 100.
type Has struct{ From, To, Off float64 }

// Sizes of the strip of limits, in points.
const (
	limitBar   = 9
	limitRoom  = 4
	limitGap   = 9
	limitEdge  = 2
	limitDot   = 3
	overLimits = 1.15 // how much further than the furthest figure a bar goes
)

// mostLimits are drawn; the tables have all.
const mostLimits = 40

// Limits draws each limit as a bar: what it accepts is filled, and a dot with a line to both sides
// is what the lot has. Each has its answer in words.
func Limits(form Form, groups []LimitGroup) ([]byte, error) {
	groups = firstLimits(groups)
	d := limitsDrawing{form: form, style: letters(form.TextSize), line: form.TextSize * 1.35}
	d.lines = 1
	if form.Width < Wide.Width {
		d.lines = 2
	}
	height := vg.Length(limitGap)
	for _, g := range groups {
		height += d.line + limitRoom
		for _, l := range g.Lines {
			height += d.height(l)
		}
	}
	return drawn(form.Width, height, func(c draw.Canvas) {
		d.Canvas, d.y = c, height
		for _, g := range groups {
			d.write(0, g.Name)
			d.y -= limitRoom
			for _, l := range g.Lines {
				d.draw(l)
			}
		}
	})
}

func firstLimits(groups []LimitGroup) (out []LimitGroup) {
	left := mostLimits
	for _, g := range groups {
		g.Lines = g.Lines[:min(left, len(g.Lines))]
		if left -= len(g.Lines); len(g.Lines) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// limitsDrawing is a strip of limits being drawn, from the top down to y.
type limitsDrawing struct {
	draw.Canvas
	form  Form
	style text.Style
	// line is how high a line of text is, lines how many a limit has.
	line  vg.Length
	lines int
	y     vg.Length
}

func (d *limitsDrawing) height(l LimitLine) vg.Length {
	height := d.line*vg.Length(d.lines) + limitGap
	if l.Low != nil || l.High != nil {
		height += limitRoom + limitBar
	}
	return height
}

// write writes a line of text, cut to the width.
func (d *limitsDrawing) write(x vg.Length, says string) {
	d.y -= d.line
	room := d.form.Width - x - limitEdge
	for runes := utf8.RuneCountInString(says); d.style.Width(says) > room && runes > 1; runes-- {
		says = message.Shortened(says, runes)
	}
	d.FillText(d.style, vg.Point{X: x, Y: d.y + d.line*0.25}, says)
}

// indent is how far limits stand in from the name of their rule set.
const indent = 8

func (d *limitsDrawing) draw(l LimitLine) {
	if d.lines == 1 {
		d.write(indent, l.Answer+" · "+l.Figures)
	} else {
		d.write(indent, l.Answer)
		d.write(indent, l.Figures)
	}
	if l.Low != nil || l.High != nil {
		d.y -= limitRoom + limitBar
		d.bar(l)
	}
	d.y -= limitGap
}

// bar draws what a limit accepts and what the lot has, from the lowest figure that matters on.
func (d *limitsDrawing) bar(l LimitLine) {
	low, high := l.span()
	left, right := vg.Length(indent), d.form.Width-limitEdge
	at := func(v float64) vg.Length {
		return left + (right-left)*vg.Length((math.Min(math.Max(v, low), high)-low)/(high-low))
	}
	from, to := left, right
	if l.Low != nil {
		from = at(*l.Low)
	}
	if l.High != nil {
		to = at(*l.High)
	}
	top, middle := d.y+limitBar, d.y+limitBar/2.0
	d.SetColor(bandColour)
	d.Fill(rectangle(from, d.y, to, top))
	d.StrokeLine2(draw.LineStyle{Color: InkColour, Width: 0.8}, left, d.y, right, d.y)
	for end, x := range map[*float64]vg.Length{l.Low: from, l.High: to} {
		if end != nil {
			d.StrokeLine2(draw.LineStyle{Color: InkColour, Width: 2}, x, d.y-2, x, top+2)
		}
	}
	if l.Has == nil {
		return
	}
	begins, ends := at(l.Has.From-l.Has.Off), at(l.Has.To+l.Has.Off)
	line := draw.LineStyle{Color: BeforeColour, Width: 1.6}
	d.StrokeLine2(line, begins, middle, ends, middle)
	for _, x := range []vg.Length{begins, ends} {
		d.StrokeLine2(line, x, middle-limitDot, x, middle+limitDot)
	}
	if l.Has.From == l.Has.To {
		ringed{}.DrawGlyph(&d.Canvas, draw.GlyphStyle{Color: BeforeColour, Radius: limitDot}, vg.Point{X: at(l.Has.To), Y: middle})
		return
	}
	d.StrokeLine2(draw.LineStyle{Color: BeforeColour, Width: 4}, at(l.Has.From), middle, at(l.Has.To), middle)
}

// span is what a bar shows: from nothing, or from shortly below a range, until beyond its last figure.
func (l LimitLine) span() (low, high float64) {
	var figures []float64
	for _, v := range []*float64{l.Low, l.High} {
		if v != nil {
			figures = append(figures, *v)
		}
	}
	if l.Has != nil {
		figures = append(figures, l.Has.From-l.Has.Off, l.Has.To+l.Has.Off)
	}
	low, high = slices.Min(figures), slices.Max(figures)
	if l.Low == nil || l.High == nil {
		low = math.Min(low, 0)
	}
	beyond := (overLimits - 1) * math.Max(high-low, 1e-9)
	if low != 0 {
		low -= beyond
	}
	return low, high + beyond
}

func rectangle(left, bottom, right, top vg.Length) (path vg.Path) {
	path.Move(vg.Point{X: left, Y: bottom})
	path.Line(vg.Point{X: right, Y: bottom})
	path.Line(vg.Point{X: right, Y: top})
	path.Line(vg.Point{X: left, Y: top})
	path.Close()
	return path
}
