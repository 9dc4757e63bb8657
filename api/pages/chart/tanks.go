package chart

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
)

// TankHoldings is what a tank held over some hours.
type TankHoldings struct {
	Name     string
	Holdings []ledger.Holding
}

const hoursPanel = 80

// Hours draws what tanks held from one full hour until another, one tank above the other by the same time.
func Hours(form Form, f locale.Voice, tanks []TankHoldings, from, until time.Time) ([]byte, error) {
	var panels []*plot.Plot
	for _, t := range tanks {
		pl, err := hoursOf(form, f, t, from, until)
		if err != nil {
			return nil, fmt.Errorf("hours of a tank: %w", err)
		}
		panels = append(panels, pl)
	}
	return columnOf(panels, form.Width, hoursPanel*vg.Length(len(panels)), draw.Tiles{PadY: 8, PadRight: 3 * form.TextSize, PadTop: 4})
}

// hoursOf draws one tank, in steps: honey stays as it is until something happens to it.
func hoursOf(form Form, f locale.Voice, t TankHoldings, from, until time.Time) (*plot.Plot, error) {
	pl := Framed(form, f, f.Mass)
	pl.Title.Text = form.Fit(t.Name)
	pl.Title.TextStyle.Font, pl.Title.TextStyle.Color, pl.Title.Padding = letters(form.TextSize).Font, InkColour, 3
	pl.X.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return timeTicks(f, form, low, high, calendars) })
	pl.Y.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return fewer(levelTicks(f, low, high), 3) })
	line := plotter.XYs{}
	for i, h := range t.Holdings {
		if i > 0 {
			line = append(line, plotter.XY{X: seconds(h.At), Y: line[len(line)-1].Y})
		}
		line = append(line, plotter.XY{X: seconds(h.At), Y: float64(h.Grams) / f.GramsPerUnit})
	}
	line = append(line, plotter.XY{X: seconds(until), Y: line[len(line)-1].Y})
	if err := addArea(pl, line); err != nil {
		return nil, err
	}
	pl.X.Min, pl.X.Max = seconds(from), seconds(until)
	pl.Y.Min, pl.Y.Max = 0, math.Max(pl.Y.Max*1.05, 1)
	return pl, nil
}
