package pages

import (
	"errors"
	"net/url"
	"strings"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/domain/fault"
)

// calculatorForm is a question as the page asks it: a form that is sent with
// GET, so that an answer has an address and needs no script.
type calculatorForm struct {
	ID, Title, Note, Button string
	Inputs                  []calculatorInput
	figures                 locale.Voice
	// Asked is true where this is the question that was sent.
	Asked bool
	// Wrong is what is wrong with the question and with no one input.
	Wrong  []string
	Answer *calculatorAnswer
}

// calculatorInput is an input: a number, or a choice where it has options.
type calculatorInput struct {
	Name, Label, Unit, Note, Value string
	Wrong                          string
	// in is the metric unit of what outfits measure in one of two units.
	in string
	// Optional may be left empty.
	Optional bool
	Options  []calculatorOption
}

type calculatorOption struct {
	Value, Label string
	Chosen       bool
}

// calculatorAnswer is an answer as the page shows it.
type calculatorAnswer struct {
	// Headline is the figure asked for, Beside what belongs to it.
	Headline, Beside string
	Lines            []calculatorLine
	Chart, ChartText string
	Table            []chart.HeatRow
	Flags, Cautions  []string
	Formulas         []calculatorFormula
}

// calculatorFormula is a formula in words, and its source as it is cited.
type calculatorFormula struct{ Text, Source string }

type calculatorLine struct{ Name, Figure, Note string }

// fill puts what was sent into the inputs.
func (f *calculatorForm) fill(sent url.Values) {
	f.Asked = sent.Get("ask") == f.ID
	for i := range f.Inputs {
		in := &f.Inputs[i]
		if f.Asked && sent.Has(in.Name) {
			in.Value = strings.TrimSpace(sent.Get(in.Name))
		}
		for j := range in.Options {
			in.Options[j].Chosen = in.Options[j].Value == in.Value
		}
	}
}

func (f *calculatorForm) input(name string) *calculatorInput {
	for i := range f.Inputs {
		if f.Inputs[i].Name == name {
			return &f.Inputs[i]
		}
	}
	return nil
}

// Temperature is the unit that temperatures are shown in.
func (f *calculatorForm) Temperature() string { return f.figures.Temperature }

func (f *calculatorForm) text(name string) string { return f.input(name).Value }

// number reads an input in the unit that the calculators take; nil where it is
// empty or no number, which is said beside it.
func (f *calculatorForm) number(name string) *float64 {
	in := f.input(name)
	if in.Value == "" {
		if !in.Optional {
			in.Wrong = f.figures.Say("This is needed.")
		}
		return nil
	}
	x, err := f.figures.Parse(in.Value)
	var wrong *fault.Error
	if errors.As(err, &wrong) {
		in.Wrong = wrong.Message.In(f.figures)
		return nil
	}
	x = f.figures.ToMetric(in.in, x)
	return &x
}

// inUnit is an input of what outfits measure in one of two units, in the outfit's;
// usual is what it starts out with, in the metric one, to so many places.
func inUnit(f locale.Voice, unit, name, label string, usual float64, places int) calculatorInput {
	in := emptyInUnit(f, unit, name, label)
	in.Value = f.Typed(f.ToUnit(unit, usual), places)
	return in
}

// emptyInUnit is inUnit of what nobody knows beforehand.
func emptyInUnit(f locale.Voice, unit, name, label string) calculatorInput {
	return calculatorInput{Name: name, Label: label, Unit: f.Unit(unit), in: unit}
}

// may is an input that may be left empty.
func (in calculatorInput) may(note string) calculatorInput {
	in.Note, in.Optional = note, true
	return in
}

// complete reports whether nothing is wrong with the inputs so far.
func (f *calculatorForm) complete() bool {
	for _, in := range f.Inputs {
		if in.Wrong != "" {
			return false
		}
	}
	return len(f.Wrong) == 0
}

// refuse says beside the inputs what a calculator refuses. Its pointers end in
// the inputs' names, except for those of known.
func (f *calculatorForm) refuse(err *fault.Error, known map[string]string) {
	for _, field := range err.Fields {
		name := field.Pointer[strings.LastIndexAny(field.Pointer, "/:")+1:]
		if other := known[name]; other != "" {
			name = other
		}
		if in := f.input(name); in != nil {
			in.Wrong = field.Message.In(f.figures)
			continue
		}
		f.Wrong = append(f.Wrong, field.Message.In(f.figures))
	}
}
