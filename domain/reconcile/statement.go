package reconcile

import (
	"fmt"
	"math"
	"strings"

	"pullbook/domain/say"
)

// Statement says in plain sentences whether the weights agree and which is most likely wrong.
func (r Result) Statement() string {
	if r.Global.DegreesOfFreedom == 0 {
		return "No weight checks another: too few of the flows were weighed."
	}
	chance := fmt.Sprintf("chi-square %.1f on %d %s of freedom, where up to %.1f is chance", r.Global.Statistic,
		r.Global.DegreesOfFreedom, plural(r.Global.DegreesOfFreedom, "degree", "degrees"), r.Global.Critical)
	if len(r.MostLikelyWrong) == 0 {
		return "The weights agree within their uncertainties (" + chance + ")."
	}
	opening := "The weights do not agree (" + chance + ")."
	if r.Global.Passed {
		opening = "Taken together the weights agree (" + chance + "), but one of them stands out."
	}
	return opening + " " + r.suspicion()
}

func (r Result) suspicion() string {
	byName := make(map[string]StreamResult, len(r.Streams))
	for _, s := range r.Streams {
		byName[s.Name] = s
	}
	said := make([]string, len(r.MostLikelyWrong))
	for i, name := range r.MostLikelyWrong {
		s := byName[name]
		direction := "high"
		if s.GrossErrorKg < 0 {
			direction = "low"
		}
		said[i] = fmt.Sprintf("%s, %s too %s", name, kilograms(math.Abs(s.GrossErrorKg)), direction)
	}
	deviations := math.Abs(byName[r.MostLikelyWrong[0]].Standardised)
	if len(said) == 1 {
		return fmt.Sprintf("Most likely wrong is the weight of %s (%.1f standard deviations).", said[0], deviations)
	}
	return fmt.Sprintf("Most likely wrong is one of these, which the balances cannot tell apart: %s (%.1f standard deviations).",
		strings.Join(said, "; "), deviations)
}

// Statement says in one sentence what is known of the stream.
func (s StreamResult) Statement() string { return s.Said(say.Verbatim(s.Name)).String() }

// Said is Statement of a stream whose name can be said in other languages.
func (s StreamResult) Said(name say.Text) say.Text {
	measured, reconciled := say.WithSD(s.MeasuredKg, s.MeasuredUncertaintyKg), say.WithSD(s.ReconciledKg, s.ReconciledUncertaintyKg)
	switch {
	case s.Class == Determinable:
		return say.F("%s: not weighed; the other flows imply %s.", name, reconciled)
	case s.Class == Indeterminable:
		return say.F("%s: not weighed, and the other flows cannot tell it.", name)
	case s.Class == NonRedundant:
		return say.F("%s: weighed as %s; no other flow checks it.", name, measured)
	case s.AdjustmentKg < 0:
		return say.F("%s: weighed as %s, adjusted to %s (%s less).", name, measured, reconciled, say.RoundKg(-s.AdjustmentKg))
	}
	return say.F("%s: weighed as %s, adjusted to %s (%s more).", name, measured, reconciled, say.RoundKg(s.AdjustmentKg))
}

// Statement says in one sentence how the node balances as measured.
func (n NodeResult) Statement() string {
	if !n.Testable {
		return n.Name + ": not every flow was weighed, so that its balance cannot be tested by itself."
	}
	direction := "more came in than went out"
	if n.ImbalanceKg < 0 {
		direction = "more went out than came in"
	}
	return fmt.Sprintf("%s: %s %s (%.1f standard deviations).", n.Name, kilograms(math.Abs(n.ImbalanceKg)),
		direction, math.Abs(n.Standardised))
}

func kilograms(kg float64) string { return say.F("%s", say.RoundKg(kg)).String() }

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
