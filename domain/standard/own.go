package standard

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"pullbook/domain/message"
)

// OwnParameter is what a rule set of the outfit's own names to be measured or looked at,
// since no published text limits it: a residue, a panel's score, the pollen of one plant.
type OwnParameter struct {
	// Name is what lines and results call it: small letters, digits and low lines.
	Name string `json:"name"`
	// Label is what people read; the name with blanks where it is empty.
	Label string `json:"label,omitempty"`
	// Unit is of its figures, as the buyer writes it; empty for what is answered by a word.
	Unit string `json:"unit,omitempty"`
	// Words are the answers of what is looked at: "not detected", "detected".
	Words []string `json:"words,omitempty"`
	// Minimum and Maximum are what figures of it can be, as decimal text in Unit, 0 or more.
	Minimum string `json:"minimum,omitempty"`
	Maximum string `json:"maximum,omitempty"`
}

// The most that a rule set may name of its own.
const (
	MostOwn      = 30
	mostOwnWords = 10
	mostOwnRunes = 80
)

var ownName = regexp.MustCompile(`^[a-z][a-z0-9_]{0,39}$`)

// leastMass is the unit in which masses in a mass are compared: the others are whole
// multiples of it, so that a figure keeps its places.
const leastMass = "ng/kg"

// massFractions are units that differ by a factor alone, each in leastMass. A percentage is
// none of them: it may be of pollen grains. "ppm" and "ppb" are by mass (common practice).
var massFractions = map[string]Decimal{
	"g/100 g": MustDecimal("10000000000"), "g/kg": MustDecimal("1000000000"), "mg/100 g": MustDecimal("10000000"), "mg/kg": MustDecimal("1000000"), "ppm": MustDecimal("1000000"),
	"µg/kg": MustDecimal("1000"), "μg/kg": MustDecimal("1000"), "ug/kg": MustDecimal("1000"), "ppb": MustDecimal("1000"), leastMass: decimalOne,
}

// ownUnits are the units in which a figure may be stated that is given in one of them.
// The first is the one that figures are compared in.
func ownUnits(unit string) []Unit {
	if _, isMass := massFractions[unit]; !isMass {
		return []Unit{{Name: unit, Factor: decimalOne, same: true}}
	}
	units := []Unit{{Name: leastMass, Factor: decimalOne, same: true}}
	for _, name := range sortedKeys(massFractions) {
		if name != leastMass {
			units = append(units, Unit{Name: name, Factor: massFractions[name]})
		}
	}
	return units
}

// SaidLabel is what people call it, as it was given.
func (o *OwnParameter) SaidLabel() string {
	if o.Label != "" {
		return o.Label
	}
	return strings.ReplaceAll(o.Name, "_", " ")
}

// IsObservation tells whether it is answered by a word rather than a figure.
func (o *OwnParameter) IsObservation() bool { return o.Unit == "" }

// Takes reports whether a figure may be stated in a unit.
func (o *OwnParameter) Takes(unit string) bool {
	return !o.IsObservation() && slices.ContainsFunc(ownUnits(o.Unit), func(u Unit) bool { return u.Name == unit })
}

// Units are those in which its figures may be stated, its own first.
func (o *OwnParameter) Units() []string {
	if o.IsObservation() {
		return nil
	}
	out := []string{o.Unit}
	for _, u := range ownUnits(o.Unit) {
		if u.Name != o.Unit {
			out = append(out, u.Name)
		}
	}
	return out
}

// Range is what a figure can be, in a unit that Takes it; a nil high is without end.
func (o *OwnParameter) Range(unit string) (low Decimal, high *Decimal) {
	p := o.parameter()
	in, _ := p.unit(unit)
	low = inUnit(*p.Minimum, in)
	if p.Maximum != nil {
		most := inUnit(*p.Maximum, in)
		high = &most
	}
	return low, high
}

// parameter is what lines of the rule set are compiled against.
func (o *OwnParameter) parameter() *Parameter {
	p := &Parameter{ID: o.Name, Name: o.SaidLabel(), Words: o.Words, Minimum: &Decimal{}, own: true}
	if o.IsObservation() {
		return p
	}
	p.Words, p.Units = nil, ownUnits(o.Unit)
	unit, _ := p.unit(o.Unit)
	if low, err := ParseDecimal(o.Minimum); err == nil {
		least := low.Mul(unit.Factor)
		p.Minimum = &least
	}
	if high, err := ParseDecimal(o.Maximum); err == nil {
		most := high.Mul(unit.Factor)
		p.Maximum = &most
	}
	return p
}

// key is under which results of a parameter are gathered: of the outfit's own, those that
// can be compared. Names have no blank, so that none of them is a known parameter's.
func (p *Parameter) key() string {
	switch {
	case !p.own:
		return p.ID
	case len(p.Units) == 0:
		return p.ID + " word"
	}
	return p.ID + " " + p.Units[0].Name
}

// reported is an own parameter as far as a result tells it: what a rule set says of it is
// looked at where the result is held against that rule set.
func (r *Result) reported() *Parameter {
	o := OwnParameter{Name: r.Parameter, Label: r.Label, Unit: r.Unit}
	return o.parameter()
}

// ParameterIDs lists the parameters that every book knows, by name.
func ParameterIDs() []string { return sortedKeys(parameterByID) }

// IsKnown reports whether a parameter is one that every book knows.
func IsKnown(parameter string) bool { return parameterByID[parameter] != nil }

// SayLabelled is a parameter in a sentence: by its label, where it is one of the outfit's
// own and has one, and else by its id.
func SayLabelled(parameter, label string) message.Text {
	if label != "" {
		return message.Verbatim(label)
	}
	return SayParameter(parameter)
}

// SaidParameter is what the line limits, in a sentence.
func (l *Limit) SaidParameter() message.Text { return SayLabelled(l.Parameter, l.Label()) }

// Label is what people call an own parameter; empty for one that every book knows.
func (l *Limit) Label() string {
	if l.parameter == nil || !l.parameter.own {
		return ""
	}
	return l.parameter.Name
}

// SayWord is the answer to something looked at, in a sentence; an outfit's own as it was given.
func SayWord(word string) message.Text {
	for _, p := range parameterList {
		if slices.Contains(p.Words, word) {
			return message.F("word|" + word)
		}
	}
	return message.Verbatim(word)
}

// parameterOf finds a parameter that a line of the rule set may name.
func (s *RuleSet) parameterOf(id string) (*Parameter, bool) {
	for i := range s.Parameters {
		if s.Parameters[i].Name == id {
			return s.Parameters[i].parameter(), true
		}
	}
	p, ok := parameterByID[id]
	return p, ok
}

// ownUnit is the unit of an own parameter, which its lines need not repeat.
func (s *RuleSet) ownUnit(id string) string {
	for _, o := range s.Parameters {
		if o.Name == id {
			return o.Unit
		}
	}
	return ""
}

func (s *RuleSet) parameterNames() []string {
	names := sortedKeys(parameterByID)
	for _, o := range s.Parameters {
		names = append(names, o.Name)
	}
	return names
}

func (s *RuleSet) validateOwn(p *problems) {
	if len(s.Parameters) > MostOwn {
		p.add("parameters", fmt.Sprint(len(s.Parameters)), "a rule set may name up to %s parameters of its own", MostOwn)
		return
	}
	for i := range s.Parameters {
		o := &s.Parameters[i]
		field := fmt.Sprintf("parameters/%d", i)
		o.validate(field, p)
		for _, before := range s.Parameters[:i] {
			if before.Name == o.Name {
				p.add(field+"/name", o.Name, "the rule set names it twice")
			}
		}
		if !slices.ContainsFunc(s.Limits, func(l Limit) bool { return l.Parameter == o.Name }) {
			p.add(field+"/name", o.Name, "no line of the rule set limits it; add the line, or leave the parameter out")
		}
	}
}

func (o *OwnParameter) validate(field string, p *problems) {
	if !ownName.MatchString(o.Name) {
		p.add(field+"/name", o.Name, "up to 40 small letters, digits and low lines, a letter first, such as glyphosate or panel_score")
	}
	for name, text := range map[string]string{"label": o.Label, "unit": o.Unit} {
		if utf8.RuneCountInString(text) > mostOwnRunes || strings.TrimSpace(text) != text {
			p.add(field+"/"+name, text, "up to %s letters, without blanks around them", mostOwnRunes)
		}
	}
	switch {
	case o.Unit == "" && len(o.Words) == 0:
		p.add(field+"/unit", "", "give the unit of its figures, or the words that answer it")
	case o.Unit != "" && len(o.Words) > 0:
		p.add(field+"/unit", o.Unit, "what is answered by a word has no unit")
	case o.Unit == "":
		o.validateWords(field, p)
	default:
		o.validateRange(field, p)
	}
}

func (o *OwnParameter) validateWords(field string, p *problems) {
	if len(o.Words) < 2 || len(o.Words) > mostOwnWords {
		p.add(field+"/words", quotedList(o.Words), "from 2 to %s answers, such as not detected and detected", mostOwnWords)
	}
	for i, word := range o.Words {
		if word == "" || utf8.RuneCountInString(word) > mostOwnRunes || strings.TrimSpace(word) != word || slices.Contains(o.Words[:i], word) {
			p.add(fmt.Sprintf("%s/words/%d", field, i), word, "each answer once, of up to %s letters", mostOwnRunes)
		}
	}
	if o.Minimum != "" || o.Maximum != "" {
		p.add(field+"/minimum", o.Minimum+o.Maximum, "only figures have a range")
	}
}

func (o *OwnParameter) validateRange(field string, p *problems) {
	var least Decimal
	for _, end := range []struct{ name, text string }{{"minimum", o.Minimum}, {"maximum", o.Maximum}} {
		if end.text == "" {
			continue
		}
		at, err := ParseDecimal(end.text)
		if err != nil || at.Sign() < 0 {
			p.add(field+"/"+end.name, end.text, "a plain decimal number, 0 or more: what figures of it can be")
			continue
		}
		if end.name == "maximum" && at.Cmp(least) <= 0 {
			p.add(field+"/maximum", end.text, "the most lies above the least, %s", least)
		}
		least = at
	}
}

// Collisions are the own parameters that every book knows under the same name: two
// figures of one thing would be judged apart. It is asked of what is recorded anew; a
// rule set recorded before a name became known goes on meaning what it meant.
func (s *RuleSet) Collisions() error {
	var p problems
	for i, o := range s.Parameters {
		for _, known := range parameterList {
			for name, text := range map[string]string{"name": o.Name, "label": o.Label} {
				if text != "" && (likeName(text) == likeName(known.ID) || likeName(text) == likeName(known.Name)) {
					p.add(fmt.Sprintf("parameters/%d/%s", i, name), text, "every book knows this: limit the parameter %s, and leave this one out", known.ID)
				}
			}
		}
	}
	return p.err()
}

// likeName is a name without what people write differently.
func likeName(text string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(" _-'", r) {
			return -1
		}
		return r
	}, strings.ToLower(text))
}
