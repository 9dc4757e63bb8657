package reconcile

import (
	"fmt"
	"math"
	"slices"
)

// DefaultSignificance is the chance of a false alarm usually taken for each test.
const DefaultSignificance = 0.05

// StreamResult is what the reconciliation says of one stream. Masses are kilograms, uncertainties one
// standard deviation.
type StreamResult struct {
	Name     string
	From, To string
	Class    Class

	// MeasuredKg and MeasuredUncertaintyKg repeat the weight; zero when nobody weighed it.
	MeasuredKg            float64
	MeasuredUncertaintyKg float64
	// ReconciledKg is the flow that agrees with all balances, or the inferred flow of a Determinable
	// stream. It means nothing where Known is false.
	ReconciledKg            float64
	ReconciledUncertaintyKg float64
	// AdjustmentKg is ReconciledKg less MeasuredKg of a weighed stream.
	AdjustmentKg float64
	// Bound says which of its bounds the stream is kept at, and FreeKg what it would be if no stream had
	// any; equal to ReconciledKg where none binds.
	Bound  Bound
	FreeKg float64

	// Standardised is the statistic of the measurement test, above zero when the weight looks too high.
	// Without a mistake it is a standard normal value. Zero where nothing checks the stream.
	Standardised float64
	// GrossErrorKg is by how much the weight is too high if it is the only wrong one.
	GrossErrorKg float64
	// DetectableKg is the size of a single error of this weight that brings Standardised just to
	// Result.MeasurementCritical: an error of that size is found one time in two, a much smaller one
	// cannot be seen. Zero where nothing checks the stream.
	DetectableKg float64
	// Flagged is true when Standardised exceeds Result.MeasurementCritical.
	Flagged bool
}

// Known is true when the reconciliation has a value for the stream.
func (s StreamResult) Known() bool { return s.Class != Indeterminable }

// NodeResult is the balance of one node as measured.
type NodeResult struct {
	Name string
	// Testable is false when a flow of the node was not weighed; the other fields are then zero.
	Testable bool
	// ImbalanceKg is what came in less what went out, UncertaintyKg its standard deviation and
	// Standardised their ratio.
	ImbalanceKg, UncertaintyKg, Standardised float64
	// Flagged is true when Standardised exceeds Result.NodalCritical.
	Flagged bool
}

// Result is the reconciliation of a network: streams in the order they were given, nodes by name.
type Result struct {
	Significance float64
	Streams      []StreamResult
	Nodes        []NodeResult
	Global       GlobalTest
	// MeasurementCritical and NodalCritical are the limits for the standardised values of streams and
	// nodes, zero when there is nothing to test.
	MeasurementCritical, NodalCritical float64
	// MostLikelyWrong names the weighed stream that most likely holds a gross error, with all others
	// that the balances cannot tell apart from it, by name. It is empty when neither the global test nor
	// any measurement test finds a mistake.
	MostLikelyWrong []string
}

// Reconcile adjusts the weighed flows of a network to close every balance, infers the others where
// that is possible and tests for gross errors. Significance is the chance of a false alarm for each
// kind of test, above 0 and at most 0.5. The result does not depend on the order of the streams.
//
// An error says in a sentence which stream cannot be used and what would do.
func Reconcile(n Network, significance float64) (Result, error) {
	if !(significance > 0 && significance <= 0.5) {
		return Result{}, fmt.Errorf("the significance is %v: give a chance above 0 and at most 0.5, such as 0.05", significance)
	}
	s, place, err := n.linear()
	if err != nil {
		return Result{}, err
	}
	solved, err := s.solve(significance)
	if err != nil {
		return Result{}, err
	}
	out := solved
	out.Streams = make([]StreamResult, len(place))
	for column, at := range place {
		r := solved.Streams[column]
		r.Name, r.From, r.To = n.Streams[at].Name, n.Streams[at].From, n.Streams[at].To
		out.Streams[at] = r
	}
	for _, column := range solved.suspectColumns {
		out.MostLikelyWrong = append(out.MostLikelyWrong, n.Streams[place[column]].Name)
	}
	return out.Result, nil
}

// ChiSquare is Result.Global.Statistic less AtBounds alone, which takes a fraction of the time of
// Reconcile. Its errors are those of Reconcile.
func ChiSquare(n Network) (float64, error) {
	s, _, err := n.linear()
	if err != nil {
		return 0, err
	}
	root, err := s.covarianceRoot()
	if err != nil {
		return 0, err
	}
	reduced := s.analyse().reduced
	if reduced == nil {
		return 0, nil
	}
	step := sortedQR(root.whiten(reduced), 0).coordinates(reduced, s.readings)
	return dot(step, step), nil
}

// solution is a result whose streams are columns without names.
type solution struct {
	Result
	suspectColumns []int
}

func (s system) solve(significance float64) (solution, error) {
	st := s.analyse()
	adjusted, err := s.adjust(st)
	if err != nil {
		return solution{}, err
	}
	s.keepBounds(st, &adjusted)
	bounds := len(adjusted.binding)
	out := solution{Result: Result{
		Significance: significance,
		Streams:      make([]StreamResult, len(st.class)),
		Global:       globalTest(adjusted.statistic+adjusted.atBounds, st.degreesOfFreedom+bounds, significance),
	}}
	out.Global.AtBounds, out.Global.Bounds = adjusted.atBounds, bounds
	for column, class := range st.class {
		out.Streams[column].Class = class
	}
	standardised := s.fillMeasured(&out, st, adjusted)
	s.fillInferred(&out, st, adjusted)
	s.fillNodes(&out, adjusted.root)
	weights := globalTest(adjusted.statistic, st.degreesOfFreedom, significance)
	if weights.Passed && !slices.ContainsFunc(out.Streams, func(r StreamResult) bool { return r.Flagged }) {
		return out, nil
	}
	for _, i := range suspects(standardised) {
		out.suspectColumns = append(out.suspectColumns, s.measured[i])
	}
	return out, nil
}

// fillMeasured writes the weighed streams and returns their standardised values.
func (s system) fillMeasured(out *solution, st structure, adjusted adjustment) []float64 {
	redundant := 0
	for _, column := range s.measured {
		if st.class[column] == Redundant {
			redundant++
		}
	}
	out.MeasurementCritical = criticalNormal(out.Significance, redundant)
	standardised := make([]float64, len(s.measured))
	for i, column := range s.measured {
		r := &out.Streams[column]
		r.MeasuredKg, r.MeasuredUncertaintyKg = s.readings[i], s.uncertainty[i]
		// A weight that nothing checks still moves when its error goes together with that of another.
		r.FreeKg = adjusted.free[i]
		r.ReconciledKg, r.Bound = s.kept(adjusted, column, adjusted.reconciled[i])
		r.AdjustmentKg = r.ReconciledKg - r.MeasuredKg
		r.ReconciledUncertaintyKg = adjusted.uncertainty(adjusted.root.row(i))
		if r.Class == NonRedundant {
			continue
		}
		r.Standardised = adjusted.power[i] / math.Sqrt(adjusted.powerVariance[i])
		r.GrossErrorKg = adjusted.power[i] / adjusted.powerVariance[i]
		r.DetectableKg = out.MeasurementCritical / math.Sqrt(adjusted.powerVariance[i])
		r.Flagged = math.Abs(r.Standardised) > out.MeasurementCritical
		standardised[i] = r.Standardised
	}
	return standardised
}

func (s system) fillInferred(out *solution, st structure, adjusted adjustment) {
	for which, coefficients := range st.inference {
		r := &out.Streams[s.unmeasured[which]]
		column := s.unmeasured[which]
		r.FreeKg = dot(coefficients, adjusted.free)
		r.ReconciledKg, r.Bound = s.kept(adjusted, column, dot(coefficients, adjusted.reconciled))
		r.ReconciledUncertaintyKg = adjusted.uncertainty(adjusted.root.whitened(coefficients))
	}
}

func (s system) fillNodes(out *solution, root covarianceRoot) {
	out.Nodes = make([]NodeResult, len(s.balanceNames))
	testable := 0
	for b, name := range s.balanceNames {
		node := &out.Nodes[b]
		node.Name = name
		node.ImbalanceKg, node.UncertaintyKg, node.Testable = s.nodalTest(b, root)
		if node.Testable {
			node.Standardised = node.ImbalanceKg / node.UncertaintyKg
			testable++
		}
	}
	out.NodalCritical = criticalNormal(out.Significance, testable)
	for b := range out.Nodes {
		out.Nodes[b].Flagged = out.Nodes[b].Testable && math.Abs(out.Nodes[b].Standardised) > out.NodalCritical
	}
}
