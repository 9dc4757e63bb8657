package balance

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/message"
	"pullbook/domain/reconcile"
)

// statement says whether the weights agree and which is most likely wrong.
func (r *Report) statement() message.Text {
	said := []message.Text{r.Agreement()}
	if bound := r.bound(); len(bound) > 0 {
		said = append(said, message.F("By the weights alone, these would be less than nothing or more than their tank holds; they are kept at that limit: %s.", listed(bound)))
	}
	for _, p := range r.Parts {
		if p.Suspect != nil {
			said = append(said, p.Suspect.Sentence)
		}
	}
	return message.Join(said...)
}

// bound names the flows that a bound keeps from what the weights alone would make them.
func (r *Report) bound() (out []message.Text) {
	for _, f := range r.Flows {
		if f.Bound != reconcile.Free {
			out = append(out, f.Said)
		}
	}
	return out
}

// Agreement says whether the weights agree.
func (r *Report) Agreement() message.Text {
	g := r.Global
	switch {
	case len(r.Flows) == 0:
		return message.F("Nothing was extracted, moved or packed.")
	case g.DegreesOfFreedom == 0:
		return message.F("No weight checks another: too little was weighed. Weigh pulls, tanks or containers, and the book compares them.")
	case g.Passed:
		return message.F("The weights agree: they are no further apart than scales and counts usually are.")
	}
	return message.F("The weights do not agree: they are further apart than scales and counts usually are. Something was weighed, counted or written down wrong.")
}

func (s *Suspect) sentence() message.Text {
	off := message.RoundKg(math.Abs(s.GrossErrorKg))
	var out message.Text
	switch low := s.GrossErrorKg < 0; {
	case s.Basis == Limited && low:
		out = message.F("Look first at %s: it seems to be %s more than usual.", s.Said, off)
	case s.Basis == Limited:
		out = message.F("Look first at %s: it seems to be %s less than usual.", s.Said, off)
	case low:
		out = message.F("Look first at the figure for %s: it seems %s too low.", s.Said, off)
	default:
		out = message.F("Look first at the figure for %s: it seems %s too high.", s.Said, off)
	}
	if !s.Cause.IsEmpty() {
		out = message.F("%s %s.", out, message.Capital(s.Cause))
	}
	if len(s.Others) > 0 {
		out = message.F("%s It may as well be one of these: %s.", out, listed(namesOf(s.Others)))
	}
	return out
}

func namesOf(flows []Flow) []message.Text {
	out := make([]message.Text, len(flows))
	for i, f := range flows {
		out[i] = f.Said
	}
	return out
}

// mostListed is how many names one can read in a sentence.
const mostListed = 6

func listed(names []message.Text) message.Text {
	if n := len(names); n > mostListed {
		return message.F("%s or %s more", message.Series{Between: "; ", Items: names[:mostListed]}, n-mostListed)
	}
	return message.F("%s", message.Series{Between: "; ", Items: names})
}

// unseen says what can be known of the flows that nobody weighed.
func (r *Report) unseen() message.Text {
	var told, not []message.Text
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
		return message.F("All honey was weighed or counted wherever it moved, or it is known about how much it was.")
	case len(not) == 0:
		return message.F("Nobody weighed %s; the other weights say how much it was.", listed(told))
	case len(told) == 0:
		return message.F("Nobody weighed %s, and the other weights do not say how much it was.", listed(not))
	}
	return message.F("Of what nobody weighed, the other weights say how much these were: %s. They do not say it of these: %s.", listed(told), listed(not))
}

// flowSentence says what is known of one flow.
func flowSentence(f *flow, s reconcile.StreamResult) message.Text {
	return s.SaidBounded(freeSentence(f, s))
}

// freeSentence says it without the bounds.
func freeSentence(f *flow, s reconcile.StreamResult) message.Text {
	usual, implied := message.WithSD(s.MeasuredKg, s.MeasuredUncertaintyKg), message.WithSD(s.ReconciledKg, s.ReconciledUncertaintyKg)
	switch checked := s.Class == reconcile.Redundant; {
	case f.basis == Limited && checked:
		return message.F("%s: not weighed. Usual is %s; the other weights say %s.", f.said, usual, implied)
	case f.basis == Limited:
		return message.F("%s: not weighed. Usual is %s.", f.said, usual)
	case f.basis == Counted && checked:
		return message.F("%s: counted, not weighed. Usual is %s; the other weights say %s.", f.said, usual, implied)
	case f.basis == Counted:
		return message.F("%s: counted, not weighed. Usual is %s.", f.said, usual)
	}
	return s.Said(f.said)
}

// Said is what the weight is of.
func (c Claim) Said() message.Text {
	switch c.Name {
	case "boxes":
		return message.F("Full boxes less empty ones, less wax and loss")
	case "tanks":
		return message.F("What runs gave to tanks")
	}
	return message.F("Containers, and what tanks hold, less what they held before")
}

func (c Claim) sentence() message.Text {
	switch {
	case !c.Complete && c.AdjustedKg == nil:
		return message.F("%s: not all of it was weighed.", c.Said())
	case !c.Complete:
		return message.F("%s: not all of it was weighed; the other weights say %s.", c.Said(), message.RoundKg(*c.AdjustedKg))
	case c.AdjustedKg == nil:
		return message.F("%s: %s.", c.Said(), message.WithSD(*c.MeasuredKg, *c.UncertaintyKg))
	}
	return message.F("%s: %s; %s fits all the other weights.", c.Said(), message.WithSD(*c.MeasuredKg, *c.UncertaintyKg), message.RoundKg(*c.AdjustedKg))
}

func (l YardLine) sentence() message.Text {
	measured, adjusted := message.WithSD(l.MeasuredKg, l.UncertaintyKg), message.WithSD(l.AdjustedKg, l.AdjustedUncertaintyKg)
	out := message.F("%s: its boxes make %s by their weight; %s fits all the other weights.", l.Name, measured, adjusted)
	switch {
	case l.WeighedShare == 0:
		out = message.F("%s: its boxes make %s by their number; %s fits all the other weights.", l.Name, measured, adjusted)
	case l.WeighedShare < 1:
		out = message.F("%s: its boxes, some weighed and some only counted, make %s; %s fits all the other weights.", l.Name, measured, adjusted)
	}
	if l.Flagged {
		out = message.F("%s Weighing and counting alone are seldom so far off: look at its pulls, and at the runs that took them.", out)
	}
	return out
}

// yardCritical is the limit for the largest of several standardised values
// (Sidak 1967).
func yardCritical(yards int) float64 {
	each := -math.Expm1(math.Log1p(-Significance) / float64(yards))
	return distuv.UnitNormal.Quantile(1 - each/2)
}
