package standard

import "pullbook/domain/message"

// Form says what a rule set answers.
type Form string

const (
	// FormLimits: every limit that applies must be met.
	FormLimits Form = "limits"
	// FormGrades: limits belong to grades, best first; the best grade met counts.
	FormGrades Form = "grades"
	// FormClasses: the lot falls into one of several classes, none better than another.
	FormClasses Form = "classes"
)

// Comparator says how a value is compared with a limit.
type Comparator string

// The comparators of a limit.
const (
	AtMost  Comparator = "<="
	Below   Comparator = "<"
	AtLeast Comparator = ">="
	Above   Comparator = ">"
	Between Comparator = "between" // from limit to limit_to, ends as stated
	Is      Comparator = "is"      // an observation, by its word
	Exempt  Comparator = "exempt"  // the standard sets no limit for these lots
	Permits Comparator = "permits" // the standard allows something; nothing to fail
)

// Source says where a text was seen. Exactly one of SeenAt and FromMemory is filled.
type Source struct {
	SeenAt     string `json:"seen_at,omitempty"`
	FromMemory bool   `json:"from_memory,omitempty"`
	Note       string `json:"note,omitempty"`
}

// Limit is one line of a standard.
type Limit struct {
	Parameter  string     `json:"parameter"`
	Unit       string     `json:"unit,omitempty"`
	Comparator Comparator `json:"comparator"`
	// Limit is decimal text as printed in the standard, or the word of an
	// observation. LimitTo is the upper end of a range. Either end of a range
	// may be left out where the class is open.
	Limit   string `json:"limit,omitempty"`
	LimitTo string `json:"limit_to,omitempty"`
	// Ends of a range: "[" and "]" include the end, "(" and ")" exclude it.
	Ends string `json:"ends,omitempty"`
	// When is the condition under which the line applies; absent is the general line.
	When  *Condition `json:"when,omitempty"`
	Grade string     `json:"grade,omitempty"`
	// Every holds the line against each container measured instead of the lot's mean.
	Every bool `json:"every_container,omitempty"`
	// ByMean holds the line against the lot's mean alone, whatever single containers read, as
	// a buyer may agree to. In a rule set of form limits each container counts otherwise.
	ByMean bool `json:"by_mean,omitempty"`
	// OnlyWhereLooked keeps a line about what is seen from asking for a look: it holds where
	// somebody looked, and does not apply where nobody did.
	OnlyWhereLooked bool `json:"only_where_looked,omitempty"`

	Guard  string `json:"guard,omitempty"` // a fixed distance to keep from the limit, in its unit
	Clause string `json:"clause"`
	Note   string `json:"note,omitempty"`
	Source Source `json:"source"`

	parameter    *Parameter
	unit         Unit
	lower, upper bound
	guard        Decimal
}

// bound is one end of what a limit accepts, in the limit's unit.
type bound struct {
	set       bool
	at        Decimal
	inclusive bool
}

// Rounding says how a result is brought to the places of the limit before it is compared.
type Rounding struct {
	// Method: "absolute" (every digit counts, the default), "half_even" or "half_up".
	Method string `json:"method"`
	Source Source `json:"source"`
}

// Sampling is how many containers are to be sampled: by one of the known plans,
// or by steps of the rule set's own. A binding plan turns a limit judged on too
// few containers into "not measured".
type Sampling struct {
	Plan    string         `json:"plan,omitempty"`
	Steps   []SamplingStep `json:"steps,omitempty"`
	Binding bool           `json:"binding,omitempty"`
}

// RuleSet is the limits of one edition of a standard, or of one version of a
// buyer's contract.
type RuleSet struct {
	ID           string        `json:"id"`
	Family       string        `json:"family"`  // editions of one text share a family
	Edition      string        `json:"edition"` // how a verdict names this edition
	Version      int           `json:"version,omitempty"`
	Title        string        `json:"title"`
	Issuer       string        `json:"issuer"`
	Citation     string        `json:"citation"`
	Jurisdiction string        `json:"jurisdiction"`
	InForceFrom  Date          `json:"in_force_from,omitempty"`
	InForceTo    Date          `json:"in_force_to,omitempty"`
	Notes        string        `json:"notes,omitempty"`
	Source       Source        `json:"source"`
	Form         Form          `json:"form"`
	Grades       []string      `json:"grades,omitempty"`         // best first
	BelowGrade   string        `json:"below_grade,omitempty"`    // what a lot that meets none is called
	SameAs       string        `json:"same_limits_as,omitempty"` // takes the limits of another rule set
	Rounding     *Rounding     `json:"rounding,omitempty"`
	Decision     *DecisionRule `json:"decision,omitempty"`
	Sampling     *Sampling     `json:"sampling,omitempty"`
	// MeasuredWithinDays is how old a result may be on the day of a check; 0 is any age.
	MeasuredWithinDays int         `json:"measured_within_days,omitempty"`
	Price              *PriceTerms `json:"price,omitempty"`
	// Parameters are what the rule set names of its own, beside those that every book knows.
	Parameters []OwnParameter `json:"parameters,omitempty"`
	Limits     []Limit        `json:"limits,omitempty"`

	groups []limitGroup
}

// limitGroup holds the limits of one parameter and grade, of which at most one
// applies to a lot: the one whose condition is the most specific.
type limitGroup struct {
	limits []int
	// narrower[i][j]: whenever limit i applies, limit j would apply too.
	narrower [][]bool
}

// InForce tells whether the edition is in force on the day. An undated text always is.
func (s *RuleSet) InForce(on Date) bool {
	return (s.InForceFrom == "" || s.InForceFrom <= on) && (s.InForceTo == "" || on <= s.InForceTo)
}

// Undated tells whether the text carries no date from which it is in force.
func (s *RuleSet) Undated() bool { return s.InForceFrom == "" }

// Name is how a verdict names what it was checked against: edition, and version
// for the outfit's own.
func (s *RuleSet) Name() string { return s.Said().String() }

// Said is Name in a sentence.
func (s *RuleSet) Said() message.Text {
	if s.Own() {
		return message.F("%s, %s, version %s", s.Title, s.Edition, s.Version)
	}
	return message.F("%s, %s", SayTitle(s.Title), SayEdition(s.Edition))
}

// SaidTitle is the title alone.
func (s *RuleSet) SaidTitle() message.Text {
	if s.Own() {
		return message.Verbatim(s.Title)
	}
	return SayTitle(s.Title)
}

// Own tells an outfit's rule set, which has versions and speaks in the outfit's
// words, from a published one.
func (s *RuleSet) Own() bool { return s.Version > 0 }

// NotInForceError is a check against an edition on a day when it is not in force.
type NotInForceError struct {
	RuleSet *RuleSet
	On      Date
	Current *RuleSet // the edition in force on that day, where there is one
}

func (e NotInForceError) Error() string { return e.Said().String() }

// Said is the error in the words of a reader's language.
func (e NotInForceError) Said() message.Text {
	when := message.F("is not yet in force on %s; it starts on %s", string(e.On), string(e.RuleSet.InForceFrom))
	if e.RuleSet.InForceTo != "" && e.On > e.RuleSet.InForceTo {
		when = message.F("was no longer in force on %s; it ended on %s", string(e.On), string(e.RuleSet.InForceTo))
	}
	if e.Current == nil {
		return message.F("rule set %s %s", e.RuleSet.ID, when)
	}
	return message.F("rule set %s %s; on that day use %s", e.RuleSet.ID, when, e.Current.ID)
}
