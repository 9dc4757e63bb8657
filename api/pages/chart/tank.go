package chart

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/domain/estimate"
	"pullbook/domain/ledger"
)

// HMFQuantity names HMF, in mg/kg, among the quantities of a reading.
const HMFQuantity = "hmf_mg_per_kg"

// Sizes of a tank's story.
const (
	// tankGrid is how many even moments its curves have.
	tankGrid = 240
	// temperatureGrid is finer: a warm night must show in a season.
	temperatureGrid = 1200
	panelHeight     = 105
	// bandSDs is how many standard deviations a band is wide either way: 95 of
	// 100 honeys would lie within.
	bandSDs = 1.96
)

// NewTank takes from a book what a tank's story from one moment until another shows.
func NewTank(form Form, b *ledger.Book, tank ledger.ID, from, until time.Time) *Tank {
	moments := b.Course(tank, from, until, tankGrid)
	if first, last, ok := busy(moments); ok {
		from, until = first, last
		moments = b.Course(tank, from, until, tankGrid)
	}
	return &Tank{form: form, from: from, until: until, moments: moments, meter: b.Meter(tank)}
}

// busy is from when until when a tank held honey or something happened to it, with a
// little time around.
func busy(moments []ledger.Moment) (first, last time.Time, ok bool) {
	idle := func(m ledger.Moment) bool { return m.Of == nil && m.Grams == 0 }
	begin := slices.IndexFunc(moments, func(m ledger.Moment) bool { return !idle(m) })
	if begin < 0 {
		return first, last, false
	}
	end := len(moments) - 1
	for idle(moments[end]) {
		end--
	}
	from, until := moments[0].At, moments[len(moments)-1].At
	first, last = moments[begin].At, moments[end].At
	around := max(last.Sub(first)/50, time.Hour)
	if first = first.Add(-around); first.Before(from) {
		first = from
	}
	if last = last.Add(around); last.After(until) {
		last = until
	}
	return first, last, true
}

// SVG draws the story for a reader; it needs no book.
func (c *Tank) SVG(f locale.Voice) ([]byte, error) {
	drawn := *c
	drawn.f = f
	var panels []*plot.Plot
	for _, one := range []func() (*plot.Plot, error){drawn.level, drawn.moisture, drawn.temperature, drawn.hmf} {
		pl, err := one()
		if err != nil {
			return nil, fmt.Errorf("story of a tank: %w", err)
		}
		panels = append(panels, pl)
	}
	return columnOf(panels, c.form.Width, panelHeight*vg.Length(len(panels)), draw.Tiles{PadY: 8, PadRight: 2 * c.form.TextSize, PadTop: 4})
}

// Tank draws the panels of one story.
type Tank struct {
	form        Form
	f           locale.Voice
	from, until time.Time
	moments     []ledger.Moment
	meter       interface{ TemperatureC(time.Time) float64 }
}

func (c *Tank) panel(quantity string) *plot.Plot {
	pl := Framed(c.form, c.f, quantity)
	pl.X.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return timeTicks(c.f, c.form, low, high, calendars) })
	pl.Y.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return levelTicks(c.f, low, high) })
	pl.X.Min, pl.X.Max = seconds(c.from), seconds(c.until)
	return pl
}

// levelTicks marks a scale at round figures, with a place after the mark where
// they need one.
func levelTicks(f locale.Voice, low, high float64) []plot.Tick {
	var out []plot.Tick
	for _, t := range (plot.DefaultTicks{}).Ticks(low, high) {
		if t.IsMinor() {
			continue
		}
		places := 0
		if math.Abs(t.Value-math.Round(t.Value)) > 1e-9 {
			places = 1
		}
		t.Label = f.Number(t.Value, places)
		out = append(out, t)
	}
	return out
}

// level is what the tank holds, filled down to nothing.
func (c *Tank) level() (*plot.Plot, error) {
	pl := c.panel(c.f.Mass)
	line := make(plotter.XYs, 0, len(c.moments)+2)
	for _, m := range c.moments {
		line = append(line, plotter.XY{X: seconds(m.At), Y: float64(m.Grams) / c.f.GramsPerUnit})
	}
	if err := addArea(pl, line); err != nil {
		return nil, err
	}
	pl.Y.Min, pl.Y.Max = 0, math.Max(pl.Y.Max*1.05, 1)
	return pl, nil
}

func addArea(pl *plot.Plot, line plotter.XYs) error {
	if len(line) < 2 {
		return nil
	}
	around := append(plotter.XYs{{X: line[0].X}}, line...)
	around = append(around, plotter.XY{X: line[len(line)-1].X})
	return addBand(pl, around, line, BarColour, 1.6)
}

func (c *Tank) moisture() (*plot.Plot, error) {
	pl := c.panel(c.f.Say("moisture, %%"))
	err := c.banded(pl, func(b *ledger.Belief) estimate.Estimate { return b.Moisture })
	if err != nil {
		return nil, err
	}
	err = c.points(pl, func(r *ledger.Reading) (float64, bool) {
		if r.Moisture == nil {
			return 0, false
		}
		return r.Moisture.Pct, true
	})
	if pl.Y.Max < pl.Y.Min { // nothing to draw: a scale that honey is on
		pl.Y.Min, pl.Y.Max = 16, 18
	}
	RoomAround(&pl.Y, 2)
	return pl, err
}

func (c *Tank) hmf() (*plot.Plot, error) {
	pl := c.panel(c.f.Say("HMF, mg/kg"))
	if err := c.banded(pl, func(b *ledger.Belief) estimate.Estimate { return b.HMF() }); err != nil {
		return nil, err
	}
	err := c.points(pl, func(r *ledger.Reading) (float64, bool) {
		for _, m := range r.Measured {
			if m.Quantity == HMFQuantity {
				return m.Value, true
			}
		}
		return 0, false
	})
	pl.Y.Min, pl.Y.Max = 0, math.Max(pl.Y.Max*1.05, 5)
	return pl, err
}

// temperature is that of the tank as the book takes it, full or empty.
func (c *Tank) temperature() (*plot.Plot, error) {
	pl := c.panel(c.f.Temperature)
	line := make(plotter.XYs, 0, temperatureGrid+1)
	for i := range temperatureGrid + 1 {
		at := c.from.Add(time.Duration(float64(c.until.Sub(c.from)) * float64(i) / temperatureGrid))
		line = append(line, plotter.XY{X: seconds(at), Y: c.f.Degrees(c.meter.TemperatureC(at))})
	}
	curve, err := plotter.NewLine(line)
	if err != nil {
		return nil, err
	}
	curve.Color, curve.Width = BeforeColour, 1.6
	pl.Add(curve)
	RoomAround(&pl.Y, 10)
	return pl, nil
}

// banded draws an estimate as a line in its band, with gaps where the tank is
// empty.
func (c *Tank) banded(pl *plot.Plot, of func(*ledger.Belief) estimate.Estimate) error {
	var low, high, middle plotter.XYs
	flush := func() error {
		defer func() { low, high, middle = nil, nil, nil }()
		if len(middle) < 2 {
			return nil
		}
		slices.Reverse(high)
		return addBand(pl, append(low, high...), middle, InkColour, 1.4)
	}
	for _, m := range c.moments {
		if m.Belief == nil {
			if err := flush(); err != nil {
				return err
			}
			continue
		}
		e, x := of(m.Belief), seconds(m.At)
		wide := bandSDs * e.StandardDeviation()
		low = append(low, plotter.XY{X: x, Y: math.Max(0, e.Mean-wide)})
		high = append(high, plotter.XY{X: x, Y: e.Mean + wide})
		middle = append(middle, plotter.XY{X: x, Y: e.Mean})
	}
	return flush()
}

// points marks what was read.
func (c *Tank) points(pl *plot.Plot, of func(*ledger.Reading) (float64, bool)) error {
	var at plotter.XYs
	for _, m := range c.moments {
		if m.Of == nil {
			continue
		}
		if r, ok := m.Of.Body.(*ledger.Reading); ok {
			if v, ok := of(r); ok {
				at = append(at, plotter.XY{X: seconds(m.At), Y: v})
			}
		}
	}
	if len(at) == 0 {
		return nil
	}
	return dots(pl, at, 2.6)
}

// dots marks points that were read.
func dots(pl *plot.Plot, at plotter.XYer, radius vg.Length) error {
	marks, err := plotter.NewScatter(at)
	if err != nil {
		return err
	}
	marks.GlyphStyle = draw.GlyphStyle{Color: BeforeColour, Shape: ringed{}, Radius: radius}
	pl.Add(marks)
	return nil
}

// ringed is a dot with a light edge, to be seen on a band and on a line.
type ringed struct{}

// DrawGlyph draws it; it implements draw.GlyphDrawer.
func (ringed) DrawGlyph(c *draw.Canvas, s draw.GlyphStyle, at vg.Point) {
	disc(c, at, sheetColour, 1.45*s.Radius)
	disc(c, at, s.Color, s.Radius)
}

func disc(c *draw.Canvas, at vg.Point, colour color.Color, radius vg.Length) {
	c.SetColor(colour)
	c.Fill(circle(at, radius))
}

func circle(at vg.Point, radius vg.Length) (path vg.Path) {
	path.Move(vg.Point{X: at.X + radius, Y: at.Y})
	path.Arc(at, radius, 0, 2*math.Pi)
	path.Close()
	return path
}
