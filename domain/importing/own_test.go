package importing_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// asks has a buyer's rule set ask for parameters of its own.
func (h *house) asks() {
	h.SetUp(&ledger.Lot{Code: "OLD"})
	h.SetUp(&ledger.RuleSet{Name: "Millstone residues", Citation: "contract 7", Form: standard.FormLimits,
		Parameters: []standard.OwnParameter{
			{Name: "glyphosate", Label: "Glyphosate in honey", Unit: "µg/kg", Maximum: "100000"},
			{Name: "tylosin", Label: "Tylosin A", Words: []string{"not detected", "detected"}},
			{Name: "panel_score", Unit: "points", Minimum: "1", Maximum: "10"},
		},
		Limits: []standard.Limit{
			{Parameter: "glyphosate", Unit: "µg/kg", Comparator: standard.AtMost, Limit: "50", Clause: "2"},
			{Parameter: "tylosin", Comparator: standard.Is, Limit: "not detected", Clause: "3"},
			{Parameter: "panel_score", Unit: "points", Comparator: standard.AtLeast, Limit: "7", Clause: "4"},
		}})
}

func own(parameter, unit string, value float64) ledger.Measured {
	return ledger.Measured{Quantity: ledger.OwnQuantity, Parameter: parameter, Unit: unit, Value: value}
}

func TestASheetOfResultsCarriesWhatABuyerNames(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.asks()
	h.bring(t, importing.Readings, "Date,Lot,Lab,Moisture,Glyphosate in honey (µg/kg),Tylosin A,panel score\n"+
		"2026-07-06,OLD,Fern Valley,17.4,<10,Not detected,8.5\n2026-07-07,OLD,Fern Valley,,0.02 mg/kg,,\n2026-07-08,OLD,Fern Valley,,,detected,\n2026-07-09,OLD,Fern Valley,17.5,,,\n")
	got := bodies[ledger.Reading](h)
	less := own("glyphosate", "µg/kg", 10)
	less.LessThan = true
	for i, want := range []struct {
		measured []ledger.Measured
		observed []ledger.Observed
	}{
		{[]ledger.Measured{less, own("panel_score", "points", 8.5)}, []ledger.Observed{{What: "tylosin", Word: "not detected"}}},
		{[]ledger.Measured{own("glyphosate", "mg/kg", 0.02)}, nil},
		{nil, []ledger.Observed{{What: "tylosin", Word: "detected"}}},
		{nil, nil},
	} {
		for at := range got[i].Measured {
			if got[i].Measured[at].Label == "" {
				t.Errorf("row %d: a figure without what the rule set calls it: %+v", i, got[i].Measured[at])
			}
			got[i].Measured[at].Label = ""
		}
		for at := range got[i].Observed {
			got[i].Observed[at].Label = ""
		}
		if !reflect.DeepEqual(got[i].Measured, want.measured) || !reflect.DeepEqual(got[i].Observed, want.observed) {
			t.Errorf("row %d: %+v %+v", i, got[i].Measured, got[i].Observed)
		}
	}
}

func TestASheetBroughtInTwiceHasItsOwnParametersOnce(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.asks()
	const sheet = "Date,Lot,glyphosate mg/kg\n2026-07-06,OLD,0.012\n"
	h.bring(t, importing.Readings, sheet)
	if r := h.bring(t, importing.Readings, sheet); r.New() != 0 || r.HadRows != 1 {
		t.Errorf("%d rows are new the second time, %d were there", r.New(), r.HadRows)
	}
}

// TestAnOwnParametersHeadingIsKnown goes through how a heading may name one, and what is
// left to be asked.
func TestAnOwnParametersHeadingIsKnown(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.asks()
	for heading, want := range map[string]importing.Column{
		"glyphosate":                  {Field: importing.FieldOwn, Of: "glyphosate"},
		"Glyphosate in honey":         {Field: importing.FieldOwn, Of: "glyphosate"},
		"Glyphosate (ppb)":            {Field: importing.FieldOwn, Of: "glyphosate", Unit: "ppb"},
		"GLYPHOSATE mg/kg":            {Field: importing.FieldOwn, Of: "glyphosate", Unit: "mg/kg"},
		"Glyphosate [g/kg]":           {Field: importing.FieldOwn, Of: "glyphosate", Unit: "g/kg"},
		"Glyphosate µg/kg":            {Field: importing.FieldOwn, Of: "glyphosate", Unit: "µg/kg"},
		"Glyphosate (µg/L)":           {Field: importing.FieldOwn, Of: "glyphosate"},
		"Panel score":                 {Field: importing.FieldOwn, Of: "panel_score", Unit: "points"},
		"panel_score (points)":        {Field: importing.FieldOwn, Of: "panel_score", Unit: "points"},
		"Tylosin A":                   {Field: importing.FieldOwn, Of: "tylosin"},
		"Tylosin B":                   {},
		"Glyphosate in something":     {},
		"Panel score of Glyphosate B": {},
		"HMF":                         {Field: importing.FieldHMF},
	} {
		m := h.guess(t, importing.Readings, "Date,Lot,Moisture,\""+heading+"\"\n2026-07-06,OLD,17.2,9\n")
		got := m.Columns[3]
		if got.Field != want.Field || got.Of != want.Of || got.Unit != want.Unit {
			t.Errorf("%s is taken for %s %s in %q", heading, got.Field, got.Of, got.Unit)
		}
	}
	for _, kind := range importing.Kinds() {
		if kind != importing.Readings && slices.Contains(importing.FieldsOf(kind), importing.FieldOwn) {
			t.Errorf("a table of %s has a buyer's parameters", kind)
		}
	}
}

func TestAnOwnParametersCellIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.asks()
	for _, row := range []struct{ what, text, want, says string }{
		{"a figure without a unit", "Date,Lot,glyphosate\n2026-07-06,OLD,12\n", "2C no_unit", "In which unit is this?"},
		{"a unit of something else", "Date,Lot,glyphosate ppb\n2026-07-06,OLD,12 points\n", "2C no_unit", "is no unit that can be read here"},
		{"a word for a figure", "Date,Lot,glyphosate ppb\n2026-07-06,OLD,much\n", "2C no_figure", "A figure is needed here"},
		{"a word that answers nothing", "Date,Lot,Moisture,Tylosin A\n2026-07-06,OLD,17.2,absent\n", "2D refused_by_book", "is answered by one of not detected, detected"},
		{"more than it can be", "Date,Lot,Moisture,panel score\n2026-07-06,OLD,17.2,11\n", "2D refused_by_book", "is from 1 to 10 points"},
		{"below nothing", "Date,Lot,glyphosate ppb\n2026-07-06,OLD,-3\n", "2C out_of_range", "The book takes only"},
		{"of either decimal mark", "Date,Lot,glyphosate ppb\n2026-07-06,OLD,\"1,234\"\n", "2C two_figures", "1.234 or 1234"},
		{"twice", "Date,Lot,glyphosate ppb,Glyphosate in honey mg/kg\n2026-07-06,OLD,12,0.012\n", "0D two_values", "only one can be"},
	} {
		r := h.check(t, row.text, h.guess(t, importing.Readings, row.text))
		if got := problems(r); len(got) != 1 || got[0] != row.want || !strings.Contains(r.Problems[0].Message.String(), row.says) {
			t.Errorf("%s: %q %+v", row.what, got, *r.Problems[0])
		}
	}
}

// TestAParameterThatNoRuleSetNamesAnyMoreIsAskedAbout: an earlier mapping may name it.
func TestAParameterThatNoRuleSetNamesAnyMoreIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.asks()
	const sheet = "Date,Lot,Moisture,thing\n2026-07-06,OLD,17.2,12\n"
	m := h.guess(t, importing.Readings, sheet)
	m.Columns[3].Field, m.Columns[3].Of = importing.FieldOwn, "amitraz"
	if got := problems(h.check(t, sheet, m)); !slices.Equal(got, []string{"0D unknown_name"}) {
		t.Errorf("%q", got)
	}
	m.Columns[3].Of, m.Columns[3].Unit = "glyphosate", "points"
	if got := problems(h.check(t, sheet, m)); !slices.Equal(got, []string{"0D no_unit"}) {
		t.Errorf("%q", got)
	}
}
