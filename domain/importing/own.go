package importing

import (
	"slices"
	"strings"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// OwnUnits are the units in which a parameter of the outfit's own may be stated, and
// none where it is answered by a word. Where rule sets name it twice, both count.
func OwnUnits(named []ledger.NamedParameter, parameter string) (units []Unit) {
	had := map[string]bool{}
	for _, o := range named {
		for _, unit := range o.Units() {
			if o.Name == parameter && !had[unit] {
				had[unit] = true
				units = append(units, Unit(unit))
			}
		}
	}
	return units
}

// ownOf is the parameter of the outfit's own that a heading names: by its name or by what
// people call it, with a unit behind it or none. The unit is empty where the heading has
// none and the parameter may be stated in several.
func (g *guess) ownOf(heading string) (parameter string, unit Unit) {
	if g.Of != Readings || wordsOf(heading) == nil {
		return "", ""
	}
	bare, _, bracketed := strings.Cut(heading, "(")
	if square, _, is := strings.Cut(heading, "["); is {
		bare, bracketed = square, true
	}
	for _, o := range g.own {
		for _, called := range [...]string{o.SaidLabel(), o.Name} {
			units := OwnUnits(g.own, o.Name)
			for _, u := range units {
				if saysUnit(heading, called, string(u)) {
					return o.Name, u
				}
			}
			if spelling.Plain(heading) == spelling.Plain(called) || bracketed && spelling.Plain(bare) == spelling.Plain(called) {
				if len(units) == 1 && spelling.Plain(heading) == spelling.Plain(called) {
					unit = units[0] // it cannot be in another
				}
				return o.Name, unit
			}
		}
	}
	return "", ""
}

// saysUnit reports whether a heading is what a parameter is called, with a unit behind it.
// Signs count in a unit: % is one, and ‰ is another.
func saysUnit(heading, called, unit string) bool {
	text := strings.TrimSpace(strings.TrimRight(strings.TrimSpace(heading), ")]"))
	rest, found := cutUnit(text, unit)
	return found && spelling.Plain(rest) == spelling.Plain(called)
}

// cutUnit takes a unit off the end of a text, where it stands apart from the letters
// before it: g/kg is not the end of µg/kg.
func cutUnit(text, unit string) (rest string, found bool) {
	from := len(text) - len(unit)
	if from <= 0 || !strings.EqualFold(text[from:], unit) {
		return text, false
	}
	rest = text[:from]
	if apart := strings.TrimRight(rest, " \u00a0\u202f([,;"); apart != rest || strings.ContainsAny(rest[len(rest)-1:], "0123456789") {
		return apart, true
	}
	return text, false
}

// addOwn takes a column up that holds a parameter of the outfit's own.
func (k *taking) addOwn(col *column) {
	for _, o := range k.book.OwnParameters() {
		if o.Name == col.Of {
			col.asked = append(col.asked, o)
		}
	}
	units := OwnUnits(col.asked, col.Of)
	switch {
	case col.asked != nil && col.Unit != "" && !slices.Contains(units, col.Unit):
		k.add(Problem{Code: NoUnit, Column: col.Column.Column, Heading: col.Heading, Field: FieldOwn, Sent: string(col.Unit), DidYouMean: texts(units),
			Message: message.F("Column %s cannot be in %s.", columnName(col.Column.Column, col.Heading), message.Quoted(string(col.Unit)))})
	case col.asked == nil:
		k.add(Problem{Code: UnknownName, Column: col.Column.Column, Heading: col.Heading, Field: FieldOwn, Sent: col.Of,
			Message: message.F("No rule set of yours asks for %s, so it would never be judged. Name it in the buyer's rule set first.", message.Quoted(col.Of))})
	}
	k.owns = append(k.owns, col)
}

// own reads the figures and answers of the parameters that rule sets of the outfit name.
// Whether they can be so, the book says.
func (k *taking) own(r *ledger.Reading) {
	for _, c := range k.owns {
		text := k.cell(c)
		units := OwnUnits(c.asked, c.Of)
		if word, answers := c.answer(text); answers || len(units) == 0 && !tables.Missing(text) {
			r.Observed = append(r.Observed, ledger.Observed{What: c.Of, Word: word})
			k.observedFrom = append(k.observedFrom, c)
			continue
		}
		if len(units) > 0 {
			k.ownFigure(r, c, text, units)
		}
	}
}

// answer is a word that answers a parameter, as its rule set writes it; else the text.
func (c *column) answer(text string) (word string, answers bool) {
	for _, o := range c.asked {
		for _, word := range o.Words {
			if sameName(word) == sameName(text) {
				return word, true
			}
		}
	}
	return text, false
}

func (k *taking) ownFigure(r *ledger.Reading, c *column, text string, units []Unit) {
	unit, longest := c.Unit, 0
	number := text
	for _, u := range units {
		if rest, found := cutUnit(text, string(u)); found && len(u) > longest {
			unit, number, longest = u, rest, len(u)
		}
	}
	x, given := k.number(c, number)
	switch {
	case !given:
		return
	case x.Unit != "":
		k.problem(NoUnit, c, message.F("%s is no unit that can be read here.", message.Quoted(x.Unit)), texts(units)...)
	case unit == "":
		k.problem(NoUnit, c, message.F("In which unit is this? Say it for column %s.", columnName(c.Column.Column, c.Heading)), texts(units)...)
	default:
		k.note(r, c, ledger.Measured{Quantity: ledger.OwnQuantity, Parameter: c.Of, Unit: string(unit), Value: x.Value, LessThan: x.LessThan})
	}
}

func texts(units []Unit) (out []string) {
	for _, u := range units {
		out = append(out, string(u))
	}
	return out
}
