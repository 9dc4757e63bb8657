package certificate

import (
	"bytes"
	"fmt"
	"image/color"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// HeatSeries is how warm a place was while a lot's honey was there.
type HeatSeries struct {
	name     string
	from, to time.Time
	points   plotter.XYs // seconds since 1970, degrees Celsius
	low      float64
	high     float64
}

// shown are the points in the outfit's unit.
func (h HeatSeries) shown(f locale.Voice) plotter.XYs {
	out := make(plotter.XYs, len(h.points))
	for i, p := range h.points {
		out[i] = plotter.XY{X: p.X, Y: f.Degrees(p.Y)}
	}
	return out
}

func (h HeatSeries) words(f locale.Voice) string {
	return f.Say("%s, %s: %s to %s", h.name, Span(f, h.from, h.to), message.Celsius(h.low), message.Celsius(h.high))
}

const (
	// beforeFilling is how long before a lot's first fill its tanks are shown.
	beforeFilling = 7 * 24 * time.Hour
	heatPoints    = 300
	// mostHeatedTanks are drawn, of those that a lot was filled from.
	mostHeatedTanks = 3
)

// HeatingOf is how warm the tanks that a lot was filled from were in the week
// before and while it was filled, and its store since; by the places' meters,
// which take the usual temperature where none was logged.
func HeatingOf(s *request.Service, b *ledger.Book, r *season.LotReport) []HeatSeries {
	if len(r.Containers) == 0 {
		return nil
	}
	var out []HeatSeries
	seen := map[ledger.ID]bool{}
	for _, c := range r.Containers {
		if !seen[c.TankID] && len(seen) < mostHeatedTanks {
			seen[c.TankID] = true
			out = append(out, heatOf(b, c.TankID, c.Tank, r.FirstFill.Add(-beforeFilling), lastFrom(r, c.TankID)))
		}
	}
	if until := hereUntil(s, r); r.StoreID != (ledger.ID{}) && until.After(r.FirstFill) {
		out = append(out, heatOf(b, r.StoreID, b.Name(r.StoreID), r.FirstFill, until))
	}
	return out
}

func lastFrom(r *season.LotReport, tank ledger.ID) time.Time {
	last := r.FirstFill
	for _, c := range r.Containers {
		if c.TankID == tank && c.FilledAt.After(last) {
			last = c.FilledAt
		}
	}
	return last
}

// hereUntil is when the last container left; now while one is here.
func hereUntil(s *request.Service, r *season.LotReport) time.Time {
	var last time.Time
	for _, c := range r.Containers {
		if c.GoneAt.IsZero() {
			return s.Now()
		}
		if c.GoneAt.After(last) {
			last = c.GoneAt
		}
	}
	return last
}

func heatOf(b *ledger.Book, place ledger.ID, name string, from, to time.Time) HeatSeries {
	m := b.Meter(place)
	h := HeatSeries{name: name, from: from, to: to, points: make(plotter.XYs, heatPoints+1)}
	for i := range h.points {
		at := from.Add(time.Duration(float64(to.Sub(from)) * float64(i) / heatPoints))
		t := m.TemperatureC(at)
		h.points[i] = plotter.XY{X: float64(at.Unix()), Y: t}
		if i == 0 {
			h.low, h.high = t, t
		}
		h.low, h.high = min(h.low, t), max(h.high, t)
	}
	return h
}

// heatStyles tell places apart by dashes as well as by colour.
var heatStyles = []draw.LineStyle{
	{Color: chart.BarColour, Width: 1.6},
	{Color: chart.BeforeColour, Width: 1.6, Dashes: []vg.Length{5, 2}},
	{Color: chart.InkColour, Width: 1.6, Dashes: []vg.Length{1.5, 2}},
	{Color: color.RGBA{0x6b, 0x5b, 0x95, 0xff}, Width: 1.6, Dashes: []vg.Length{7, 2, 1.5, 2}},
}

const heatingHeight = 150

func heatingPlot(f locale.Voice, series []HeatSeries) (*plot.Plot, error) {
	pl := chart.Framed(chart.Wide, f, f.Temperature)
	for i, h := range series {
		line, err := plotter.NewLine(h.shown(f))
		if err != nil {
			return nil, fmt.Errorf("plot of %s: %w", h.name, err)
		}
		line.LineStyle = heatStyles[i]
		pl.Add(line)
		pl.Legend.Add(chart.Wide.Fit(h.name), line)
	}
	pl.Legend.Padding = chart.Wide.TextSize
	pl.Legend.Top, pl.Legend.TextStyle = true, pl.X.Tick.Label
	pl.Legend.TextStyle.XAlign, pl.Legend.TextStyle.YAlign = draw.XLeft, draw.YCenter
	pl.X.Label.Text = ""
	pl.X.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return chart.DayTicks(f, chart.Wide, low, high) })
	chart.RoomAround(&pl.Y, 10)
	return pl, nil
}

// HeatingSVG draws how warm the honey of a lot was.
func HeatingSVG(f locale.Voice, series []HeatSeries) ([]byte, error) {
	pl, err := heatingPlot(f, series)
	if err != nil {
		return nil, err
	}
	return chart.SVG(pl, chart.Wide.Width, heatingHeight)
}

func heatingPNG(f locale.Voice, series []HeatSeries) ([]byte, error) {
	pl, err := heatingPlot(f, series)
	if err != nil {
		return nil, err
	}
	c := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(chart.Wide.Width, heatingHeight), vgimg.UseDPI(200))}
	pl.Draw(draw.New(c))
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("draw the heating: %w", err)
	}
	return out.Bytes(), nil
}
