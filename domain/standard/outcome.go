package standard

import "pullbook/domain/message"

// Outcome is the answer for one limit or for a lot, in order of severity.
type Outcome int

// The outcomes, from harmless to worst.
const (
	DoesNotApply Outcome = iota
	Meets
	TooClose    // too close to call under the decision rule
	NotMeasured // never counts as met
	Fails
)

func (o Outcome) String() string {
	return [...]string{"does not apply", "meets", "too close to call", "not measured", "fails"}[o]
}

// SayOutcome is an outcome, as its String has it, in a sentence.
func SayOutcome(outcome string) message.Text { return message.F("outcome|" + outcome) }

// Reason says why an outcome is what it is, beyond value against limit.
type Reason int

// The reasons a verdict can give.
const (
	ReasonNone Reason = iota
	ReasonConditionNotMet
	ReasonOutranked          // a line with a more specific condition applies
	ReasonConditionUnknown   // whether the line applies rests on a result that is missing
	ReasonExempt             // the standard sets no limit for such a lot
	ReasonPermission         // the line allows something and cannot be failed
	ReasonOtherClass         // the value lies in another class
	ReasonNoResult           // nothing was measured
	ReasonOnlyInProcess      // only measured before processing or blending was over
	ReasonContainersNeeded   // each container counts and only a composite was measured
	ReasonLessThanUndecided  // "less than" a figure that does not decide
	ReasonRestsOnUnmeasured  // the line that applies rests on a result that is missing
	ReasonWithinGuard        // between acceptance and rejection
	ReasonUncertaintyUnknown // the guard band needs an uncertainty that was not stated
	ReasonMeasureAgain       // time may have carried the figure past the limit since it was measured
	ReasonTooOld             // measured longer ago than the rule set allows
	ReasonFilledSince        // containers were filled after the last sample was taken
	ReasonExpectedOutside    // containers that nobody measured are expected outside the limit
	ReasonTooFewContainers   // the binding sampling plan was not fulfilled
	ReasonNobodyLooked       // the line holds only where somebody looked
)
