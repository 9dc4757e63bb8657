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
	switch {
	case len(r.Flows) == 0:
		return say.F("Nothing was extracted, moved or packed.")
	case g.DegreesOfFreedom == 0:
		return say.F("No weight checks another: too little was weighed. Weigh pulls, tanks or containers, and the book compares them.")
	case g.Passed:
		return say.F("The weights agree: they are no further apart than scales and counts usually are.")
	}
	return say.F("The weights do not agree: they are further apart than scales and counts usually are. Something was weighed, counted or written down wrong.")
}

func (s *Suspect) sentence() say.Text {
	off := say.RoundKg(math.Abs(s.GrossErrorKg))
	var out say.Text
	switch low := s.GrossErrorKg < 0; {
	case s.Basis == Limited && low:
		out = say.F("Look first at %s: it seems to be %s more than usual.", s.Said, off)
	case s.Basis == Limited:
		out = say.F("Look first at %s: it seems to be %s less than usual.", s.Said, off)
	case low:
		out = say.F("Look first at the figure for %s: it seems %s too low.", s.Said, off)
	default:
		out = say.F("Look first at the figure for %s: it seems %s too high.", s.Said, off)
	}
	if !s.Cause.IsEmpty() {
		out = say.F("%s %s.", out, say.Capital(s.Cause))
	}
	if len(s.Others) > 0 {
		out = say.F("%s It may as well be one of these: %s.", out, listed(namesOf(s.Others)))
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
		return say.F("All honey was weighed or counted wherever it moved, or it is known about how much it was.")
	case len(not) == 0:
		return say.F("Nobody weighed %s; the other weights say how much it was.", listed(told))
	case len(told) == 0:
		return say.F("Nobody weighed %s, and the other weights do not say how much it was.", listed(not))
	}
	return say.F("Of what nobody weighed, the other weights say how much these were: %s. They do not say it of these: %s.", listed(told), listed(not))
}

// flowSentence says what is known of one flow.
func flowSentence(f *flow, s reconcile.StreamResult) say.Text {
	usual, implied := say.WithSD(s.MeasuredKg, s.MeasuredUncertaintyKg), say.WithSD(s.ReconciledKg, s.ReconciledUncertaintyKg)
	switch checked := s.Class == reconcile.Redundant; {
	case f.basis == Limited && checked:
		return say.F("%s: not weighed. Usual is %s; the other weights say %s.", f.said, usual, implied)
	case f.basis == Limited:
		return say.F("%s: not weighed. Usual is %s.", f.said, usual)
	case f.basis == Counted && checked:
		return say.F("%s: counted, not weighed. Usual is %s; the other weights say %s.", f.said, usual, implied)
	case f.basis == Counted:
		return say.F("%s: counted, not weighed. Usual is %s.", f.said, usual)
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
		return say.F("%s: not all of it was weighed; the other weights say %s.", c.Said(), say.RoundKg(*c.AdjustedKg))
	case c.AdjustedKg == nil:
		return say.F("%s: %s.", c.Said(), say.WithSD(*c.MeasuredKg, *c.UncertaintyKg))
	}
	return say.F("%s: %s; %s fits all the other weights.", c.Said(), say.WithSD(*c.MeasuredKg, *c.UncertaintyKg), say.RoundKg(*c.AdjustedKg))
}

func (l YardLine) sentence() say.Text {
	measured, adjusted := say.WithSD(l.MeasuredKg, l.UncertaintyKg), say.WithSD(l.AdjustedKg, l.AdjustedUncertaintyKg)
	out := say.F("%s: its boxes make %s by their weight; %s fits all the other weights.", l.Name, measured, adjusted)
	switch {
	case l.WeighedShare == 0:
		out = say.F("%s: its boxes make %s by their number; %s fits all the other weights.", l.Name, measured, adjusted)
	case l.WeighedShare < 1:
		out = say.F("%s: its boxes, some weighed and some only counted, make %s; %s fits all the other weights.", l.Name, measured, adjusted)
	}
	if l.Flagged {
		out = say.F("%s Weighing and counting alone are hardly so far off: look at its pulls, and at the runs that took them.", out)
	}
	return out
}

// yardCritical is the limit for the largest of several standardised values
// (Sidak 1967).
func yardCritical(yards int) float64 {
	each := -math.Expm1(math.Log1p(-Significance) / float64(yards))
	return distuv.UnitNormal.Quantile(1 - each/2)
}
