package standard

import (
	"fmt"

	"pullbook/domain/message"
)

// Condition says to which lots a limit applies. Exactly one form is filled in:
// all, any, not, an attribute with includes or only, or a result of the lot. No
// condition at all means the general line.
type Condition struct {
	All []Condition `json:"all,omitempty"`
	Any []Condition `json:"any,omitempty"`
	Not *Condition  `json:"not,omitempty"`

	// Attribute asks what the lot declares. Includes holds when at least one
	// declared value is among those listed; Only holds when something is declared
	// and all of it is among those listed, so that a blend loses an exception.
	Attribute string   `json:"attribute,omitempty"`
	Includes  []string `json:"includes,omitempty"`
	Only      []string `json:"only,omitempty"`

	// Result ties a limit to another result of the same lot, such as the lower
	// diastase limit that holds only with a low HMF.
	Result *ResultTest `json:"result,omitempty"`
}

// ResultTest compares the lot's value of one parameter with a figure.
type ResultTest struct {
	Parameter  string  `json:"parameter"`
	Unit       string  `json:"unit"`
	Comparator string  `json:"comparator"`
	Limit      Decimal `json:"limit"`
}

// truth is three-valued: a condition on a result that was not measured is unknown.
type truth int

const (
	no truth = iota
	unknown
	yes
)

func truthOf(b bool) truth {
	if b {
		return yes
	}
	return no
}

// conditionFacts is what conditions are evaluated against.
type conditionFacts interface {
	declared(attribute string) [][]string
	result(test *ResultTest) truth
}

// holds evaluates the condition by Kleene's rules; a nil condition always holds.
func (c *Condition) holds(f conditionFacts) truth {
	switch {
	case c == nil:
		return yes
	case len(c.All) > 0:
		all := yes
		for i := range c.All {
			all = min(all, c.All[i].holds(f))
		}
		return all
	case len(c.Any) > 0:
		any := no
		for i := range c.Any {
			any = max(any, c.Any[i].holds(f))
		}
		return any
	case c.Not != nil:
		return yes - c.Not.holds(f)
	case c.Result != nil:
		return f.result(c.Result)
	case len(c.Only) > 0:
		return truthOf(onlyAmong(f.declared(c.Attribute), c.Only))
	default:
		return truthOf(includesAny(f.declared(c.Attribute), c.Includes))
	}
}

func includesAny(declared [][]string, list []string) bool {
	for _, widened := range declared {
		if overlaps(widened, list) {
			return true
		}
	}
	return false
}

func onlyAmong(declared [][]string, list []string) bool {
	for _, widened := range declared {
		if !overlaps(widened, list) {
			return false
		}
	}
	return len(declared) > 0
}

func overlaps(a, b []string) bool {
	for _, x := range a {
		for _, y := range b {
			if x == y {
				return true
			}
		}
	}
	return false
}

// validate checks the form of the condition and every word in it.
func (c *Condition) validate(field string, p *problems) {
	if c == nil {
		return
	}
	if forms := c.formCount(); forms != 1 {
		p.add(field, fmt.Sprintf("%d forms", forms), "a condition has exactly one of all, any, not, attribute with includes or only, result")
		return
	}
	for i := range c.All {
		c.All[i].validate(fmt.Sprintf("%s/all/%d", field, i), p)
	}
	for i := range c.Any {
		c.Any[i].validate(fmt.Sprintf("%s/any/%d", field, i), p)
	}
	c.Not.validate(field+"/not", p)
	if c.Attribute != "" {
		c.validateAttribute(field, p)
	}
	if c.Result != nil {
		c.Result.validate(field+"/result", p)
	}
}

func (c *Condition) formCount() int {
	count := 0
	for _, filled := range []bool{len(c.All) > 0, len(c.Any) > 0, c.Not != nil, c.Result != nil, c.Attribute != "" || len(c.Includes) > 0 || len(c.Only) > 0} {
		if filled {
			count++
		}
	}
	return count
}

func (c *Condition) validateAttribute(field string, p *problems) {
	index, ok := attributeByID[c.Attribute]
	if !ok {
		p.add(field+"/attribute", c.Attribute, "a condition can ask for %s", quotedList(attributeNames()))
		return
	}
	if (len(c.Includes) > 0) == (len(c.Only) > 0) {
		p.add(field, c.Attribute, "give either includes or only, with at least one value")
		return
	}
	for _, value := range append(c.Includes, c.Only...) {
		if _, ok := index.widened[value]; !ok {
			p.add(field, value, "no such value of %s; one of %s", c.Attribute, quotedList(index.valueIDs()))
		}
	}
}

func (t *ResultTest) validate(field string, p *problems) {
	parameter, ok := parameterByID[t.Parameter]
	if !ok || parameter.IsObservation() {
		p.add(field+"/parameter", t.Parameter, "name a measured parameter that every book knows")
		return
	}
	if _, ok := parameter.unit(t.Unit); !ok {
		p.add(field+"/unit", t.Unit, "%s", parameter.unitAdvice(t.Unit))
	}
	switch t.Comparator {
	case "<=", "<", ">=", ">":
	default:
		p.add(field+"/comparator", t.Comparator, "one of <=, <, >=, >")
	}
}

// passes compares a value, in the test's unit, with the figure.
func (t *ResultTest) passes(value Decimal, o open) bool {
	order := value.Cmp(t.Limit)
	if order == 0 {
		order = int(o) // it comes as near as one likes, from that side
	}
	switch t.Comparator {
	case "<=":
		return order <= 0
	case "<":
		return order < 0
	case ">=":
		return order >= 0
	default:
		return order > 0
	}
}

// String says the condition in words; the general line gives an empty string.
func (c *Condition) String() string { return c.Said().String() }

// Said is String in a sentence.
func (c *Condition) Said() message.Text {
	switch {
	case c == nil:
		return message.Text{}
	case len(c.All) > 0:
		return message.F("%s", message.List(saidConditions(c.All)))
	case len(c.Any) > 0:
		return message.F("%s", message.Either(saidConditions(c.Any)))
	case c.Not != nil:
		return message.F("not (%s)", c.Not.Said())
	case c.Result != nil:
		return message.F("%s %s", SayParameter(c.Result.Parameter), c.Result.said())
	}
	attribute, known := attributeByID[c.Attribute]
	if !known {
		return message.Verbatim(c.Attribute)
	}
	name := attribute.said()
	if len(c.Only) > 0 {
		return message.F("%s is only %s", name, attribute.eitherOf(c.Only))
	}
	return message.F("%s includes %s", name, attribute.eitherOf(c.Includes))
}

func saidConditions(parts []Condition) []message.Text {
	said := make([]message.Text, len(parts))
	for i := range parts {
		said[i] = parts[i].Said()
		if len(parts[i].All) > 0 || len(parts[i].Any) > 0 {
			said[i] = message.F("(%s)", said[i])
		}
	}
	return said
}

// said is what the test asks of the result.
func (t *ResultTest) said() message.Text {
	end, side := bound{at: t.Limit, inclusive: t.Comparator == "<=" || t.Comparator == ">="}, upperSide
	if t.Comparator == ">=" || t.Comparator == ">" {
		side = lowerSide
	}
	return message.F("%s %s", end.said(side), SayUnit(t.Unit))
}

func (a *Attribute) eitherOf(values []string) message.Either {
	said := make(message.Either, len(values))
	for i, v := range values {
		said[i] = a.sayValue(v)
	}
	return said
}
