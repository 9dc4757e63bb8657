package pages

import (
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/domain/fault"
	"pullbook/domain/importing"
)

// importFixedView asks for the value of a field that holds for all rows.
type importFixedView struct {
	// Name is the input's, and ID where it stands on the page.
	Name, ID, Label, Unit string
	// Control is choice, number, date or text.
	Control, Value string
	Options        []form.Option
	// NewName is the input's for the name of a thing that is not in the list, and NewValue
	// what it holds; both are empty where no thing is named.
	NewName, NewValue string
	// Beside is true where a column says it too: the value is for its empty cells.
	Beside bool
	Error  string
}

// The names of the inputs for the value of a field, and for the name of a new thing.
const (
	fixedInput    = "fixed "
	fixedNewInput = "fixed-new "
)

// mostFixed is the most letters that a mapping takes of a value for all rows.
const mostFixed = 200

// chooseFixed takes the values that hold for all rows. Of a field that the page did not ask
// about the mapping's own stays.
func chooseFixed(m *importing.Mapping, kind importing.Kind, typed url.Values, f form.Maker) {
	for _, field := range importing.CanBeFixed(kind) {
		name, other := fixedInput+string(field), fixedNewInput+string(field)
		if !typed.Has(name) && !typed.Has(other) {
			continue
		}
		value, err := fixedTyped(f.Voice, importing.SortOf(kind, field), strings.TrimSpace(typed.Get(name)), strings.TrimSpace(typed.Get(other)))
		if err == nil && utf8.RuneCountInString(value) > mostFixed {
			err = fault.New(fault.Invalid, "This is longer than the %s letters that the book keeps: shorten it.", mostFixed)
		}
		if err != nil {
			f.Errors[name] = form.SayError(f.Voice, err)
		}
		if err != nil || value == "" {
			delete(m.Fixed, field)
			continue
		}
		if m.Fixed == nil {
			m.Fixed = map[importing.Field]string{}
		}
		m.Fixed[field] = value
	}
}

// metricOf is the metric unit of a sort of value that has one.
var metricOf = map[importing.Sort]string{importing.SortMass: "kg", importing.SortTemperature: "°C"}

// sheetUnit is how a mapping calls a unit that the outfit reads.
var sheetUnit = map[string]importing.Unit{"kg": importing.Kilograms, "lb": importing.Pounds, "°C": importing.Celsius, "°F": importing.Fahrenheit}

// figureAndUnit parts a figure from the unit behind it.
var figureAndUnit = regexp.MustCompile(`^([^\pL°º]*?)\s*([\pL°º][\pL_ ]*)?$`)

// fixedTyped is a value as a mapping has it: a figure with a point before its decimals, and with
// the outfit's unit where none was typed.
func fixedTyped(f locale.Voice, sort importing.Sort, typed, other string) (string, error) {
	switch sort {
	case importing.SortName:
		if typed != "" && other != "" && !strings.EqualFold(typed, other) {
			return "", fault.New(fault.Invalid, "Here stand two names, %s and %s. Leave one.", typed, other)
		}
		if typed == "" {
			return other, nil
		}
		return typed, nil
	case importing.SortCount, importing.SortFigure, importing.SortMass, importing.SortTemperature:
		if typed == "" {
			return "", nil
		}
		parts := figureAndUnit.FindStringSubmatch(typed)
		if parts == nil {
			parts = []string{typed, typed, ""}
		}
		plain, err := f.Decimal(parts[1])
		if err != nil {
			return "", err
		}
		unit := parts[2]
		if metric := metricOf[sort]; unit == "" && metric != "" {
			unit = string(sheetUnit[f.Unit(metric)])
		}
		return strings.TrimSpace(plain + " " + unit), nil
	}
	return typed, nil
}

// fixedShown is a value of a mapping as the reader types it.
func fixedShown(f locale.Voice, sort importing.Sort, value string) string {
	metric := metricOf[sort]
	if sort != importing.SortCount && sort != importing.SortFigure && metric == "" {
		return value
	}
	parts := figureAndUnit.FindStringSubmatch(value)
	if parts == nil || strings.ContainsAny(parts[1], ", ") {
		return value
	}
	shown := strings.Replace(parts[1], ".", f.DecimalMark(), 1)
	if unit := parts[2]; unit != "" && unit != string(sheetUnit[f.Unit(metric)]) {
		shown += " " + unit
	}
	return shown
}

// fixedFields lists the fields whose value for all rows the page asks about: those that no column
// says first, since of the others only empty cells take it. Where several columns share a field,
// it is no cell's alone.
func fixedFields(m *importing.Mapping) []importing.Field {
	out := slices.DeleteFunc(importing.CanBeFixed(m.Of), func(f importing.Field) bool {
		return slices.ContainsFunc(m.Columns, func(c importing.Column) bool { return c.Field == f && c.Of != "" })
	})
	slices.SortStableFunc(out, func(a, b importing.Field) int { return beside(m, a) - beside(m, b) })
	return out
}

// beside is 1 for a field that a column says, and 0 for the others.
func beside(m *importing.Mapping, f importing.Field) int {
	if slices.ContainsFunc(m.Columns, func(c importing.Column) bool { return c.Field == f }) {
		return 1
	}
	return 0
}

// importFixed asks for the value of a field.
func importFixed(m form.Maker, known namedThings, r *importing.Result, field importing.Field, typed url.Values) importFixedView {
	sort := importing.SortOf(r.Mapping.Of, field)
	value := r.Mapping.Fixed[field]
	v := importFixedView{
		Name: fixedInput + string(field), ID: "fixed-" + string(field), Label: columnLabel(m, field), Control: "text",
		Value: fixedShown(m.Voice, sort, value), Error: m.Errors[fixedInput+string(field)],
		Beside: beside(&r.Mapping, field) == 1,
	}
	if v.Error != "" {
		v.Value = typed.Get(v.Name)
	}
	switch sort {
	case importing.SortName:
		v.Control, v.NewName = "choice", fixedNewInput+string(field)
		v.Options, v.NewValue = fixedNames(m, known[importing.NounOf(r.Mapping.Of, field)], v.Value)
		if v.Error != "" {
			v.NewValue = typed.Get(v.NewName)
		}
	case importing.SortDate:
		if _, err := time.Parse(time.DateOnly, v.Value); v.Value == "" || err == nil {
			v.Control = "date" // else somebody wrote it otherwise, and the browser's own control would lose it
		}
	case importing.SortMass, importing.SortTemperature:
		v.Control, v.Unit = "number", m.Unit(metricOf[sort])
	case importing.SortCount, importing.SortFigure:
		v.Control = "number"
	}
	return v
}

// fixedNames offers the outfit's things, and gives the name of one that is not among them.
func fixedNames(m form.Maker, known []namedThing, value string) (out []form.Option, other string) {
	other = value
	for _, x := range known {
		chosen := value != "" && strings.EqualFold(x.name, value)
		if chosen {
			other = ""
		}
		out = append(out, form.Option{Value: x.name, Label: x.said.In(m), Chosen: chosen})
	}
	return out, other
}

// askFixed asks for values for all rows: of those that mend a problem beside it, once each, and
// of the others together.
func askFixed(v *importAnswerView, m form.Maker, known namedThings, r *importing.Result, typed url.Values) {
	asked := map[importing.Field]bool{}
	for i, p := range r.Problems[:min(len(r.Problems), shownProblems)] {
		for _, field := range p.MendedBy(&r.Mapping) {
			if !asked[field] {
				asked[field] = true
				v.Problems[i].Fixed = append(v.Problems[i].Fixed, importFixed(m, known, r, field, typed))
			}
		}
	}
	for _, field := range fixedFields(&r.Mapping) {
		if asked[field] {
			continue
		}
		x := importFixed(m, known, r, field, typed)
		if v.Fixed = append(v.Fixed, x); x.Value != "" || x.Error != "" {
			v.FixedOpen = true
		}
	}
}
