package api

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
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// heatSeries is how warm a place was while a lot's honey was there.
type heatSeries struct {
	name     string
	from, to time.Time
	points   plotter.XYs // seconds since 1970, degrees Celsius
	low      float64
	high     float64
}

// shown are the points in the outfit's unit.
func (h heatSeries) shown(f locale.Voice) plotter.XYs {
	out := make(plotter.XYs, len(h.points))
	for i, p := range h.points {
		out[i] = plotter.XY{X: p.X, Y: f.Degrees(p.Y)}
	}
	return out
}

func (h heatSeries) words(f locale.Voice) string {
	return f.Say("%s, %s: %s to %s", h.name, span(f, h.from, h.to), message.Celsius(h.low), message.Celsius(h.high))
}

const (
	// beforeFilling is how long before a lot's first fill its tanks are shown.
	beforeFilling = 7 * 24 * time.Hour
	heatPoints    = 300
	// mostHeatedTanks are drawn, of those that a lot was filled from.
	mostHeatedTanks = 3
)

// heatingOf is how warm the tanks that a lot was filled from were in the week
// before and while it was filled, and its store since; by the places' meters,
// which take the usual temperature where none was logged.
func (s *Server) heatingOf(b *ledger.Book, r *season.LotReport) []heatSeries {
	if len(r.Containers) == 0 {
		return nil
	}
	var out []heatSeries
	seen := map[ledger.ID]bool{}
	for _, c := range r.Containers {
		if !seen[c.TankID] && len(seen) < mostHeatedTanks {
			seen[c.TankID] = true
			out = append(out, heatOf(b, c.TankID, c.Tank, r.FirstFill.Add(-beforeFilling), lastFrom(r, c.TankID)))
		}
	}
	if until := s.hereUntil(r); r.StoreID != (ledger.ID{}) && until.After(r.FirstFill) {
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
func (s *Server) hereUntil(r *season.LotReport) time.Time {
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

func heatOf(b *ledger.Book, place ledger.ID, name string, from, to time.Time) heatSeries {
	m := b.Meter(place)
	h := heatSeries{name: name, from: from, to: to, points: make(plotter.XYs, heatPoints+1)}
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
	{Color: barColour, Width: 1.6},
	{Color: beforeColour, Width: 1.6, Dashes: []vg.Length{5, 2}},
	{Color: inkColour, Width: 1.6, Dashes: []vg.Length{1.5, 2}},
	{Color: color.RGBA{0x6b, 0x5b, 0x95, 0xff}, Width: 1.6, Dashes: []vg.Length{7, 2, 1.5, 2}},
}

const heatingHeight = 150

func heatingPlot(f locale.Voice, series []heatSeries) (*plot.Plot, error) {
	pl := framedPlot(wideChart, f, f.Temperature)
	for i, h := range series {
		line, err := plotter.NewLine(h.shown(f))
		if err != nil {
			return nil, fmt.Errorf("plot of %s: %w", h.name, err)
		}
		line.LineStyle = heatStyles[i]
		pl.Add(line)
		pl.Legend.Add(message.Shortened(h.name, wideChart.nameRunes), line)
	}
	pl.Legend.Padding = wideChart.textSize
	pl.Legend.Top, pl.Legend.TextStyle = true, pl.X.Tick.Label
	pl.Legend.TextStyle.XAlign, pl.Legend.TextStyle.YAlign = draw.XLeft, draw.YCenter
	pl.X.Label.Text = ""
	pl.X.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return dayTicks(f, low, high) })
	roomAround(&pl.Y, 10)
	return pl, nil
}

// dayTicks marks some days between two instants, at midnight.
func dayTicks(f locale.Voice, low, high float64) []plot.Tick {
	first, last := time.Unix(int64(low), 0).In(f.Zone), time.Unix(int64(high), 0)
	every := max(1, int(last.Sub(first).Hours()/24/float64(wideChart.ticks)+0.5))
	y, m, d := first.Date()
	var out []plot.Tick
	for at := time.Date(y, m, d+1, 0, 0, 0, 0, f.Zone); !at.After(last); at = at.AddDate(0, 0, every) {
		out = append(out, plot.Tick{Value: float64(at.Unix()), Label: f.DayInYear(at)})
	}
	return out
}

func heatingSVG(f locale.Voice, series []heatSeries) ([]byte, error) {
	pl, err := heatingPlot(f, series)
	if err != nil {
		return nil, err
	}
	return drawn(pl, wideChart.width, heatingHeight)
}

func heatingPNG(f locale.Voice, series []heatSeries) ([]byte, error) {
	pl, err := heatingPlot(f, series)
	if err != nil {
		return nil, err
	}
	c := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(wideChart.width, heatingHeight), vgimg.UseDPI(200))}
	pl.Draw(draw.New(c))
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("draw the heating: %w", err)
	}
	return out.Bytes(), nil
}
