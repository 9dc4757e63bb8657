package ledger_test

import (
	"errors"
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/standard"
)

// A buyer asks for glyphosate in mg/kg from 0.01 to 2, and for a screening of antibiotics.
func TestAFigureOfABuyersOwnFitsWhatTheBuyerAsks(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	buyers := &ledger.RuleSet{Name: "Northgate", Citation: "contract 9", Form: standard.FormLimits, Parameters: []standard.OwnParameter{
		{Name: "glyphosate", Label: "Glyphosate", Unit: "mg/kg", Minimum: "0.01", Maximum: "2"},
		{Name: "antibiotic_screen", Label: "Screening", Words: []string{"clear", "not clear"}},
		{Name: "nitrate", Label: "Nitrate", Unit: "mg/kg", Minimum: "1"},
	}}
	set := o.SetUp(buyers)
	figure := func(name, unit string, v float64) ledger.Measured {
		return ledger.Measured{Quantity: ledger.OwnQuantity, Parameter: name, Unit: unit, Value: v}
	}
	below := figure("glyphosate", "mg/kg", 0.001)
	below.LessThan = true
	named := ledger.Measured{Quantity: "ph", Value: 4, Unit: "pH"}
	renamed := ledger.Measured{Quantity: "ph", Value: 4, Parameter: "acid"}
	answer := func(what, word string) ledger.Reading {
		return ledger.Reading{Observed: []ledger.Observed{{What: what, Word: word}}}
	}
	of := func(m ledger.Measured) ledger.Reading {
		return ledger.Reading{Laboratory: "Fern Valley", Measured: []ledger.Measured{m}}
	}
	told := func(r ledger.Reading, replaces ledger.ID) (string, any) {
		b := mustOpen(t, o.Entries)
		r.On = ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}
		e := &ledger.Entry{ID: o.Next(), Kind: ledger.KindReading, OccurredAt: ledgertest.At(1), Body: &r, Replaces: replaces}
		if replaces != (ledger.ID{}) {
			e.Reason = "typed wrong"
		}
		var f *fault.Error
		if err := errors.Join(b.Complete(e), b.Check(e, ledgertest.At(2))); !errors.As(err, &f) {
			return "", nil
		}
		if len(f.Fields) != 1 {
			t.Errorf("told are %v", f.Fields)
		}
		return f.Fields[0].Pointer + ": " + f.Fields[0].Message.String(), f.Fields[0].DidYouMean
	}
	for what, c := range map[string]struct {
		r     ledger.Reading
		want  string
		meant any
	}{
		"in its range":                  {of(figure("glyphosate", "mg/kg", 0.05)), "", nil},
		"at its lower end":              {of(figure("glyphosate", "mg/kg", 0.01)), "", nil},
		"at its upper end":              {of(figure("glyphosate", "mg/kg", 2)), "", nil},
		"less than what can be found":   {of(below), "", nil},
		"below its range":               {of(figure("glyphosate", "mg/kg", 0.001)), "/measured/0/value: Glyphosate, as Northgate has it, is from 0.01 to 2 mg/kg.", nil},
		"above its range":               {of(figure("glyphosate", "mg/kg", 3)), "/measured/0/value: Glyphosate, as Northgate has it, is from 0.01 to 2 mg/kg.", nil},
		"above a range without an end":  {of(figure("nitrate", "mg/kg", 9000)), "", nil},
		"below a range without an end":  {of(figure("nitrate", "mg/kg", 0)), "/measured/0/value: Nitrate, as Northgate has it, is at least 1 mg/kg.", nil},
		"below nothing":                 {of(figure("glyphosate", "mg/kg", -1)), "/measured/0/value: A figure of a parameter of your own is 0 or more.", nil},
		"in no unit":                    {of(figure("glyphosate", "", 1)), "/measured/0/unit: In which unit is it?", nil},
		"in another sort of unit":       {of(figure("glyphosate", "°C", 1)), "/measured/0/unit: Glyphosate, as Northgate has it, is a figure in mg/kg.", nil},
		"mistyped":                      {of(figure("glyfosate", "mg/kg", 1)), "/measured/0/parameter: No rule set of yours asks for \"glyfosate\", so it would never be judged. They ask for glyphosate, nitrate.", "glyphosate"},
		"that nobody asks for":          {of(figure("lead", "mg/kg", 1)), "/measured/0/parameter: No rule set of yours asks for \"lead\"", nil},
		"of the book's, with a unit":    {of(named), "/measured/0/quantity: Its name and unit are fixed", nil},
		"of the book's, under a name":   {of(renamed), "/measured/0/quantity: Its name and unit are fixed", nil},
		"answered by a word":            {answer("antibiotic_screen", "clear"), "", nil},
		"answered by another word":      {answer("antibiotic_screen", "fine"), "/observed/0/word: Screening, as Northgate has it, is answered by one of clear, not clear.", nil},
		"a figure answered by a word":   {answer("nitrate", "clear"), "/observed/0/what: Nitrate, as Northgate has it, is a figure in mg/kg.", nil},
		"an answer that is mistyped":    {answer("antibiotic_scren", "clear"), "/observed/0/what: No such parameter", "antibiotic_screen"},
		"an answer like nothing at all": {answer("zzzzzzzzzzzzzzzz", "clear"), "/observed/0/what: No such parameter", nil},
	} {
		said, meant := told(c.r, ledger.ID{})
		if !strings.HasPrefix(said, c.want) || (c.want == "") != (said == "") || meant != c.meant {
			t.Errorf("%s: told is %q (%v), want %q (%v)", what, said, meant, c.want, c.meant)
		}
	}
	// What a rule set asked for stays recordable in a correction once it asks no more.
	first := of(figure("glyphosate", "mg/kg", 0.05))
	first.On = ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}
	first.Observed = []ledger.Observed{{What: "antibiotic_screen", Word: "clear", Label: "Screening"}}
	was := o.Write(1, &first)
	o.Withdraw(set)
	again := of(figure("glyphosate", "mg/kg", 0.06))
	again.Observed = first.Observed
	if said, _ := told(again, was); said != "" {
		t.Errorf("a correction of what was asked for is refused: %s", said)
	}
	if said, _ := told(of(figure("glyphosate", "mg/kg", 0.06)), ledger.ID{}); !strings.Contains(said, "so it would never be judged. Name it in the buyer's rule set first.") {
		t.Errorf("nobody asks for it any more, and said is %q", said)
	}
	if said, _ := told(of(figure("nitrate", "mg/kg", 6)), was); !strings.Contains(said, "so it would never be judged") {
		t.Errorf("the reading named no nitrate, and said of its correction is %q", said)
	}
	if said, _ := told(answer("other_screen", "clear"), was); !strings.Contains(said, "No such parameter") {
		t.Errorf("the reading answered no such thing, and said of its correction is %q", said)
	}
}
