package balance

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/reconcile"
	"pullbook/domain/say"
)

// statement says whether the weights agree and which is most likely wrong.
func (r *Report) statement() say.Text {
	said := []say.Text{r.Agreement()}
	for _, p := range r.Parts {
		if p.Suspect != nil {
			said = append(said, p.Suspect.Sentence)
		}
	}
	return say.Join(said...)
}

// Agreement says whether the weights agree.
func (r *Report) Agreement() say.Text {
	g := r.Global
	statistic, critical := say.Number{V: g.Statistic, Places: 1}, say.Number{V: g.Critical, Places: 1}
	degrees := say.Plural{N: float64(g.DegreesOfFreedom), One: "%s degree of freedom", Other: "%s degrees of freedom"}
	switch {
	case len(r.Flows) == 0:
		return say.F("Nothing was extracted, moved or packed.")
	case g.DegreesOfFreedom == 0:
		return say.F("No weight checks another: too few of the flows were weighed.")
	case g.Passed:
		return say.F("The weights agree within their uncertainties (chi-square %s on %s, where up to %s is chance).", statistic, degrees, critical)
	}
	return say.F("The weights do not agree (chi-square %s on %s, where up to %s is chance).", statistic, degrees, critical)
}

func (s *Suspect) sentence() say.Text {
	off, deviations := say.RoundKg(math.Abs(s.GrossErrorKg)), say.Number{V: math.Abs(s.Standardised), Places: 1}
	var out say.Text
	switch low := s.GrossErrorKg < 0; {
	case s.Basis == Limited && low:
		out = say.F("Most likely %s is %s more than is ordinary (%s standard deviations).", s.Said, off, deviations)
	case s.Basis == Limited:
		out = say.F("Most likely %s is %s less than is ordinary (%s standard deviations).", s.Said, off, deviations)
	case low:
		out = say.F("Most likely wrong is the figure for %s: %s too low (%s standard deviations).", s.Said, off, deviations)
	default:
		out = say.F("Most likely wrong is the figure for %s: %s too high (%s standard deviations).", s.Said, off, deviations)
	}
	if !s.Cause.IsEmpty() {
		out = say.F("%s %s.", out, say.Capital(s.Cause))
	}
	if len(s.Others) > 0 {
		out = say.F("%s The balances cannot tell it apart from %s.", out, listed(namesOf(s.Others)))
	}
	return out
}

func namesOf(flows []Flow) []say.Text {
	out := make([]say.Text, len(flows))
	for i, f := range flows {
		out[i] = f.Said
	}
	return out
}

// mostListed is how many names one can read in a sentence.
const mostListed = 6

func listed(names []say.Text) say.Text {
	if n := len(names); n > mostListed {
		return say.F("%s or %s more", say.Series{Between: "; ", Items: names[:mostListed]}, n-mostListed)
	}
	return say.F("%s", say.Series{Between: "; ", Items: names})
}

// unseen says what can be known of the flows that nobody weighed.
func (r *Report) unseen() say.Text {
	var told, not []say.Text
	for _, f := range r.Flows {
		switch f.Class {
		case reconcile.Determinable:
			told = append(told, f.Said)
		case reconcile.Indeterminable:
			not = append(not, f.Said)
		}
	}
	switch {
	case len(told)+len(not) == 0:
		return say.F("Every flow was weighed, counted or is known to be within bounds.")
	case len(not) == 0:
		return say.F("Nobody weighed %s; the other flows tell all of it.", listed(told))
	case len(told) == 0:
		return say.F("Nobody weighed %s, and the other flows cannot tell any of it.", listed(not))
	}
	return say.F("Of what nobody weighed, the other flows tell %s; they cannot tell %s.", listed(told), listed(not))
}

// flowSentence says what is known of one flow.
func flowSentence(f *flow, s reconcile.StreamResult) say.Text {
	usual, implied := say.WithSD(s.MeasuredKg, s.MeasuredUncertaintyKg), say.WithSD(s.ReconciledKg, s.ReconciledUncertaintyKg)
	switch checked := s.Class == reconcile.Redundant; {
	case f.basis == Limited && checked:
		return say.F("%s: not weighed; ordinarily %s, the other flows make it %s.", f.said, usual, implied)
	case f.basis == Limited:
		return say.F("%s: not weighed; ordinarily %s.", f.said, usual)
	case f.basis == Counted && checked:
		return say.F("%s: counted, not weighed; usually %s, the other flows make it %s.", f.said, usual, implied)
	case f.basis == Counted:
		return say.F("%s: counted, not weighed; usually %s.", f.said, usual)
	}
	return s.Said(f.said)
}

// Said is what the weight is of.
func (c Claim) Said() say.Text {
	switch c.Name {
	case "boxes":
		return say.F("Full boxes less empty ones, less wax and loss")
	case "tanks":
		return say.F("What runs gave to tanks")
	}
	return say.F("Containers, and what tanks hold, less what they held before")
}

func (c Claim) sentence() say.Text {
	switch {
	case !c.Complete && c.AdjustedKg == nil:
		return say.F("%s: not all of it was weighed.", c.Said())
	case !c.Complete:
		return say.F("%s: not all of it was weighed; the other flows make it %s.", c.Said(), say.RoundKg(*c.AdjustedKg))
	case c.AdjustedKg == nil:
		return say.F("%s: %s.", c.Said(), say.WithSD(*c.MeasuredKg, *c.UncertaintyKg))
	}
	return say.F("%s: %s, adjusted to %s.", c.Said(), say.WithSD(*c.MeasuredKg, *c.UncertaintyKg), say.RoundKg(*c.AdjustedKg))
}

func (l YardLine) sentence() say.Text {
	measured, adjusted := say.WithSD(l.MeasuredKg, l.UncertaintyKg), say.WithSD(l.AdjustedKg, l.AdjustedUncertaintyKg)
	out := say.F("%s: boxes weighed as %s, adjusted to %s.", l.Name, measured, adjusted)
	switch {
	case l.WeighedShare == 0:
		out = say.F("%s: boxes counted as %s, adjusted to %s.", l.Name, measured, adjusted)
	case l.WeighedShare < 1:
		out = say.F("%s: boxes weighed in part and counted in part as %s, adjusted to %s.", l.Name, measured, adjusted)
	}
	if l.Flagged {
		out = say.F("%s That is %s standard deviations, more than chance: look at its pulls and at the runs they went into.",
			out, say.Number{V: math.Abs(l.Standardised), Places: 1})
	}
	return out
}

// yardCritical is the limit for the largest of several standardised values
// (Sidak 1967).
func yardCritical(yards int) float64 {
	each := -math.Expm1(math.Log1p(-Significance) / float64(yards))
	return distuv.UnitNormal.Quantile(1 - each/2)
}
