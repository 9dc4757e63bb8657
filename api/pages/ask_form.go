package pages

import (
	"errors"
	"math"
	"net/url"
	"strings"

	"pullbook/api/locale"
	"pullbook/domain/fault"
)

// askForm is a question as a page asks it: a form that is sent with
// GET, so that an answer has an address and needs no script.
type askForm struct {
	ID, Title, Note, Button string
	Inputs                  []askInput
	figures                 locale.Voice
	// Asked is true where this is the question that was sent.
	Asked bool
	// Wrong is what is wrong with the question and with no one input.
	Wrong  []string
	Answer *calculatorAnswer
}

// askInput is an input: a number, or a choice where it has options.
type askInput struct {
	Name, Label, Unit, Note, Value string
	Wrong                          string
	// in is the metric unit of what outfits measure in one of two units.
	in string
	// Optional may be left empty.
	Optional bool
	Options  []askOption
}

type askOption struct {
	Value, Label string
	Chosen       bool
}

// fill puts what was sent into the inputs.
func (f *askForm) fill(sent url.Values) {
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

func (f *askForm) input(name string) *askInput {
	for i := range f.Inputs {
		if f.Inputs[i].Name == name {
			return &f.Inputs[i]
		}
	}
	return nil
}

// Temperature is the unit that temperatures are shown in.
func (f *askForm) Temperature() string { return f.figures.Temperature }

func (f *askForm) text(name string) string { return f.input(name).Value }

// chosen is what an input has; nil where it is empty.
func (f *askForm) chosen(name string) *string {
	if value := f.text(name); value != "" {
		return &value
	}
	return nil
}

// whole is a number of an input that has to be whole, from 0 to most; nil where it is empty or is not,
// which is said beside it.
func (f *askForm) whole(name string, most int) *int {
	x := f.number(name)
	if x == nil {
		return nil
	}
	if *x != math.Trunc(*x) || *x < 0 || *x > float64(most) {
		f.input(name).Wrong = f.figures.Say("This is a whole number from 0 to %s.", most)
		return nil
	}
	return new(int(*x))
}

// number reads an input in the unit that the contract takes; nil where it is
// empty or no number, which is said beside it.
func (f *askForm) number(name string) *float64 {
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
func inUnit(f locale.Voice, unit, name, label string, usual float64, places int) askInput {
	in := emptyInUnit(f, unit, name, label)
	in.Value = f.Typed(f.ToUnit(unit, usual), places)
	return in
}

// emptyInUnit is inUnit of what nobody knows beforehand.
func emptyInUnit(f locale.Voice, unit, name, label string) askInput {
	return askInput{Name: name, Label: label, Unit: f.Unit(unit), in: unit}
}

// may is an input that may be left empty.
func (in askInput) may(note string) askInput {
	in.Note, in.Optional = note, true
	return in
}

// complete reports whether nothing is wrong with the inputs so far.
func (f *askForm) complete() bool {
	for _, in := range f.Inputs {
		if in.Wrong != "" {
			return false
		}
	}
	return len(f.Wrong) == 0
}

// HasWrong reports whether something is wrong with the inputs.
func (f *askForm) HasWrong() bool { return !f.complete() }

// refuse says beside the inputs what is refused. Its pointers end in
// the inputs' names, except for those of known.
func (f *askForm) refuse(err *fault.Error, known map[string]string) {
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
