package warm

import (
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
			m := w.Curve[end]
			out.Expects = append(out.Expects, ledger.PlanExpected{Figure: ledger.PlanTemperature, AboutID: a.HeatedID, At: at(end), Value: m.MeanC, Low: new(min(m.ColdestC, m.MeanC))})
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
