package standard

import (
	"fmt"
	"slices"
	"strings"

	"pullbook/domain/message"
)

// ParseRuleSet reads one rule set from JSON and checks it as a whole: every
// field, that units fit their parameters, that each line has a clause and a
// source, and that for any lot at most one line of a parameter applies. All that
// is wrong is reported at once as FieldErrors.
//
// A rule set that takes its limits from another (same_limits_as) is resolved by
// NewLibrary.
func ParseRuleSet(data []byte) (*RuleSet, error) {
	var set RuleSet
	if err := decodeStrict(data, &set); err != nil {
		return nil, fmt.Errorf("the rule set cannot be read: %w", err)
	}
	if err := set.compile(); err != nil {
		return nil, err
	}
	return &set, nil
}

func (s *RuleSet) compile() error {
	var p problems
	s.validateHead(&p)
	for i := range s.Limits {
		s.compileLimit(i, &p)
	}
	if len(p) > 0 {
		return p.err() // overlaps can only be judged once every line can be read
	}
	s.validateGroups(&p)
	return p.err()
}

func (s *RuleSet) validateHead(p *problems) {
	required := []struct{ field, value string }{
		{"id", s.ID}, {"family", s.Family}, {"edition", s.Edition}, {"title", s.Title},
		{"issuer", s.Issuer}, {"citation", s.Citation}, {"jurisdiction", s.Jurisdiction},
	}
	for _, r := range required {
		if strings.TrimSpace(r.value) == "" {
			p.add(r.field, "", "a verdict has to name it")
		}
	}
	s.Source.validate("source", p)
	if s.InForceTo != "" && s.InForceTo < s.InForceFrom {
		p.add("in_force_to", string(s.InForceTo), "it lies before in_force_from, %s", s.InForceFrom)
	}
	s.validateForm(p)
	if (len(s.Limits) == 0) == (s.SameAs == "") {
		p.add("limits", "", "give either limits or same_limits_as")
	}
	s.validateTerms(p)
	s.validateOwn(p)
}

func (s *RuleSet) validateForm(p *problems) {
	switch s.Form {
	case FormLimits:
		if len(s.Grades) > 0 {
			p.add("grades", quotedList(s.Grades), "a rule set of form limits has no grades")
		}
	case FormGrades, FormClasses:
		if len(s.Grades) == 0 {
			p.add("grades", "", "list the grades or classes, best or lightest first")
		}
	default:
		p.add("form", string(s.Form), "one of limits, grades, classes")
	}
}

func (s *RuleSet) validateTerms(p *problems) {
	if r := s.Rounding; r != nil {
		if !slices.Contains([]string{"absolute", "half_even", "half_up"}, r.Method) {
			p.add("rounding/method", r.Method, "one of absolute, half_even, half_up")
		}
		r.Source.validate("rounding/source", p)
	}
	if s.Decision != nil {
		s.Decision.validate("decision", p)
	}
	if s.Sampling != nil {
		s.Sampling.validate("sampling", p)
	}
	if s.Price != nil {
		s.Price.validate("price", p)
	}
	if days := s.MeasuredWithinDays; days < 0 || days > mostDays {
		p.add("measured_within_days", fmt.Sprint(days), "whole days from 1 to %s, or left out where any age will do", mostDays)
	}
}

// mostDays keeps a mistyped age from meaning nothing: ten years.
const mostDays = 3653

func (s Source) validate(field string, p *problems) {
	if (s.SeenAt == "") == !s.FromMemory {
		p.add(field, s.SeenAt, "say where the text was seen, or that it is from memory, and not both")
	}
}

func (s *RuleSet) compileLimit(i int, p *problems) {
	l := &s.Limits[i]
	field := fmt.Sprintf("limits/%d", i)
	if strings.TrimSpace(l.Clause) == "" {
		p.add(field+"/clause", "", "name the clause of the text that sets this limit")
	}
	l.Source.validate(field+"/source", p)
	l.When.validate(field+"/when", p)
	if l.Grade != "" && !slices.Contains(s.Grades, l.Grade) {
		p.add(field+"/grade", l.Grade, "one of the rule set's grades: %s", quotedList(s.Grades))
	}
	if s.Form == FormClasses && l.Grade == "" {
		p.add(field+"/grade", "", "each line of a rule set of classes names its class")
	}
	if l.ByMean && l.Every {
		p.add(field+"/by_mean", "true", "a line goes by the lot's mean or by each container, not by both")
	}
	if l.OnlyWhereLooked && l.Comparator != Is {
		p.add(field+"/only_where_looked", "true", "only a line about what is seen, with the comparator \"is\", can go by whether somebody looked")
	}
	parameter, ok := s.parameterOf(l.Parameter)
	if !ok {
		p.add(field+"/parameter", l.Parameter, "no such parameter; one of %s", quotedList(s.parameterNames()))
		return
	}
	l.parameter = parameter
	if l.Unit == "" {
		l.Unit = s.ownUnit(l.Parameter)
	}
	if l.Comparator == Exempt || l.Comparator == Permits {
		return
	}
	if parameter.IsObservation() {
		l.compileObservation(field, p)
		return
	}
	l.compileFigures(field, p)
}

func (l *Limit) compileObservation(field string, p *problems) {
	if l.Comparator != Is {
		p.add(field+"/comparator", string(l.Comparator), "%s is observed, so the comparator is \"is\"", l.parameter.said())
	}
	if !slices.Contains(l.parameter.Words, l.Limit) {
		p.add(field+"/limit", l.Limit, "%s is one of %s", l.parameter.said(), quotedList(l.parameter.Words))
	}
	if l.Unit != "" {
		p.add(field+"/unit", l.Unit, "%s is observed and has no unit", l.parameter.said())
	}
}

func (l *Limit) compileFigures(field string, p *problems) {
	unit, ok := l.parameter.unit(l.Unit)
	if !ok {
		p.add(field+"/unit", l.Unit, "%s", l.parameter.unitAdvice(l.Unit))
	}
	l.unit = unit
	switch l.Comparator {
	case AtMost, Below:
		l.upper = l.readBound(field+"/limit", l.Limit, l.Comparator == AtMost, p)
	case AtLeast, Above:
		l.lower = l.readBound(field+"/limit", l.Limit, l.Comparator == AtLeast, p)
	case Between:
		l.compileRange(field, p)
	default:
		p.add(field+"/comparator", string(l.Comparator), "one of <=, <, >=, >, between, is, exempt, permits, as fits the parameter")
	}
	if l.Guard != "" {
		guard, err := ParseDecimal(l.Guard)
		if err != nil || guard.Cmp(Decimal{}) < 0 {
			p.add(field+"/guard", l.Guard, "a guard is a distance in the unit of the limit, 0 or more")
		}
		l.guard = guard
	}
}

func (l *Limit) compileRange(field string, p *problems) {
	if !slices.Contains([]string{"[]", "[)", "(]", "()"}, l.Ends) {
		p.add(field+"/ends", l.Ends, "one of [], [), (], ()")
		return
	}
	if l.Limit == "" && l.LimitTo == "" {
		p.add(field+"/limit", "", "a range has at least one end")
		return
	}
	if l.Limit != "" {
		l.lower = l.readBound(field+"/limit", l.Limit, l.Ends[0] == '[', p)
	}
	if l.LimitTo != "" {
		l.upper = l.readBound(field+"/limit_to", l.LimitTo, l.Ends[1] == ']', p)
	}
	if l.lower.set && l.upper.set && l.lower.at.Cmp(l.upper.at) >= 0 {
		p.add(field+"/limit_to", l.LimitTo, "the upper end lies above the lower end, %s", l.Limit)
	}
}

func (l *Limit) readBound(field, text string, inclusive bool, p *problems) bound {
	at, err := ParseDecimal(text)
	if err != nil {
		p.add(field, text, "a limit is a plain decimal number, as printed in the text")
		return bound{}
	}
	if l.unit.Name == "" {
		return bound{} // the unit is what is wrong
	}
	inBase := at.Mul(l.unit.Factor)
	if low := l.parameter.Minimum; low != nil && inBase.Cmp(*low) < 0 {
		p.add(field, text, "%s cannot be below %s", l.parameter.said(), inUnit(*low, l.unit).Said())
	}
	if high := l.parameter.Maximum; high != nil && inBase.Cmp(*high) > 0 {
		p.add(field, text, "%s cannot be above %s", l.parameter.said(), inUnit(*high, l.unit).Said())
	}
	return bound{set: true, at: at, inclusive: inclusive}
}

// validateGroups finds, for each parameter and grade, lines that can never apply
// and lots to which two lines would apply with neither the more specific.
func (s *RuleSet) validateGroups(p *problems) {
	order, members := s.groupLimits()
	s.groups = s.groups[:0]
	for _, key := range order {
		group, err := s.buildGroup(members[key])
		if err != nil {
			*p = append(*p, err)
			continue
		}
		s.groups = append(s.groups, group)
	}
}

func (s *RuleSet) groupLimits() (order []string, members map[string][]int) {
	members = map[string][]int{}
	for i := range s.Limits {
		key := s.Limits[i].Parameter + "\x00" + s.Limits[i].Grade
		if _, ok := members[key]; !ok {
			order = append(order, key)
		}
		members[key] = append(members[key], i)
	}
	return order, members
}

func (s *RuleSet) buildGroup(limits []int) (limitGroup, error) {
	conditions := make([]*Condition, len(limits))
	for i, index := range limits {
		conditions[i] = s.Limits[index].When
	}
	lots, err := situations(conditions)
	if err != nil {
		return limitGroup{}, FieldError{Field: fmt.Sprintf("limits/%d/when", limits[0]), Got: conditions[0].String(), Want: message.Of(err)}
	}
	applies := make([][]bool, len(limits))
	for i, c := range conditions {
		applies[i] = make([]bool, len(lots))
		for j, lot := range lots {
			applies[i][j] = c.holds(lot) == yes
		}
	}
	group := limitGroup{limits: limits, narrower: narrowerMatrix(applies)}
	return group, s.checkGroup(group, applies)
}

func narrowerMatrix(applies [][]bool) [][]bool {
	narrower := make([][]bool, len(applies))
	for i := range applies {
		narrower[i] = make([]bool, len(applies))
		for j := range applies {
			narrower[i][j] = true
			for lot := range applies[i] {
				if applies[i][lot] && !applies[j][lot] {
					narrower[i][j] = false
					break
				}
			}
		}
	}
	return narrower
}

func (s *RuleSet) checkGroup(group limitGroup, applies [][]bool) error {
	var p problems
	chosen := make([]bool, len(applies))
	conflict := map[[2]int]bool{}
	for lot := range applies[0] {
		best := -1
		for i := range applies {
			if applies[i][lot] && (best < 0 || group.narrower[i][best]) {
				best = i
			}
		}
		if best < 0 {
			continue
		}
		chosen[best] = true
		for i := range applies {
			if i != best && applies[i][lot] && (!group.narrower[best][i] || group.narrower[i][best]) {
				conflict[[2]int{min(i, best), max(i, best)}] = true
			}
		}
	}
	for i, index := range group.limits {
		if !slices.Contains(applies[i], true) {
			p.add(fmt.Sprintf("limits/%d/when", index), s.Limits[index].When.String(), "no lot can ever meet this condition")
		}
	}
	s.reportConflicts(group, conflict, &p)
	if len(p) == 0 {
		for i, index := range group.limits {
			if !chosen[i] {
				p.add(fmt.Sprintf("limits/%d/when", index), s.Limits[index].When.String(), "more specific lines of %s always take precedence, so this one never decides", s.Limits[index].parameter.said())
			}
		}
	}
	return p.err()
}

func (s *RuleSet) reportConflicts(group limitGroup, conflict map[[2]int]bool, p *problems) {
	for i := range group.limits {
		for j := i + 1; j < len(group.limits); j++ {
			if !conflict[[2]int{i, j}] {
				continue
			}
			first, second := group.limits[i], group.limits[j]
			p.add(fmt.Sprintf("limits/%d/when", second), orGeneral(s.Limits[second].When),
				"for some lots both this line and limits/%s of %s (%s) apply, and neither condition is the more specific; exclude one from the other, or write a range as between",
				first, s.Limits[second].Parameter, orGeneral(s.Limits[first].When))
		}
	}
}

func orGeneral(c *Condition) string {
	if c == nil {
		return "the general line"
	}
	return c.String()
}
