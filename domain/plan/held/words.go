package held

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Said says what a step asks to be done.
func (s *Step) Said() message.Text {
	switch {
	case s.Does == ledger.PlanHeats && s.SetC == nil:
		return message.F("Switch off the heater of %s", s.About)
	case s.Does == ledger.PlanHeats:
		return message.F("Set the heater of %s to %s", s.About, message.Celsius(float64(*s.SetC)))
	case s.Does == ledger.PlanPulls && s.PlanStep.Count > 0:
		return message.F("Pull %s at %s", message.Plural{N: float64(s.PlanStep.Count), One: "%s super", Other: "%s supers"}, s.About)
	case s.Does == ledger.PlanPulls:
		return message.F("Pull at %s", s.About)
	case s.Does == ledger.PlanMoves:
		return message.F("Move the hives of %s", s.About)
	}
	containers := message.Plural{N: float64(s.PlanStep.Count), One: "%s container", Other: "%s containers"}
	if s.LastDay != "" {
		return message.F("Send %s of %s to %s by %s", containers, s.About, s.To, message.Date(s.LastDay))
	}
	return message.F("Send %s of %s to %s", containers, s.About, s.To)
}
