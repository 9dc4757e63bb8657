package reconcile

import (
	"fmt"

	"pullbook/domain/message"
)

// Said says in one sentence what is known of the stream of that name.
func (s StreamResult) Said(name message.Text) message.Text {
	measured, reconciled := message.WithSD(s.MeasuredKg, s.MeasuredUncertaintyKg), message.WithSD(s.ReconciledKg, s.ReconciledUncertaintyKg)
	switch {
	case s.Class == Determinable:
		return message.F("%s: nobody weighed it; the other weights say %s.", name, reconciled)
	case s.Class == Indeterminable:
		return message.F("%s: nobody weighed it, and the other weights do not say how much it was.", name)
	case s.Class == NonRedundant:
		return message.F("%s: %s by the scale; no other weight checks it.", name, measured)
	case s.AdjustmentKg < 0:
		return message.F("%s: %s by the scale; %s fits all the other weights (%s less).", name, measured, reconciled, message.RoundKg(-s.AdjustmentKg))
	}
	return message.F("%s: %s by the scale; %s fits all the other weights (%s more).", name, measured, reconciled, message.RoundKg(s.AdjustmentKg))
}

// SaidBounded adds to what is known of a stream that it is kept at a bound.
func (s StreamResult) SaidBounded(known message.Text) message.Text {
	switch s.Bound {
	case AtLeast:
		return message.F("%s It cannot be less than nothing: the weights by themselves would make it %s.", known, message.RoundKg(s.FreeKg))
	case AtMost:
		return message.F("%s The tank holds no more: the weights by themselves would make it %s.", known, message.RoundKg(s.FreeKg))
	}
	return known
}

// Statement says in one sentence how the node balances as measured.
func (n NodeResult) Statement() string {
	switch {
	case !n.Testable:
		return n.Name + ": not everything was weighed here, so it cannot be compared by itself."
	case n.ImbalanceKg < 0:
		return fmt.Sprintf("%s: %s more went out than came in.", n.Name, kilograms(-n.ImbalanceKg))
	}
	return fmt.Sprintf("%s: %s more came in than went out.", n.Name, kilograms(n.ImbalanceKg))
}

func kilograms(kg float64) string { return message.F("%s", message.RoundKg(kg)).String() }
