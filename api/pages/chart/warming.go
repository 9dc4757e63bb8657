package chart

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"pullbook/api/locale"
	"pullbook/domain/plan/warm"
)

// Warming draws a course of set points, and how warm the honey is: its mean, and its coldest where
// that is behind.
func Warming(form Form, f locale.Voice, w *warm.Way) ([]byte, error) {
	pl := Framed(form, f, f.Temperature)
	unit, hours := timeUnit(f, float64(len(w.Curve)-1))
	pl.X.Label.Text = unit
	form.legend(pl)
	var set, mean, coldest plotter.XYs
	behind := false
	for _, m := range w.Curve {
		x := float64(m.Hour) / hours
		mean = append(mean, plotter.XY{X: x, Y: f.Degrees(m.MeanC)})
		coldest = append(coldest, plotter.XY{X: x, Y: f.Degrees(m.ColdestC)})
		behind = behind || m.MeanC-m.ColdestC > leastBehindK
	}
	for _, s := range w.Steps {
		if s.SetC == warm.Off {
			continue
		}
		for _, hour := range []int{s.FromHour, s.FromHour + s.Hours} {
			set = append(set, plotter.XY{X: float64(hour) / hours, Y: f.Degrees(float64(s.SetC))})
		}
	}
	for _, l := range []struct {
		name   string
		points plotter.XYs
		colour color.Color
		width  vg.Length
		dashes []vg.Length
		shown  bool
	}{
		{f.Say("set point"), set, BeforeColour, 1.5, []vg.Length{5, 3}, len(set) > 0},
		{f.Say("honey"), mean, InkColour, 2, nil, true},
		{f.Say("coldest of it"), coldest, BarColour, 1.5, []vg.Length{2, 2}, behind},
	} {
		if !l.shown {
			continue
		}
		line, err := plotter.NewLine(l.points)
		if err != nil {
			return nil, fmt.Errorf("chart of a warming: %w", err)
		}
		line.Color, line.Width, line.Dashes = l.colour, l.width, l.dashes
		pl.Add(line)
		pl.Legend.Add(l.name, line)
	}
	RoomAround(&pl.Y, 5)
	pl.Y.Max += 0.3 * (pl.Y.Max - pl.Y.Min) // for the legend
	return SVG(pl, form.Width, warmingHeight)
}

const (
	warmingHeight = 200
	// leastBehindK is from where on the coldest honey has a line of its own.
	leastBehindK = 0.5
)
