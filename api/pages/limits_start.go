package pages

import (
	"slices"

	"github.com/google/uuid"

	"pullbook/api/entries"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// limitsStart is what a form of a buyer's limits starts from: nothing, a published rule set,
// or one of the outfit's own.
type limitsStart struct {
	// from is a published rule set's id, or that of an outfit's entry; empty for nothing.
	from string
	// set is nil where the form starts from nothing.
	set *standard.RuleSet
	// value is the rule set as the contract has it, its lines in the order of set's.
	value map[string]any
}

// plainLimit is a limit that is asked for in a field of its own: in one for its least, in one
// for its most, or in both.
type plainLimit struct{ parameter, unit, least, most string }

// plainLimits are what most buyers limit; common practice.
var plainLimits = []plainLimit{
	{parameter: "moisture", unit: "%", most: "moisture"},
	{parameter: "hmf", unit: "mg/kg", most: "hmf"},
	{parameter: "diastase", unit: "Gothe scale", least: "diastase"},
	{parameter: "colour_pfund", unit: "mm Pfund", least: "colour_from", most: "colour_to"},
}

// ends are the least and the most that a line accepts, and whether the fields of its
// parameter can say it.
func (d plainLimit) ends(l *standard.Limit) (least, most string, ok bool) {
	if l.Parameter != d.parameter || l.When != nil {
		return "", "", false
	}
	switch {
	case l.Comparator == standard.AtMost:
		most = l.Limit
	case l.Comparator == standard.AtLeast:
		least = l.Limit
	case l.Comparator == standard.Between && l.Ends == "[]":
		least, most = l.Limit, l.LimitTo
	}
	return least, most, (least != "" || most != "") && (least == "" || d.least != "") && (most == "" || d.most != "")
}

// plain is the line of a start that the fields of a parameter show; -1 where none is.
func (s *limitsStart) plain(d plainLimit) int {
	if s.set == nil {
		return -1
	}
	return slices.IndexFunc(s.set.Limits, func(l standard.Limit) bool {
		_, _, ok := d.ends(&l)
		return ok
	})
}

// isPlain reports whether the fields show a line.
func (s *limitsStart) isPlain(line int) bool {
	return slices.ContainsFunc(plainLimits, func(d plainLimit) bool { return s.plain(d) == line })
}

// line is a line of the start as the contract has it, to be changed.
func (s *limitsStart) line(i int) map[string]any {
	return cloned(s.value["limits"].([]any)[i])
}

func cloned(v any) map[string]any {
	out := map[string]any{}
	if had, ok := v.(map[string]any); ok {
		for name, inner := range had {
			out[name] = inner
		}
	}
	return out
}

// startOf finds what a form starts from, as of a day. Rule sets of grades and classes are no
// start: what a buyer asks for is met or is not.
func startOf(b *ledger.Book, from string, on standard.Date) (*limitsStart, error) {
	s := &limitsStart{from: from, value: map[string]any{"form": string(standard.FormLimits)}}
	if from == "" {
		return s, nil
	}
	e, err := s.entry(b, on)
	if err != nil {
		return nil, err
	}
	s.value, err = entries.Value(e)
	return s, err
}

// entry finds the rule set as an entry; a published one is written as if it were the outfit's.
func (s *limitsStart) entry(b *ledger.Book, on standard.Date) (*ledger.Entry, error) {
	if id, err := uuid.Parse(s.from); err == nil {
		e, _ := b.Entry(id)
		if e == nil || e.Kind != ledger.KindRuleSet || e.Body.(*ledger.RuleSet).Form != standard.FormLimits {
			return nil, errNoStart
		}
		r := e.Body.(*ledger.RuleSet)
		s.set, err = r.Compile(b.Root(id).String(), b.VersionOf(e), b.Name(r.BuyerID))
		return e, err
	}
	library, err := standard.Published()
	if err != nil {
		return nil, err
	}
	set, ok := library.Get(s.from)
	if !ok || !set.InForce(on) || set.Form != standard.FormLimits {
		return nil, errNoStart
	}
	s.set = set
	return &ledger.Entry{Kind: ledger.KindRuleSet, Body: &ledger.RuleSet{
		Form: set.Form, Rounding: set.Rounding, Decision: set.Decision, Sampling: set.Sampling, Limits: set.Limits,
	}}, nil
}

var errNoStart = fault.New(fault.NotFound, "There are no such limits to start from.")

// publishedStarts are the published rule sets in force that limit what buyers limit.
func publishedStarts(on standard.Date) (out []*standard.RuleSet, err error) {
	library, err := standard.Published()
	if err != nil {
		return nil, err
	}
	for _, set := range library.AllInForce(on) {
		if set.Form == standard.FormLimits && slices.ContainsFunc(set.Limits, func(l standard.Limit) bool {
			return slices.ContainsFunc(plainLimits, func(d plainLimit) bool { return d.parameter == l.Parameter })
		}) {
			out = append(out, set)
		}
	}
	return out, nil
}
