package chart

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/openapi"
)

// Heat draws the temperature over HMF with its band, both by the time.
func Heat(form Form, f locale.Voice, curve []openapi.HeatCurvePoint, limit *float64) ([]byte, error) {
	unit, hours := timeUnit(f, curve[len(curve)-1].Hours)
	temperature, err := temperaturePlot(form, f, curve, hours)
	if err != nil {
		return nil, fmt.Errorf("chart of heat: %w", err)
	}
	hmf, err := hmfPlot(form, f, curve, hours, limit)
	if err != nil {
		return nil, fmt.Errorf("chart of heat: %w", err)
	}
	hmf.X.Label.Text = unit
	return columnOf([]*plot.Plot{temperature, hmf}, form.Width, heatChartHeight, draw.Tiles{PadY: 6, PadRight: form.TextSize})
}

const heatChartHeight = 290

// timeUnit is the unit that a length of hours is drawn in, and its hours.
func timeUnit(f locale.Voice, hours float64) (string, float64) {
	switch {
	case hours < 7*24:
		return f.Say("hours"), 1
	case hours < 3*365*24:
		return f.Say("days"), 24
	}
	return f.Say("years"), 24 * 365.25
}

var bandColour = color.RGBA{0xa9, 0xc6, 0xc3, 0xff}

// addBand draws an area with a line over it.
func addBand(pl *plot.Plot, around, along plotter.XYs, colour color.Color, width vg.Length) error {
	area, err := plotter.NewPolygon(around)
	if err != nil {
		return err
	}
	area.Color, area.LineStyle = bandColour, draw.LineStyle{}
	line, err := plotter.NewLine(along)
	if err != nil {
		return err
	}
	line.Color, line.Width = colour, width
	pl.Add(area, line)
	return nil
}

func temperaturePlot(form Form, f locale.Voice, curve []openapi.HeatCurvePoint, hours float64) (*plot.Plot, error) {
	pl := Framed(form, f, f.Temperature)
	points := make(plotter.XYs, len(curve))
	for i, p := range curve {
		points[i] = plotter.XY{X: p.Hours / hours, Y: f.Degrees(p.TemperatureC)}
	}
	line, err := plotter.NewLine(points)
	if err != nil {
		return nil, err
	}
	line.Color, line.Width = BeforeColour, 2
	pl.Add(line)
	RoomAround(&pl.Y, 5)
	return pl, nil
}

func hmfPlot(form Form, f locale.Voice, curve []openapi.HeatCurvePoint, hours float64, limit *float64) (*plot.Plot, error) {
	pl := Framed(form, f, f.Say("HMF, mg/kg"))
	end := curve[len(curve)-1]
	most := end.Forecast.HmfMgPerKg.High
	if limit != nil {
		// A fast honey runs far past the limit: what matters is at and below it.
		most = math.Min(most, 1.5**limit)
	}
	n := len(curve)
	around, middle := make(plotter.XYs, 2*n), plotter.XYs{}
	for i, p := range curve {
		x, b := p.Hours/hours, p.Forecast.HmfMgPerKg
		around[i] = plotter.XY{X: x, Y: math.Min(b.Low, most)}
		around[2*n-1-i] = plotter.XY{X: x, Y: math.Min(b.High, most)}
		if b.Middle <= most {
			middle = append(middle, plotter.XY{X: x, Y: b.Middle})
		}
	}
	if err := addBand(pl, around, middle, InkColour, 2); err != nil {
		return nil, err
	}
	if limit != nil {
		at, err := plotter.NewLine(plotter.XYs{{X: 0, Y: *limit}, {X: end.Hours / hours, Y: *limit}})
		if err != nil {
			return nil, err
		}
		at.Color, at.Width, at.Dashes = BeforeColour, 1.5, []vg.Length{5, 3}
		pl.Add(at)
	}
	pl.Y.Min, pl.Y.Max = 0, math.Max(most, 1)
	return pl, nil
}

// Framed is a plain plot with a scale either way.
func Framed(form Form, f locale.Voice, quantity string) *plot.Plot {
	pl := plainPlot(form, f)
	pl.X.Label.Text, pl.Y.Label.Text = "", quantity
	pl.Y.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return majorTicks(f, low, high, 5) })
	across := plotter.NewGrid()
	across.Vertical.Width, across.Horizontal.Color = 0, ruleColour
	pl.Add(across)
	return pl
}

// RoomAround leaves a level line in the middle of a scale of some height, and
// any other off its edges.
func RoomAround(axis *plot.Axis, least float64) {
	if span := axis.Max - axis.Min; span < least {
		axis.Min, axis.Max = axis.Min-(least-span)/2, axis.Max+(least-span)/2
		return
	}
	edge := 0.04 * (axis.Max - axis.Min)
	axis.Min, axis.Max = axis.Min-edge, axis.Max+edge
}

// HeatRow is a line of the table under a chart.
type HeatRow struct{ Hours, Temperature, Low, Middle, High string }

// rowsUnderChart are enough to read the course off without the chart.
const rowsUnderChart = 9

// HeatRows returns the rows of the table under a chart of heat.
func HeatRows(f locale.Voice, curve []openapi.HeatCurvePoint) []HeatRow {
	var out []HeatRow
	for i := range rowsUnderChart {
		p := curve[i*(len(curve)-1)/(rowsUnderChart-1)]
		hmf := p.Forecast.HmfMgPerKg
		out = append(out, HeatRow{f.Number(p.Hours, 1), f.Number(f.Degrees(p.TemperatureC), 1), f.Number(hmf.Low, 1), f.Number(hmf.Middle, 1), f.Number(hmf.High, 1)})
	}
	return out
}
