package reconcile

import "slices"

// Elimination is one step of serial elimination: a weight left out, and how the rest then agrees.
type Elimination struct {
	// Stream was left out; Alternatives are those the balances could not tell apart from it.
	Stream       string
	Alternatives []string
	// MeasuredKg was its weight, Standardised and GrossErrorKg what was said of it before it was left out.
	MeasuredKg, Standardised, GrossErrorKg float64
	// Global is the test of the weights that remain.
	Global GlobalTest
}

// EliminateSerially leaves out the weight most likely wrong, treats its flow as unweighed, and repeats
// until the remaining weights agree or nothing is left to check them (Ripps 1965; Serth & Heenan 1986).
// It returns the steps in their order and the reconciliation of what remains, in which the flows left
// out are inferred. With several gross errors at once the order can mislead: the steps are a help for
// the eye, not a verdict.
//
// The errors are those of Reconcile.
func EliminateSerially(n Network, significance float64) ([]Elimination, Result, error) {
	rest := Network{Streams: slices.Clone(n.Streams), Correlations: slices.Clone(n.Correlations)}
	result, err := Reconcile(rest, significance)
	if err != nil {
		return nil, Result{}, err
	}
	var steps []Elimination
	for len(result.MostLikelyWrong) > 0 {
		name := result.MostLikelyWrong[0]
		at := slices.IndexFunc(rest.Streams, func(s Stream) bool { return s.Name == name })
		before := result.Streams[at]
		rest.Streams[at].Measured = false
		rest.Correlations = slices.DeleteFunc(rest.Correlations, func(c Correlation) bool {
			return c.A == name || c.B == name
		})
		alternatives := slices.Clone(result.MostLikelyWrong[1:])
		if result, err = Reconcile(rest, significance); err != nil {
			return nil, Result{}, err
		}
		steps = append(steps, Elimination{
			Stream: name, Alternatives: alternatives, MeasuredKg: before.MeasuredKg,
			Standardised: before.Standardised, GrossErrorKg: before.GrossErrorKg, Global: result.Global,
		})
	}
	return steps, result, nil
}
