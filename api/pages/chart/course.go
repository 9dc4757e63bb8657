package chart

import (
	"cmp"
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

// days is a scale of time on which days stand: its ends, in seconds.
type days struct{ low, high float64 }

const oneDay = 24 * 60 * 60

// hold widens the scale so that a day stands on it with its bar. No day, no scale.
func (d *days) hold(on float64) {
	const edge = 0.6 * oneDay
	if d.high == 0 && d.low == 0 {
		d.low, d.high = on-edge, on+edge
	}
	d.low, d.high = min(d.low, on-edge), max(d.high, on+edge)
}

// dayAt is where a day stands, whatever the outfit's time zone.
func dayAt(on ledger.Date) float64 {
	at, err := on.On(time.UTC)
	if err != nil {
		return 0
	}
	return seconds(at)
}

// plot is a plot over the days.
func (d days) plot(form Form, f locale.Voice, quantity string) *plot.Plot {
	f.Zone = time.UTC // Days have none.
	pl := Framed(form, f, quantity)
	pl.X.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return DayTicks(f, form, low, high) })
	pl.Y.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return levelTicks(f, low, high) })
	pl.X.Min, pl.X.Max = d.low, d.high
	return pl
}

// bars adds a bar for each day with something: as wide as most of the day, but never too
// thin to be seen nor as wide as the drawing.
func (d days) bars(pl *plot.Plot, form Form, heights map[float64]float64) {
	perPoint := (d.high - d.low) / float64(form.across())
	half := min(max(0.4*oneDay, perPoint), 12*perPoint)
	var bins []plotter.HistogramBin
	for on, height := range heights {
		bins = append(bins, plotter.HistogramBin{Min: on - half, Max: on + half, Weight: height})
	}
	slices.SortFunc(bins, func(a, b plotter.HistogramBin) int { return cmp.Compare(a.Min, b.Min) })
	if bins != nil {
		pl.Add(&plotter.Histogram{Bins: bins, Width: 2 * half, FillColor: BarColour})
	}
	pl.X.Min, pl.X.Max = d.low, d.high
	pl.Y.Min, pl.Y.Max = 0, max(pl.Y.Max*1.05, 1)
}

// dot is how large one of so many dots is: the more there are, the smaller.
func (form Form) dot(of int) vg.Length { return min(max(0.6*form.across()/vg.Length(of), 1.5), 2.6) }

// panelsOf draws plots over the same days.
func panelsOf(form Form, plots ...*plot.Plot) ([]byte, error) {
	return columnOf(plots, form.Width, panelHeight*vg.Length(len(plots)), draw.Tiles{PadY: 8, PadRight: 2 * form.TextSize, PadTop: 4})
}

// SeasonCourse draws how a season's honey came in: in sum, beside the season before at the
// same days of the year, over what each day brought.
func SeasonCourse(form Form, f locale.Voice, r *season.Report) ([]byte, error) {
	var d days
	for _, day := range slices.Concat(r.Course.Days, r.Course.Before) {
		d.hold(dayAt(day.On))
	}
	sums, each := d.plot(form, f, f.Say("%s in sum", f.Mass)), d.plot(form, f, f.Say("%s a day", f.Mass))
	if len(r.Course.Before) > 0 {
		before, err := sumLine(f, r.Course.Before, d.low, d.high)
		if err != nil {
			return nil, fmt.Errorf("course of a season: %w", err)
		}
		before.LineStyle = draw.LineStyle{Color: BeforeColour, Width: 1.6, Dashes: []vg.Length{5, 2}}
		sums.Add(before)
		sums.Legend.Add(form.Fit(r.Before.Name), before)
	}
	heights := map[float64]float64{}
	if n := len(r.Course.Days); n > 0 {
		now, err := sumLine(f, r.Course.Days, d.low, dayAt(r.Course.Days[n-1].On))
		if err != nil {
			return nil, fmt.Errorf("course of a season: %w", err)
		}
		now.LineStyle = draw.LineStyle{Color: BarColour, Width: 2}
		sums.Add(now)
		sums.Legend.Add(form.Fit(r.Season.Name), now)
		for _, day := range r.Course.Days {
			heights[dayAt(day.On)] = float64(day.HoneyG) / f.GramsPerUnit
		}
	}
	form.legend(sums)
	sums.X.Min, sums.X.Max, sums.Y.Min, sums.Y.Max = d.low, d.high, 0, max(sums.Y.Max*1.05, 1)
	d.bars(each, form, heights)
	return panelsOf(form, sums, each)
}

// sumLine rises on each day by what it brought, from nothing, and goes on level.
func sumLine(f locale.Voice, of []season.DayLine, from, until float64) (*plotter.Line, error) {
	points := plotter.XYs{{X: from}}
	for _, day := range of {
		points = append(points, plotter.XY{X: dayAt(day.On), Y: float64(day.SumG) / f.GramsPerUnit})
	}
	points = append(points, plotter.XY{X: until, Y: points[len(points)-1].Y})
	line, err := plotter.NewLine(points)
	if err != nil {
		return nil, err
	}
	line.StepStyle = plotter.PostStep
	return line, nil
}

// legend is at the top on the left, where what only grows leaves room.
func (form Form) legend(pl *plot.Plot) {
	pl.Legend.Top, pl.Legend.Left = true, true
	pl.Legend.TextStyle, pl.Legend.Padding = letters(form.TextSize), form.TextSize/3
	pl.Legend.XOffs, pl.Legend.YOffs = form.TextSize, -form.TextSize/2
}

// SeasonMoisture draws what was read of a season's pulls and runs: each day's mean, and an
// upright line from its driest to its wettest. limit may be nil.
func SeasonMoisture(form Form, f locale.Voice, read []season.MoistureDay, limit *float64) ([]byte, error) {
	var d days
	points := daysRead{read}
	for _, day := range read {
		d.hold(dayAt(day.On))
	}
	pl := d.plot(form, f, f.Say("moisture, %%"))
	if len(read) > 0 {
		spans, err := plotter.NewYErrorBars(points)
		if err != nil {
			return nil, fmt.Errorf("moisture of a season: %w", err)
		}
		spans.Color, spans.Width, spans.CapWidth = BarColour, 1.4, 3
		pl.Add(spans)
		if err := dots(pl, points, form.dot(len(read))); err != nil {
			return nil, fmt.Errorf("moisture of a season: %w", err)
		}
	}
	if err := d.limited(pl, form, f, limit); err != nil {
		return nil, fmt.Errorf("moisture of a season: %w", err)
	}
	return panelsOf(form, pl)
}

// daysRead are days as the library takes points with how far they reach either way.
type daysRead struct{ of []season.MoistureDay }

func (d daysRead) Len() int { return len(d.of) }

func (d daysRead) XY(i int) (x, y float64) { return dayAt(d.of[i].On), d.of[i].MeanPct }

func (d daysRead) YError(i int) (low, high float64) {
	return d.of[i].MeanPct - d.of[i].LowPct, d.of[i].HighPct - d.of[i].MeanPct
}

// limited adds the limit across a plot of moisture, and leaves room around what is drawn.
func (d days) limited(pl *plot.Plot, form Form, f locale.Voice, limit *float64) error {
	if limit != nil {
		line, err := plotter.NewLine(plotter.XYs{{X: d.low, Y: *limit}, {X: d.high, Y: *limit}})
		if err != nil {
			return err
		}
		line.LineStyle = draw.LineStyle{Color: BeforeColour, Width: 1.6, Dashes: []vg.Length{5, 3}}
		pl.Add(line)
	}
	pl.X.Min, pl.X.Max = d.low, d.high
	if pl.Y.Max < pl.Y.Min { // nothing to draw: a scale that honey is on
		pl.Y.Min, pl.Y.Max = 16, 18
	}
	RoomAround(&pl.Y, 2)
	return nil
}
