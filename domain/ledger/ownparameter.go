package ledger

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/standard"
)

// OwnQuantity is the quantity of a figure whose parameter a rule set of the outfit names.
const OwnQuantity = "own"

// NamedParameter is a parameter that a rule set of the outfit names, and that rule set.
type NamedParameter struct {
	standard.OwnParameter
	By string
}

// OwnParameters lists what the outfit's rule sets in force name of their own, in the order
// in which the book learned of them. Two rule sets may name the same.
func (b *Book) OwnParameters() (out []NamedParameter) {
	b.InForceOf(KindRuleSet, func(_ ID, e *Entry) bool {
		if r, ok := e.Body.(*RuleSet); ok {
			for _, o := range r.Parameters {
				out = append(out, NamedParameter{o, r.Name})
			}
		}
		return true
	})
	return out
}

// namesOwn reports whether a figure's or an answer's parameter is one of the outfit's own,
// as far as the reading knows.
func (r *Reading) namesOwn() bool {
	return slices.ContainsFunc(r.Measured, func(m Measured) bool { return m.Quantity == OwnQuantity }) ||
		slices.ContainsFunc(r.Observed, func(o Observed) bool { return !standard.IsKnown(o.What) })
}

// completeOwn writes down what the outfit calls the parameters that a reading names, so
// that it is shown so whatever becomes of the rule set.
func (b *Book) completeOwn(r *Reading) {
	if !r.namesOwn() {
		return
	}
	label := map[string]string{}
	for _, o := range b.OwnParameters() {
		label[o.Name] = o.SaidLabel()
	}
	for i := range r.Measured {
		m := &r.Measured[i]
		m.Label = ""
		if m.Quantity == OwnQuantity {
			m.Label = cmp.Or(label[m.Parameter], words(m.Parameter))
		}
	}
	for i := range r.Observed {
		o := &r.Observed[i]
		o.Label = ""
		if !standard.IsKnown(o.What) {
			o.Label = cmp.Or(label[o.What], words(o.What))
		}
	}
}

// withoutLabels is a reading as it was sent: what its parameters are called is the book's.
func (r *Reading) withoutLabels() *Reading {
	if !r.namesOwn() {
		return r
	}
	c := *r
	c.Measured, c.Observed = slices.Clone(r.Measured), slices.Clone(r.Observed)
	for i := range c.Measured {
		c.Measured[i].Label = ""
	}
	for i := range c.Observed {
		c.Observed[i].Label = ""
	}
	return &c
}

// namedBefore are the own parameters that the entry which a correction replaces names: they
// may stand again, though no rule set names them any more.
func (c *checker) namedBefore() map[string]bool {
	before := map[string]bool{}
	if e, _ := c.book.Entry(c.entry.Replaces); e != nil {
		if r, ok := e.Body.(*Reading); ok {
			for _, m := range r.Measured {
				before[m.Parameter] = true
			}
			for _, o := range r.Observed {
				before[o.What] = true
			}
		}
	}
	return before
}

// ownParameters refuses a figure or answer that no rule set asks for: it would never be
// judged, and may be a slip of the pen. One that does not fit what rule sets ask is refused too.
func (c *checker) ownParameters(r *Reading) {
	for i, m := range r.Measured {
		if m.Quantity != OwnQuantity && (m.Parameter != "" || m.Unit != "") {
			c.wrong(fmt.Sprintf("/measured/%d/quantity", i), m.Quantity, "Its name and unit are fixed: leave out parameter and unit, or choose own where a rule set of yours names it.")
		}
	}
	if !r.namesOwn() {
		return
	}
	known, before := c.book.OwnParameters(), c.namedBefore()
	for i, m := range r.Measured {
		if m.Quantity == OwnQuantity {
			c.ownFigure(fmt.Sprintf("/measured/%d", i), m, known, before)
		}
	}
	for i, o := range r.Observed {
		if !standard.IsKnown(o.What) {
			c.ownAnswer(fmt.Sprintf("/observed/%d", i), o, known, before)
		}
	}
}

func (c *checker) ownFigure(at string, m Measured, known []NamedParameter, before map[string]bool) {
	asked := slices.DeleteFunc(slices.Clone(known), func(o NamedParameter) bool { return o.Name != m.Parameter })
	switch {
	case m.Unit == "":
		c.wrong(at+"/unit", nil, "In which unit is it? A figure without its unit may be off by a thousand.")
		return
	case m.Value < 0:
		c.wrong(at+"/value", m.Value, "A figure of a parameter of your own is 0 or more.")
		return
	case len(asked) == 0 && before[m.Parameter]:
		return
	case len(asked) == 0:
		c.nobodyNames(at+"/parameter", m.Parameter, known)
		return
	}
	fits := slices.DeleteFunc(slices.Clone(asked), func(o NamedParameter) bool { return !o.Takes(m.Unit) })
	if len(fits) == 0 {
		c.unfit(at+"/unit", m.Unit, asked[0])
		return
	}
	for _, o := range fits {
		low, high := o.Range(m.Unit)
		value, err := standard.ParseDecimal(figure(m.Value))
		if err == nil && (value.Cmp(low) >= 0 || m.LessThan) && (high == nil || value.Cmp(*high) <= 0) {
			return
		}
	}
	low, high := fits[0].Range(m.Unit)
	if high == nil {
		c.wrong(at+"/value", m.Value, "%s, as %s has it, is at least %s %s.", message.Capital(message.Verbatim(fits[0].SaidLabel())), fits[0].By, low.Said(), m.Unit)
		return
	}
	c.wrong(at+"/value", m.Value, "%s, as %s has it, is from %s to %s %s.", message.Capital(message.Verbatim(fits[0].SaidLabel())), fits[0].By, low.Said(), high.Said(), m.Unit)
}

func (c *checker) ownAnswer(at string, o Observed, known []NamedParameter, before map[string]bool) {
	asked := slices.DeleteFunc(slices.Clone(known), func(k NamedParameter) bool { return k.Name != o.What })
	switch {
	case len(asked) == 0 && before[o.What]:
	case len(asked) == 0:
		c.nobodyLooksAt(at+"/what", o.What, known)
	case !slices.ContainsFunc(asked, NamedParameter.isAnswered):
		c.unfit(at+"/what", o.What, asked[0])
	case !slices.ContainsFunc(asked, func(k NamedParameter) bool { return slices.Contains(k.Words, o.Word) }):
		c.unfit(at+"/word", o.Word, asked[slices.IndexFunc(asked, NamedParameter.isAnswered)])
	}
}

func (p NamedParameter) isAnswered() bool { return p.IsObservation() }

// unfit says how a rule set states a parameter.
func (c *checker) unfit(at, sent string, asked NamedParameter) {
	label := message.Capital(message.Verbatim(asked.SaidLabel()))
	if asked.IsObservation() {
		c.wrong(at, sent, "%s, as %s has it, is answered by one of %s.", label, asked.By, strings.Join(asked.Words, ", "))
		return
	}
	c.wrong(at, sent, "%s, as %s has it, is a figure in %s.", label, asked.By, asked.Unit)
}

// mostSlips is by how many letters a name may be mistyped for another.
const mostSlips = 3

// nobodyNames refuses a figure's name, with those that rule sets have and the one that was meant.
func (c *checker) nobodyNames(at, sent string, known []NamedParameter) {
	names := namesOf(known, false)
	f := fault.Field{Pointer: at, Sent: sent, Message: message.F("No rule set of yours asks for %s, so it would never be judged. Name it in the buyer's rule set first.", message.Quoted(sent))}
	if len(names) > 0 {
		f.Message = message.F("No rule set of yours asks for %s, so it would never be judged. They ask for %s. Choose one of these, or name it in the buyer's rule set first.", message.Quoted(sent), strings.Join(names, ", "))
	}
	c.meant(f, sent, names)
}

// nobodyLooksAt refuses what no rule set, published or of the outfit, looks at.
func (c *checker) nobodyLooksAt(at, sent string, known []NamedParameter) {
	own := namesOf(known, true)
	names := append(standard.ParameterIDs(), own...)
	c.meant(fault.Field{Pointer: at, Sent: sent, Message: message.F("No such parameter; one of %s.", strings.Join(names, ", "))}, sent, names)
}

func (c *checker) meant(f fault.Field, sent string, names []string) {
	if near := spelling.Nearest(sent, names, mostSlips); near != "" {
		f.DidYouMean = near
	}
	c.fields = append(c.fields, f)
}

// namesOf are the names of figures, or of what is answered by a word, each once.
func namesOf(known []NamedParameter, answered bool) (names []string) {
	for _, o := range known {
		if o.IsObservation() == answered && !slices.Contains(names, o.Name) {
			names = append(names, o.Name)
		}
	}
	return names
}
