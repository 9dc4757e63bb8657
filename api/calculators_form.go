package api

import (
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"pullbook/domain/fault"
)

// calculatorForm is a question as the page asks it: a form that is sent with
// GET, so that an answer has an address and needs no script.
type calculatorForm struct {
	ID, Title, Note, Button string
	Inputs                  []calculatorInput
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
	Table            []heatRow
	Flags, Cautions  []string
	Formulas         []string
}

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

func (f *calculatorForm) text(name string) string { return f.input(name).Value }

// number reads an input, with a decimal point or a decimal comma; nil where it
// is empty or no number, which is said beside it.
func (f *calculatorForm) number(name string) *float64 {
	in := f.input(name)
	if in.Value == "" {
		if !in.Optional {
			in.Wrong = "This is needed."
		}
		return nil
	}
	if thousands.MatchString(in.Value) {
		in.Wrong = "Is that " + strings.ReplaceAll(in.Value, ",", "") + " or " + strings.Replace(in.Value, ",", ".", 1) + "? Write it without a comma."
		return nil
	}
	x, err := strconv.ParseFloat(strings.Replace(in.Value, ",", ".", 1), 64)
	if err != nil {
		in.Wrong = "This should be a number."
		return nil
	}
	return &x
}

// thousands is a number whose comma may part thousands or be a decimal comma.
var thousands = regexp.MustCompile(`^-?[1-9]\d{0,2},\d{3}$`)

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
// the inputs' names, but for those of known.
func (f *calculatorForm) refuse(err *fault.Error, known map[string]string) {
	for _, field := range err.Fields {
		name := field.Pointer[strings.LastIndexAny(field.Pointer, "/:")+1:]
		if other := known[name]; other != "" {
			name = other
		}
		if in := f.input(name); in != nil {
			in.Wrong = field.Message.String()
			continue
		}
		f.Wrong = append(f.Wrong, field.Message.String())
	}
}
