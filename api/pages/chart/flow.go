package chart

import (
	"bytes"
	"cmp"
	"fmt"
	"html"
	"image/color"
	"slices"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/domain/trace"
)

// Measures of a flow diagram, in points.
const (
	diagramWidth  = 690
	diagramColumn = 105 // at the least
	diagramGap    = 15
	diagramLeast  = 200
	diagramBar    = 8
	diagramText   = 9.5
	// diagramOff is how far a name stands off its bar, and off the next one.
	diagramOff = 3
)

// width is that of the whole: what a page takes, and more where there are many
// columns.
func (g *diagram) width() float64 {
	return float64(max(diagramWidth, diagramColumn*g.Columns))
}

// labelOf names a node and its honey, as long as fits between its bar and the next.
func (g *diagram) labelOf(node *trace.Node, style text.Style) string {
	room := vg.Length(g.width()/float64(max(g.Columns, 2))) - diagramBar - 2*diagramOff
	mass := " " + g.f.Grams(node.Grams)
	return fitting(style, node.Said.In(g.f), room-style.Width(mass)) + mass
}

// Bands are pale, so that names can be read on them; honey of no entry is told
// from other honey by its colour and by the name of where it starts.
var (
	flowColour        = color.NRGBA{BarColour.R, BarColour.G, BarColour.B, 0x4d}
	unexplainedColour = color.NRGBA{BeforeColour.R, BeforeColour.G, BeforeColour.B, 0x59}
)

// diagram lays a drawing out for the library.
type diagram struct {
	*trace.Drawing
	f locale.Voice
	// columns are the nodes from the bottom up, by column.
	columns [][]int
	// place is where in its column a node stands, from 0 to 1.
	place  []float64
	height float64
	// perPoint is how many grams a point of height stands for.
	perPoint float64
}

// Flows draws places as bars in columns, and between them bands as wide as
// their honey.
func Flows(f locale.Voice, d *trace.Drawing) ([]byte, error) {
	g := &diagram{Drawing: d, f: f}
	g.arrange()
	pl := plot.New()
	pl.BackgroundColor = nil
	pl.HideAxes()
	if len(d.Bands) > 0 {
		sankey, err := plotter.NewSankey(g.flows()...)
		if err != nil {
			return nil, fmt.Errorf("draw the way of honey: %w", err)
		}
		sankey.StockBarWidth = diagramBar
		sankey.FlowStyle, sankey.StockStyle = g.flowStyle, g.stockStyle
		pl.Add(sankey)
	}
	if g.perPoint == 0 {
		g.perPoint = 1
	}
	// Names stand out over the outermost bars.
	pl.X.Min, pl.X.Max, pl.Y.Min, pl.Y.Max = 0, float64(max(d.Columns-1, 1)), -diagramText/2*g.perPoint, (g.height+diagramText/2)*g.perPoint
	svg, err := SVG(pl, vg.Length(g.width()), vg.Length(g.height)+2*diagramGap)
	if err != nil {
		return nil, err
	}
	return titled(svg, f.Say("The way of honey: %s, in %s, as of entry %s", d.Name, f.Mass, d.Through)), nil
}

// titled gives a drawing its name for those who hear it read.
func titled(svg []byte, title string) []byte {
	open := bytes.Index(svg, []byte("<svg"))
	end := open + bytes.IndexByte(svg[open:], '>') + 1
	return slices.Concat(svg[:end], []byte("\n<title>"+html.EscapeString(title)+"</title>"), svg[end:])
}

// arrange puts each node across from where its honey comes from, and sets the
// scale by the fullest column.
func (g *diagram) arrange() {
	g.columns, g.place = make([][]int, g.Columns), make([]float64, len(g.Nodes))
	for i := len(g.Nodes) - 1; i >= 0; i-- {
		c := g.Nodes[i].Column
		g.columns[c] = append(g.columns[c], i)
	}
	most := 0
	for _, column := range g.columns {
		from := make(map[int]float64, len(column))
		for k, n := range column {
			from[n] = g.cameFrom(n, float64(k)/float64(len(column)))
		}
		slices.SortStableFunc(column, func(a, b int) int { return cmp.Compare(from[a], from[b]) })
		for k, n := range column {
			g.place[n] = (float64(k) + 0.5) / float64(len(column))
		}
		most = max(most, len(column))
	}
	g.height = float64(max(diagramLeast, 2*most*diagramGap))
	for _, column := range g.columns {
		g.perPoint = max(g.perPoint, g.grams(column)/(g.height-float64((len(column)-1)*diagramGap)))
	}
}

// cameFrom is the mean place of what leads to a node; as given where nothing
// does.
func (g *diagram) cameFrom(n int, otherwise float64) float64 {
	var sum, weight float64
	for _, b := range g.Bands {
		if b.To == n {
			sum += float64(b.Grams) * g.place[b.From]
			weight += float64(b.Grams)
		}
	}
	if weight == 0 {
		return otherwise
	}
	return sum / weight
}

func (g *diagram) grams(column []int) (sum float64) {
	for _, n := range column {
		sum += float64(g.Nodes[n].Grams)
	}
	return sum
}

// apart is the group of the flows that keep bars apart: the library stacks what
// it is given without a gap. They lead to a column beyond the drawing.
const apart = "apart"

// flows are the bands as the library takes them. What comes first stands lowest.
func (g *diagram) flows() []plotter.Flow {
	var out []plotter.Flow
	hold := func(label string, column int, grams float64) {
		out = append(out, plotter.Flow{SourceLabel: label, SourceCategory: column, ReceptorLabel: apart, ReceptorCategory: g.Columns + 1, Value: grams, Group: apart})
	}
	for c, column := range g.columns {
		gaps := float64(len(column)-1) * diagramGap * g.perPoint
		hold(apart, c, max(0, g.height*g.perPoint-g.grams(column)-gaps)/2)
		for k, n := range column {
			hold(strconv.Itoa(n), c, 0)
			if k < len(column)-1 {
				hold(apart+strconv.Itoa(k), c, diagramGap*g.perPoint)
			}
		}
	}
	bands := slices.Clone(g.Bands)
	slices.SortFunc(bands, func(a, b trace.Band) int {
		return cmp.Or(cmp.Compare(g.Nodes[a.From].Column, g.Nodes[b.From].Column), cmp.Compare(g.place[a.From], g.place[b.From]), cmp.Compare(g.place[a.To], g.place[b.To]))
	})
	for _, b := range bands {
		from, to := g.Nodes[b.From], g.Nodes[b.To]
		group := ""
		if from.Kind == "" {
			group = from.Name
		}
		out = append(out, plotter.Flow{SourceLabel: strconv.Itoa(b.From), SourceCategory: from.Column,
			ReceptorLabel: strconv.Itoa(b.To), ReceptorCategory: to.Column, Value: float64(b.Grams), Group: group})
	}
	return out
}

func (g *diagram) flowStyle(group string) (color.Color, draw.LineStyle) {
	switch group {
	case apart:
		return nil, draw.LineStyle{}
	case "":
		return flowColour, draw.LineStyle{}
	}
	return unexplainedColour, draw.LineStyle{}
}

func (g *diagram) stockStyle(label string, _ int) (name string, style text.Style, x, y vg.Length, fill color.Color, line draw.LineStyle) {
	style = letters(diagramText)
	style.YAlign = draw.YCenter
	n, err := strconv.Atoi(label)
	if err != nil {
		return "", style, 0, 0, nil, line
	}
	return g.labelOf(&g.Nodes[n], style), style, diagramBar/2 + diagramOff, 0, BarColour, line
}
