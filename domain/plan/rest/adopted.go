package rest

import (
	"math"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// mostAdoptedDays is how many days' figures a plan that somebody goes by has.
const mostAdoptedDays = 120

// Adopted is the rest of a season that somebody goes by: which yards to pull next, in order, and how far the house is
// expected to be at the end of each day that brings it on. Where the book has no earlier
// season whole, no ends are expected. What is ordered is no step; SaidOrder says it.
func (a *Asked) Adopted(p *Plan, title, note string) *ledger.AdoptedPlan {
	out := &ledger.AdoptedPlan{Title: title, Of: ledger.PlanOfDays, Note: note}
	for _, y := range a.Yards {
		out.Steps = append(out.Steps, ledger.PlanStep{Does: ledger.PlanPulls, AboutID: y.ID, Count: max(1, int(math.Round(y.Supers)))})
	}
	last := map[ledger.PlanFigure]float64{}
	expects := func(x ledger.PlanExpected, b Band, in float64, places int) {
		to := func(v float64) float64 { return rounded(v/in, places) }
		if x.Value = to(b.Middle); x.Value == last[x.Figure] {
			return
		}
		if last[x.Figure] = x.Value; a.Before > 0 {
			x.Low, x.High = new(to(b.Low)), new(to(b.High))
		}
		out.Expects = append(out.Expects, x)
	}
	for i := range p.Days[:min(len(p.Days), mostAdoptedDays)] {
		d := &p.Days[i]
		at := d.Ends.Add(-time.Minute)
		expects(ledger.PlanExpected{Figure: ledger.PlanExtracted, At: &at}, d.ExtractedBy, 1, 0)
		expects(ledger.PlanExpected{Figure: ledger.PlanFilled, At: &at}, d.FilledKgBy, a.ContainerKg, 0)
	}
	if p.Extracted.Middle > 0 && p.Endless < 0.5 {
		expects(ledger.PlanExpected{Figure: ledger.PlanDaysLeft}, p.Extracted, 24, 1)
	}
	return out
}

// SaidOrder says how many containers to order by when; empty where none are needed, or nobody says how many are here.
func (a *Asked) SaidOrder(p *Plan) message.Text {
	if p.ToOrder == nil || p.ToOrder.High == 0 {
		return message.Text{}
	}
	for _, b := range p.Binds {
		if b.Way == Drums {
			by := a.House.At(max(0, b.From-a.House.OrderHours))
			return message.F("Order %s by %s: those here are used up about %s, and new ones take about %s.",
				message.Plural{N: p.ToOrder.High, One: "%s container", Other: "%s containers"}, message.Day(by), message.Day(a.House.At(b.From)), message.Plural{N: a.House.OrderHours / 24, One: "%s day", Other: "%s days"})
		}
	}
	return message.Text{}
}
