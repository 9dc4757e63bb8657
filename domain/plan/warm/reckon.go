package warm

import (
	"math"

	"pullbook/domain/heat"
)

// What a sheet needs that follows a way by the hour by itself.

// Knot is how long something takes at a temperature.
type Knot struct{ Celsius, Hours float64 }

// Take is what the coldest honey has to go through: each hour is a share of the hours that it takes at its temperature.
// Their logarithm goes straight from knot to knot; colder than the first nothing counts, hotter than the last no more does.
type Take struct {
	// Of is Liquid of crystals that melt, Clear of what they leave behind, YeastKilled of yeasts.
	Of    State
	Knots []Knot
}

// Takes are what a question asks the honey to go through.
func (s *Spec) Takes() (out []Take) {
	liquid := math.Exp(s.sds() * liquidLogSD)
	if _, crystals := s.Vessel.honeyPct(); crystals > 0 && s.Aim.State != YeastKilled {
		out = append(out, Take{Liquid, []Knot{{meltsUsefullyC, liquid * LiquidHours(meltsUsefullyC)}, {liquidMeasuredToC, liquid * LiquidHours(liquidMeasuredToC)}}})
	}
	switch s.Aim.State {
	case Clear:
		out = append(out, Take{Clear, []Knot{{clearFromC, clearHours}, {MostSetC, clearHours}}})
	case YeastKilled:
		out = append(out, Take{YeastKilled, []Knot{{killsFromC, killHours(killsFromC)}, {killsBendC, killHours(killsBendC)}, {killsToC, killHours(killsToC)}}})
	}
	return out
}

// Share is the share of what it takes that an hour at a temperature is.
func (t Take) Share(celsius float64) float64 {
	if celsius < t.Knots[0].Celsius {
		return 0
	}
	i := 1
	for i < len(t.Knots)-1 && celsius > t.Knots[i].Celsius {
		i++
	}
	low, high := t.Knots[i-1], t.Knots[i]
	part := (min(celsius, high.Celsius) - low.Celsius) / (high.Celsius - low.Celsius)
	return math.Exp(-math.Log(low.Hours)*(1-part) - math.Log(high.Hours)*part)
}

// sds is by how many standard deviations honey and vessel are taken to be slower than expected.
func (s *Spec) sds() float64 { return math.Sqrt2 * math.Erfinv(2*s.Probability-1) }

// Slow is a tank that warms less well than expected, as the coldest honey is followed in.
func (s *Spec) Slow(t Tank) heat.Tank { return t.warmsLess(s.sds()) }

// Places are how warm the honey of containers is at nine places through each hour of a course, and what of the honey each
// stands for.
func (c Containers) Places(sets []int) (celsius [][]float64, parts []float64, err error) {
	_, middle, _, err := c.Responses(c.StartC, (c.StartC+heat.MeltsToC)/2)
	if err != nil {
		return nil, nil, err
	}
	celsius = make([][]float64, len(sets)+1)
	for _, p := range points {
		for h, at := range c.through(lefts(middle.At(p.across, p.up).Left, len(sets)), sets) {
			celsius[h] = append(celsius[h], at)
		}
		parts = append(parts, p.part)
	}
	return celsius, parts, nil
}

// WhPerK is the heat that containers take up for each kelvin, melting heat included.
func (c Containers) WhPerK() (float64, error) {
	_, middle, _, err := c.Responses(c.StartC, (c.StartC+heat.MeltsToC)/2)
	return middle.WhPerKelvin * c.filled(), err
}

// Sets are a way's set points hour by hour.
func (w *Way) Sets() (out []int) {
	for _, m := range w.Curve[:len(w.Curve)-1] {
		out = append(out, m.SetC)
	}
	return out
}
