package importing

import (
	"math"
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// scale is another unit of a figure that the book keeps in one unit only. By is how many of the
// book's it is; 0 where that is not known, and is asked.
type scale struct {
	said string // as a heading or cell has it, in lower case and without blanks
	by   float64
}

// scales are the other units of figures, by their fields: a colour in centimetres or inches of the
// Pfund scale, HMF per 100 g, microsiemens. Acidity as a share, of formic acid say, and diastase in
// units of an enzyme have no factor that holds for every method.
var scales = map[Field][]scale{
	FieldColour:       {{"cm", 10}, {"inches", 25.4}, {"inch", 25.4}},
	FieldHMF:          {{"mg/100g", 10}, {"mgper100g", 10}},
	FieldConductivity: {{"us/cm", 0.001}, {"uscm", 0.001}, {"microsiemens", 0.001}, {"s/m", 0}},
	FieldFreeAcidity:  {{"%", 0}, {"g/100", 0}, {"formic", 0}, {"fórmico", 0}, {"formico", 0}, {"pct", 0}, {"/100g", 0}},
	FieldDiastase:     {{"kat", 0}, {"u/g", 0}, {"u/kg", 0}, {"u/l", 0}},
	FieldMoisture:     {{"g/kg", 0.1}},
}

// compactUnit is a text as scales has units: micro written as u.
var compactUnit = strings.NewReplacer("µ", "u", "μ", "u", " ", "", "\u00a0", "", "·", "", "-1", "")

// scaleIn is the other unit that a heading names for a field; nil where it names none.
func scaleIn(f Field, heading string) *scale {
	for i := range scales[f] {
		s, found := &scales[f][i], false
		if isLetters(s.said) && len(s.said) < len("inch") { // a word of its own
			found = slices.Contains(wordsOf(heading), s.said)
		} else {
			found = strings.Contains(compactUnit.Replace(strings.ToLower(heading)), s.said)
		}
		if found {
			return s
		}
	}
	return nil
}

func isLetters(text string) bool { return strings.Trim(text, "abcdefghijklmnopqrstuvwxyz") == "" }

// scaleOf is by what a figure has to be multiplied: by its own unit, else that of the heading. It is
// nil where it is in the book's unit.
func (c *column) scaleOf(own string) *scale {
	if own == "" {
		return c.scale
	}
	for i := range scales[c.Field] {
		if s := &scales[c.Field][i]; compactUnit.Replace(own) == s.said {
			return s
		}
	}
	return nil
}

// scaled puts a figure into the unit that the book keeps, or asks.
func (k *taking) scaled(c *column, text string, x *tables.Figure) bool {
	s := c.scaleOf(x.Unit)
	switch {
	case s == nil:
		return true
	case s.by == 0:
		k.problemOnce(NoUnit, c, message.F("Column %s is in another unit than the book keeps, which is %s: convert its figures and name that unit in the heading, or leave the column unread.", columnName(c.Column.Column, c.Heading), c.Field.text()))
		return false
	}
	const digits = 1e9 // of what was reckoned in binary
	x.Value = math.Round(x.Value*s.by*digits) / digits
	if x.Unit == "" {
		text += " " + s.said
	}
	k.keep(strings.TrimSpace(string(c.Field)+" "+c.Of), text)
	x.Unit = ""
	return true
}
