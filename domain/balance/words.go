package balance

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/reconcile"
)

// statement says whether the weights agree and which is most likely wrong.
func (r *Report) statement() string {
	if len(r.Flows) == 0 {
		return "Nothing was extracted, moved or packed."
	}
	g := r.Global
	if g.DegreesOfFreedom == 0 {
		return "No weight checks another: too few of the flows were weighed."
	}
	said := []string{fmt.Sprintf("The weights agree within their uncertainties (chi-square %.1f on %s, where up to %.1f is chance).",
		g.Statistic, degrees(g.DegreesOfFreedom), g.Critical)}
	if !g.Passed {
		said[0] = fmt.Sprintf("The weights do not agree (chi-square %.1f on %s, where up to %.1f is chance).", g.Statistic, degrees(g.DegreesOfFreedom), g.Critical)
	}
	for _, p := range r.Parts {
		if p.Suspect != nil {
			said = append(said, p.Suspect.Sentence)
		}
	}
	return strings.Join(said, " ")
}

func degrees(n int) string {
	if n == 1 {
		return "1 degree of freedom"
	}
	return fmt.Sprintf("%d degrees of freedom", n)
}

func (s *Suspect) sentence() string {
	off := s.GrossErrorKg
	at := fmt.Sprintf(" (%.1f standard deviations)", math.Abs(s.Standardised))
	var out string
	switch {
	case s.Basis == Limited && off < 0:
		out = fmt.Sprintf("Most likely %s is %s more than is ordinary%s.", s.Name, kilograms(-off), at)
	case s.Basis == Limited:
		out = fmt.Sprintf("Most likely %s is %s less than is ordinary%s.", s.Name, kilograms(off), at)
	case off < 0:
		out = fmt.Sprintf("Most likely wrong is the figure for %s: %s too low%s.", s.Name, kilograms(-off), at)
	default:
		out = fmt.Sprintf("Most likely wrong is the figure for %s: %s too high%s.", s.Name, kilograms(off), at)
	}
	if s.Cause != "" {
		out += " " + strings.ToUpper(s.Cause[:1]) + s.Cause[1:] + "."
	}
	if n := len(s.Others); n > 0 {
		out += fmt.Sprintf(" The balances cannot tell it apart from %s.", listed(s.Others))
	}
	return out
}

// mostListed is how many names one can read in a sentence.
const mostListed = 6

func listed(names []string) string {
	rest := ""
	if n := len(names); n > mostListed {
		names, rest = names[:mostListed], fmt.Sprintf(" or %d more", n-mostListed)
	}
	return strings.Join(names, "; ") + rest
}

// unseen says what can be known of the flows that nobody weighed.
func (r *Report) unseen() string {
	var told, not []string
	for _, f := range r.Flows {
		switch f.Class {
		case reconcile.Determinable:
			told = append(told, f.Name)
		case reconcile.Indeterminable:
			not = append(not, f.Name)
		}
	}
	switch {
	case len(told)+len(not) == 0:
		return "Every flow was weighed, counted or is known to be within bounds."
	case len(not) == 0:
		return fmt.Sprintf("Nobody weighed %s; the other flows tell all of it.", listed(told))
	case len(told) == 0:
		return fmt.Sprintf("Nobody weighed %s, and the other flows cannot tell any of it.", listed(not))
	}
	return fmt.Sprintf("Of what nobody weighed, the other flows tell %s; they cannot tell %s.", listed(told), listed(not))
}

// flowSentence says what is known of one flow.
func flowSentence(f *flow, s reconcile.StreamResult) string {
	switch {
	case f.basis == Limited && s.Class == reconcile.Redundant:
		return fmt.Sprintf("%s: not weighed; ordinarily %s, the other flows make it %s.", f.name,
			within(s.MeasuredKg, s.MeasuredUncertaintyKg), within(s.ReconciledKg, s.ReconciledUncertaintyKg))
	case f.basis == Limited:
		return fmt.Sprintf("%s: not weighed; ordinarily %s.", f.name, within(s.MeasuredKg, s.MeasuredUncertaintyKg))
	case f.basis == Counted && s.Class == reconcile.Redundant:
		return fmt.Sprintf("%s: counted, not weighed; usually %s, the other flows make it %s.", f.name,
			within(s.MeasuredKg, s.MeasuredUncertaintyKg), within(s.ReconciledKg, s.ReconciledUncertaintyKg))
	case f.basis == Counted:
		return fmt.Sprintf("%s: counted, not weighed; usually %s.", f.name, within(s.MeasuredKg, s.MeasuredUncertaintyKg))
	}
	return s.Statement()
}

func (c Claim) sentence() string {
	name := map[string]string{
		"boxes":      "Full boxes less empty ones, less wax and loss",
		"tanks":      "What runs gave to tanks",
		"containers": "Containers, and what tanks hold, less what they held before",
	}[c.Name]
	switch {
	case !c.Complete && c.AdjustedKg == nil:
		return name + ": not all of it was weighed."
	case !c.Complete:
		return fmt.Sprintf("%s: not all of it was weighed; the other flows make it %s.", name, kilograms(*c.AdjustedKg))
	case c.AdjustedKg == nil:
		return fmt.Sprintf("%s: %s.", name, within(*c.MeasuredKg, *c.UncertaintyKg))
	}
	return fmt.Sprintf("%s: %s, adjusted to %s.", name, within(*c.MeasuredKg, *c.UncertaintyKg), kilograms(*c.AdjustedKg))
}

func (l YardLine) sentence() string {
	how := "weighed"
	switch {
	case l.WeighedShare == 0:
		how = "counted"
	case l.WeighedShare < 1:
		how = "weighed in part and counted in part"
	}
	out := fmt.Sprintf("%s: boxes %s as %s, adjusted to %s.", l.Name, how, within(l.MeasuredKg, l.UncertaintyKg), within(l.AdjustedKg, l.AdjustedUncertaintyKg))
	if l.Flagged {
		out += fmt.Sprintf(" That is %.1f standard deviations, more than chance: look at its pulls and at the runs they went into.", math.Abs(l.Standardised))
	}
	return out
}

// yardCritical is the limit for the largest of several standardised values
// (Sidak 1967).
func yardCritical(yards int) float64 {
	each := -math.Expm1(math.Log1p(-Significance) / float64(yards))
	return distuv.UnitNormal.Quantile(1 - each/2)
}

func within(kg, sd float64) string {
	digits := decimals(sd)
	return fmt.Sprintf("%.*f kg ± %.*f kg", digits, kg, digits, sd)
}

func kilograms(kg float64) string { return fmt.Sprintf("%.*f kg", decimals(kg), kg) }

// decimals shows whole kilograms from ten up, tenths from one up, and grams
// below.
func decimals(kg float64) int {
	switch kg = math.Abs(kg); {
	case kg >= 10:
		return 0
	case kg >= 1:
		return 1
	}
	return 3
}
