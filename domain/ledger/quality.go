package ledger

import (
	"encoding/json"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// What is said about whether honey may be sold.
const (
	KindRuleSet    Kind = "rule_set"
	KindSample     Kind = "sample"
	KindCheck      Kind = "check"
	KindLotStatus  Kind = "lot_status"
	KindSettlement Kind = "settlement"
)

// RuleSet is limits of the outfit's own, such as a buyer's contract. Each
// correction is a new version; checks name the version they went by.
type RuleSet struct {
	Name    string `json:"name"`
	BuyerID ID     `json:"buyer_id,omitzero"`
	// Citation is the text that the limits come from: a contract's number.
	Citation    string        `json:"citation"`
	InForceFrom standard.Date `json:"in_force_from,omitempty"`
	InForceTo   standard.Date `json:"in_force_to,omitempty"`
	Note        string        `json:"note,omitempty"`

	Form       standard.Form          `json:"form"`
	Grades     []string               `json:"grades,omitempty"`
	BelowGrade string                 `json:"below_grade,omitempty"`
	Rounding   *standard.Rounding     `json:"rounding,omitempty"`
	Decision   *standard.DecisionRule `json:"decision,omitempty"`
	Sampling   *standard.Sampling     `json:"sampling,omitempty"`
	// MeasuredWithinDays is how old a result may be on the day of a check; 0 is any age.
	MeasuredWithinDays int                  `json:"measured_within_days,omitempty"`
	Price              *standard.PriceTerms `json:"price,omitempty"`
	// Parameters are what the rule set names of its own.
	Parameters []standard.OwnParameter `json:"parameters,omitempty"`
	Limits     []standard.Limit        `json:"limits"`
}

// RuleSetRef names a rule set: one that was published, or the outfit's own.
type RuleSetRef struct {
	// Standard is the id of a published rule set, or the family of its editions,
	// which means the edition in force on the day.
	Standard string `json:"standard,omitempty"`
	// RuleSetID is the outfit's own, and Version which version of it, from 1; 0
	// is the one that stands.
	RuleSetID ID  `json:"rule_set_id,omitzero"`
	Version   int `json:"version,omitempty"`
}

// Sample is a draw of the containers that are to be sampled. The draw follows
// from the seed, so that anyone can draw again.
type Sample struct {
	LotID   ID         `json:"lot_id"`
	RuleSet RuleSetRef `json:"rule_set"`
	// Seed is the entry's own id where none was sent.
	Seed string `json:"seed,omitempty"`

	// What the book works out.
	Drawn *Drawn `json:"drawn,omitempty"`
}

// Drawn is what a seed draws.
type Drawn struct {
	RuleSetName string `json:"rule_set_name"`
	Plan        string `json:"plan"`
	LotSize     int    `json:"lot_size"`
	// Containers are the fills in the order drawn, Numbers what is painted on them.
	Containers []ID     `json:"containers"`
	Numbers    []string `json:"numbers"`
}

// Check is rule sets applied to a lot, kept with all that it rested on.
type Check struct {
	LotID    ID                     `json:"lot_id"`
	RuleSets []RuleSetRef           `json:"rule_sets"`
	On       standard.Date          `json:"on"`
	Decision *standard.DecisionRule `json:"decision,omitempty"`
	Note     string                 `json:"note,omitempty"`

	// What the book works out.
	Found *Found `json:"found,omitempty"`
}

// Found is what a check came to and what it rested on.
type Found struct {
	// Through is the book's last entry when it was made.
	Through int64 `json:"through_entry"`
	Basis
	Results []RuleSetResult `json:"results"`
	// LeftOut says which readings did not count, and why.
	LeftOut []string `json:"left_out,omitempty"`
}

// Basis is the entries that a check rests on, as they stood.
type Basis struct {
	Lot      ID   `json:"lot_entry"`
	Fills    []ID `json:"fills"`
	Readings []ID `json:"readings"`
}

// RuleSetResult is the answer of one rule set.
type RuleSetResult struct {
	// ID is a published rule set's id, or the root id of the outfit's own.
	ID      string `json:"id"`
	Name    string `json:"name"`
	Edition string `json:"edition"`
	// Version and Entry are of the outfit's own.
	Version      int                   `json:"version,omitempty"`
	Entry        ID                    `json:"entry,omitzero"`
	Decision     standard.DecisionRule `json:"decision"`
	Outcome      string                `json:"outcome"`
	Grade        string                `json:"grade,omitempty"`
	NextGrade    string                `json:"next_grade,omitempty"`
	StandBetween []string              `json:"stand_between,omitempty"`
	LotSize      int                   `json:"lot_size"`
	Required     int                   `json:"containers_required"`
	FromMemory   bool                  `json:"from_memory,omitempty"`
	Lines        []VerdictLine         `json:"lines"`
	Notices      []string              `json:"notices"`
}

// SaidName is the rule set's title in a sentence.
func (r *RuleSetResult) SaidName() message.Text {
	if r.Version > 0 {
		return message.Verbatim(r.Name)
	}
	return standard.SayTitle(r.Name)
}

// VerdictLine is the answer of one line of a rule set. Figures are decimal text
// in Unit.
type VerdictLine struct {
	Parameter      string   `json:"parameter"`
	Label          string   `json:"label,omitempty"` // of a parameter of the outfit's own
	Grade          string   `json:"grade,omitempty"`
	Limit          string   `json:"limit"`
	Unit           string   `json:"unit,omitempty"`
	Clause         string   `json:"clause"`
	FromMemory     bool     `json:"from_memory,omitempty"`
	Outcome        string   `json:"outcome"`
	Value          string   `json:"value,omitempty"`
	LowValue       string   `json:"low_value,omitempty"` // where Value was carried to the day of the check, and may be as low by then
	LessThan       bool     `json:"less_than,omitempty"`
	StdUncertainty *float64 `json:"std_uncertainty,omitempty"`
	Guard          string   `json:"guard,omitempty"`
	Margin         string   `json:"margin,omitempty"`
	Probability    *float64 `json:"probability,omitempty"`
	Sampled        int      `json:"containers_sampled,omitempty"`
	Sentence       string   `json:"sentence"`
}

// Status says whether a lot may be sold.
type Status string

const (
	// StatusOpen: nothing was decided yet.
	StatusOpen Status = "open"
	// StatusHeld: it must not leave.
	StatusHeld Status = "held"
	// StatusReleased: its containers may be dispatched.
	StatusReleased Status = "released"
	// StatusGone: no container of it holds honey here any more. Nobody sets it.
	StatusGone Status = "gone"
)

// HoldReason says why a lot is held.
type HoldReason string

const (
	HeldForFermentation HoldReason = "fermentation_risk"
	HeldForLimit        HoldReason = "fails_a_limit"
	HeldForFinding      HoldReason = "finding_unresolved"
	HeldForRecall       HoldReason = "recall"
	HeldForOther        HoldReason = "other"
)

// Text is the reason in a sentence.
func (r HoldReason) Text() message.Text { return message.F("held|" + words(string(r))) }

// Text is the status in a sentence.
func (s Status) Text() message.Text { return message.F("lot|" + string(s)) }

// LotStatus holds a lot, releases it, or opens it again.
type LotStatus struct {
	LotID  ID         `json:"lot_id"`
	Status Status     `json:"status"`
	Why    HoldReason `json:"why,omitempty"`
	// CheckID is the check that a release rests on; RuleSets are the ids of
	// those of its rule sets that the lot is released by, all where none is named.
	CheckID  ID       `json:"check_id,omitzero"`
	RuleSets []string `json:"rule_sets,omitempty"`
	// Override releases without a check that meets; Note then says why.
	Override bool   `json:"override,omitempty"`
	Note     string `json:"note,omitempty"`
}

// Settlement is what a buyer says of a dispatch and pays for it. Nothing of it
// changes the outfit's own figures.
type Settlement struct {
	DispatchID ID `json:"dispatch_id"`
	// RuleSet is the outfit's own rule set with the price and its steps.
	RuleSet RuleSetRef `json:"rule_set"`
	// PaidMinor is what was paid for the honey, in minor units of the currency
	// of the price (cents).
	PaidMinor int64        `json:"paid_minor"`
	Drums     []BuyerFound `json:"drums"`
	Reference string       `json:"reference,omitempty"`
	Note      string       `json:"note,omitempty"`

	// TermsEntry is the version of the rule set that is gone by; the book works
	// it out.
	TermsEntry ID `json:"terms_entry,omitzero"`
}

// BuyerFound is what a buyer found on one container.
type BuyerFound struct {
	FillID      ID       `json:"fill_id"`
	NetG        int64    `json:"net_g"`
	MoisturePct *float64 `json:"moisture_pct,omitempty"`
	ColourPfund *float64 `json:"colour_mm_pfund,omitempty"`
	Note        string   `json:"note,omitempty"`
}

func (*RuleSet) Kind() Kind    { return KindRuleSet }
func (*Sample) Kind() Kind     { return KindSample }
func (*Check) Kind() Kind      { return KindCheck }
func (*LotStatus) Kind() Kind  { return KindLotStatus }
func (*Settlement) Kind() Kind { return KindSettlement }

// Sentence says what was drawn.
func (s *Sample) Sentence() message.Text {
	if s.Drawn == nil {
		return message.Text{}
	}
	return message.F("sample %s of %s containers: %s", len(s.Drawn.Containers), s.Drawn.LotSize, strings.Join(s.Drawn.Numbers, ", "))
}

// Sentence says what each rule set answered.
func (c *Check) Sentence() message.Text {
	if c.Found == nil {
		return message.Text{}
	}
	parts := make([]message.Text, len(c.Found.Results))
	for i, r := range c.Found.Results {
		parts[i] = message.F("%s: %s", r.SaidName(), standard.SayOutcome(r.Outcome))
		if r.Grade != "" {
			parts[i] = message.F("%s, %s", parts[i], standard.SayGrade(r.Grade))
		}
	}
	return message.F("%s", message.Series{Between: "; ", Items: parts})
}

// Compile makes a version of the outfit's own rule set one that lots can be
// held against. id names it, issuer is whose limits they are, the outfit's where
// empty; the error is of standard.FieldErrors whose paths
// are those of the entry.
func (r *RuleSet) Compile(id string, version int, issuer string) (*standard.RuleSet, error) {
	if issuer == "" {
		issuer = "the outfit"
	}
	own := standard.Source{SeenAt: "the outfit's book"}
	set := &standard.RuleSet{
		ID: id, Family: id, Edition: r.Citation, Version: version, Title: r.Name, Issuer: issuer,
		Citation: r.Citation, Jurisdiction: "as agreed", InForceFrom: r.InForceFrom, InForceTo: r.InForceTo, Notes: r.Note,
		Source: own, Form: r.Form, Grades: r.Grades, BelowGrade: r.BelowGrade,
		Decision: r.Decision, Sampling: r.Sampling, MeasuredWithinDays: r.MeasuredWithinDays, Price: r.Price, Parameters: r.Parameters, Limits: make([]standard.Limit, len(r.Limits)),
	}
	copy(set.Limits, r.Limits)
	for i := range set.Limits {
		set.Limits[i].Source = own
	}
	if r.Rounding != nil {
		set.Rounding = &standard.Rounding{Method: r.Rounding.Method, Source: own}
	}
	text, err := json.Marshal(set)
	if err != nil {
		return nil, err
	}
	return standard.ParseRuleSet(text)
}
