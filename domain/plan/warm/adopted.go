package warm

import (
	"math"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
)

// Adopted is a way that somebody goes by: when the heater is set to what, and what is expected of the honey. A
// way without a heater that the book knows has no steps.
func (a *Asked) Adopted(w *Way, title string) *ledger.AdoptedPlan {
	out := &ledger.AdoptedPlan{Title: title, Of: ledger.PlanOfWarming}
	at := func(hour int) *time.Time { return new(a.From.Add(time.Duration(hour) * time.Hour)) }
	for _, s := range w.Steps {
		if a.HeatedID == (ledger.ID{}) {
			break
		}
		step := ledger.PlanStep{Does: ledger.PlanHeats, AboutID: a.HeatedID, At: at(s.FromHour)}
		if s.SetC != Off {
			step.SetC = new(s.SetC)
		}
		out.Steps = append(out.Steps, step)
		if end := s.FromHour + s.Hours; end < len(w.Curve) && a.HeatedID == a.HoneyID {
			low, high := a.between(w, end)
			out.Expects = append(out.Expects, ledger.PlanExpected{Figure: ledger.PlanTemperature, AboutID: a.HeatedID, At: at(end), Value: w.Curve[end].MeanC, Low: &low, High: &high})
		}
	}
	end := at(a.Spec.Hours)
	for _, x := range []struct {
		figure ledger.PlanFigure
		band   heat.Band
	}{{ledger.PlanHMF, w.HMF}, {ledger.PlanDiastase, w.Diastase}} {
		out.Expects = append(out.Expects, ledger.PlanExpected{Figure: x.figure, AboutID: a.HoneyID, At: end, Value: x.band.Middle, Low: new(min(x.band.Low, x.band.Middle)), High: new(max(x.band.High, x.band.Middle))})
	}
	return out
}

// readsWithinK is how far a thermostat and what reads a tank's temperature are off, together, nine times in ten (common practice; no
// source).
const readsWithinK = 1.0

// between are the temperatures between which nine tanks in ten are read at an hour of a way: from one that warms less well than
// expected to one that warms better.
func (a *Asked) between(w *Way, hour int) (low, high float64) {
	mean := w.Curve[hour].MeanC
	low, high = mean, mean
	if t, is := a.Spec.Vessel.(Tank); is {
		for _, by := range []float64{nineInTen, -nineInTen} {
			if c, err := heat.Warm(t.warmsLess(by), t.StartC, t.stages(w.Sets())); err == nil { // as it was followed before
				low, high = min(low, c.TemperatureC(float64(hour))), max(high, c.TemperatureC(float64(hour)))
			}
		}
	}
	return mean - math.Hypot(mean-low, readsWithinK), mean + math.Hypot(high-mean, readsWithinK)
}
