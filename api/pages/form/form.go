// Package form makes questions of the contract's schemas, and answers of what was typed: forms
// of entries of any kind, in the reader's words and units.
package form

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// A form for an entry of any kind is made from the contract's schema of that
// kind, so that whatever can be recorded can also be set up and corrected on a
// page. What is typed goes through the same handler as a program's entry.

// Field is one question of such a form, or a group or list of them.
type Field struct {
	// Name is the JSON pointer into the entry, and the input's name.
	Name, Label, Unit string
	// Hint says what is asked for, where the label does not say it all.
	Hint string
	// Folded: nobody has to answer, and nobody has.
	Folded bool
	// Control is one of group, list, choice, ticks, number, text, area, date, moment, json.
	Control  string
	Value    string
	Required bool
	Options  []Option
	// Fields are a group's questions or a list's items.
	Fields []*Field
	// Error is what was wrong with what came.
	Error string
	// schema is the contract's; item is a list's items'.
	schema *openapi3.Schema
}

// Option is one thing that a question offers to choose.
type Option struct {
	Value, Label string
	Chosen       bool
}

// Maker makes forms for one reader.
type Maker struct {
	locale.Voice
	Things Things
	// Errors are what was wrong, by pointer.
	Errors map[string]string
	// typed are the parameters that the rule set in question names of its own.
	typed *[]standard.OwnParameter
}

// NewMaker returns the forms for a reader, whose questions may name things. Where no question
// is asked, there need be none.
func NewMaker(f locale.Voice, t Things) Maker {
	return Maker{f, t, map[string]string{}, new([]standard.OwnParameter)}
}

// besides are what a form asks for in its own way, or not at all.
var besides = []string{"id", "replaces", "reason", "as_entered", "via"}

// Fields are the questions of an entry, with the answers of value.
func (m Maker) Fields(schema *openapi3.Schema, value map[string]any) []*Field {
	m.readOwn(value)
	return m.group(schema, value, "", besides)
}

// Only are the questions about some fields of an entry, in the order of their names here.
func (m Maker) Only(schema *openapi3.Schema, value map[string]any, names []string) (out []*Field) {
	for _, name := range names {
		out = append(out, m.field(name, merged(schema.Properties[name].Value), value[name], "/"+name))
	}
	return out
}

func (m Maker) group(schema *openapi3.Schema, value map[string]any, pointer string, leaveOut []string) []*Field {
	names := slices.SortedFunc(maps.Keys(schema.Properties), func(a, b string) int {
		return cmp.Or(cmp.Compare(orderOf(schema, a), orderOf(schema, b)), cmp.Compare(a, b))
	})
	var out []*Field
	for _, name := range names {
		property := merged(schema.Properties[name].Value)
		if property.ReadOnly || slices.Contains(leaveOut, name) {
			continue
		}
		f := m.field(name, property, value[name], pointer+"/"+name)
		f.Required = slices.Contains(schema.Required, name)
		f.Folded = !f.Required && slices.Contains([]string{"group", "list", "json"}, f.Control) && !answered(f)
		out = append(out, f)
	}
	// What nobody has to answer stands below, a note last of all.
	slices.SortStableFunc(out, func(a, b *Field) int { return cmp.Compare(a.lateness(), b.lateness()) })
	return out
}

func (f *Field) lateness() int {
	switch {
	case strings.HasSuffix(f.Name, "/note"):
		return 2
	case f.Folded:
		return 1
	}
	return 0
}

// orderOf is the contract's own, except for what it is called and when it happened,
// which come first.
func orderOf(schema *openapi3.Schema, name string) int {
	switch name {
	case "name", "code":
		return 0
	case "occurred_at":
		return 1
	}
	property := schema.Properties[name]
	for _, o := range []*openapi3.Origin{property.Origin, property.Value.Origin} {
		if o != nil && o.Key != nil {
			return 1 + o.Key.Line
		}
	}
	return math.MaxInt
}

// merged is a schema that only wraps another, as what it wraps.
func merged(s *openapi3.Schema) *openapi3.Schema {
	if len(s.AllOf) == 1 && s.Type == nil {
		inner := *s.AllOf[0].Value
		inner.ReadOnly = s.ReadOnly
		return &inner
	}
	return s
}

func (m Maker) field(name string, s *openapi3.Schema, value any, pointer string) *Field {
	f := &Field{Name: pointer, Label: m.Say(LabelOf(name)), Unit: unitOfField(m.Voice, name), schema: s, Error: m.Errors[pointer]}
	if hint := hintOf(name, s); hint != "" {
		f.Hint = m.Say(hint)
	}
	switch {
	case placeSchema(s):
		m.place(f, s, value)
	case name == "declares":
		object, _ := value.(map[string]any)
		f.Control, f.Fields = "group", m.declared(pointer, object)
	case name == "when" && m.condition(f, value):
	case s.Type.Is("object") && len(s.Properties) > 0 && !recursive(s):
		object, _ := value.(map[string]any)
		f.Control, f.Fields = "group", m.group(s, object, pointer, nil)
	case s.Type.Is("array") && !recursive(s.Items.Value):
		m.list(f, name, s, value)
	case s.Type.Is("object"), s.Type.Is("array"):
		f.Control, f.Value = "json", jsonText(value)
	default:
		m.scalar(f, name, s, value)
	}
	return f
}

// answered reports whether a question has an answer, or one that is wrong.
func answered(f *Field) bool {
	return f.Value != "" || f.Error != "" || slices.ContainsFunc(f.Options, func(o Option) bool { return o.Chosen }) || slices.ContainsFunc(f.Fields, answered)
}

// mostLines of a list are asked for one by one; a longer one is text.
const mostLines = 80

func (m Maker) list(f *Field, name string, s *openapi3.Schema, value any) {
	items, _ := value.([]any)
	if len(items) > mostLines {
		f.Control, f.Value = "json", jsonText(value)
		return
	}
	f.Control = "list"
	if len(items) == 0 {
		items = []any{nil}
	}
	for i, item := range items {
		line := m.field(name, merged(s.Items.Value), item, f.Name+"/"+strconv.Itoa(i))
		line.Label, line.Hint = m.Say("%s, line %s", f.Label, i+1), ""
		f.Fields = append(f.Fields, line)
	}
}

func (m Maker) scalar(f *Field, name string, s *openapi3.Schema, value any) {
	switch {
	case s.Type.Is("boolean"):
		f.Control = "choice"
		f.Options = []Option{
			{"true", m.Say("yes"), value == true}, {"false", m.Say("no"), value == false},
		}
	case len(s.Enum) > 0:
		f.Control = "choice"
		for _, e := range s.Enum {
			f.Options = append(f.Options, Option{fmt.Sprint(e), m.Say(request.ChoiceOf(fmt.Sprint(e))), e == value})
		}
	case name == "parameter":
		f.Control = "choice"
		if !ofReading(f.Name) {
			for _, p := range standard.Parameters() {
				f.Options = append(f.Options, Option{p.ID, standard.SayParameter(p.ID).In(m), p.ID == value})
			}
		}
		f.Options = append(f.Options, m.ownNames(f.Name, value, false)...)
	case name == "what":
		f.Control = "choice"
		for _, p := range standard.Parameters() {
			if p.IsObservation() {
				f.Options = append(f.Options, Option{p.ID, standard.SayParameter(p.ID).In(m), p.ID == value})
			}
		}
		f.Options = append(f.Options, m.ownNames(f.Name, value, true)...)
	case name == "word":
		f.Control = "choice"
		for _, w := range standard.Words() {
			f.Options = append(f.Options, Option{w, m.Say("word|" + w), w == value})
		}
		f.Options = append(f.Options, m.ownWords(value)...)
	case name == "plan":
		f.Control = "choice"
		for _, p := range standard.SamplingPlans() {
			f.Options = append(f.Options, Option{p.ID, m.Say("plan|" + p.Title), p.ID == value})
		}
	case name == "unit" && strings.HasPrefix(f.Name, ownPointer):
		f.Control, f.Value = "text", plainText(value)
	case name == "unit":
		f.Control = "choice"
		if !ofReading(f.Name) {
			for _, u := range standard.Units() {
				f.Options = append(f.Options, Option{u, standard.SayUnit(u).In(m), u == value})
			}
		}
		f.Options = append(f.Options, m.ownUnits(f.Name, value)...)
	case decimalText(name, s):
		f.Control, f.Value = "number", strings.Replace(plainText(value), ".", m.DecimalMark(), 1)
	case s.Format == "uuid" && referred[name] != "":
		f.Control, f.Options = "choice", m.things(referred[name], plainText(value))
	case s.Format == "date-time":
		f.Control, f.Value = "moment", m.momentText(value)
	case s.Format == "date":
		f.Control, f.Value = "date", plainText(value)
	case s.Type.Is("number"), s.Type.Is("integer"):
		f.Control, f.Value = "number", m.numberText(name, value)
	case s.MaxLength != nil && *s.MaxLength > 400:
		f.Control, f.Value = "area", plainText(value)
	default:
		f.Control, f.Value = "text", plainText(value)
	}
}

func plainText(value any) string {
	if value == nil {
		return ""
	}
	return fmt.Sprint(value)
}

func jsonText(value any) string {
	if value == nil {
		return ""
	}
	out, err := json.MarshalIndent(value, "", " ")
	if err != nil {
		return "" // it came from JSON
	}
	return string(out)
}

// momentText is a time as the browser's own control takes it, on the outfit's
// clock. Seconds are shown where there are some, so that none are lost.
func (m Maker) momentText(value any) string {
	at, err := time.Parse(time.RFC3339Nano, plainText(value))
	if err != nil {
		return ""
	}
	return strings.TrimSuffix(at.In(m.Zone).Format("2006-01-02T15:04:05.999"), ":00")
}

// numberText is a number in the outfit's unit, with the reader's decimal mark and
// no mark between thousands.
func (m Maker) numberText(name string, value any) string {
	v, ok := value.(float64)
	if !ok {
		return ""
	}
	out := strconv.FormatFloat(shown(m.Voice, name, v), 'f', -1, 64)
	return strings.Replace(out, ".", m.DecimalMark(), 1)
}

// placeSchema reports whether a schema is a kind and an id: a place.
func placeSchema(s *openapi3.Schema) bool {
	return len(s.Properties) == 2 && s.Properties["kind"] != nil && s.Properties["id"] != nil
}

// place asks for a kind and an id at once.
func (m Maker) place(f *Field, s *openapi3.Schema, value any) {
	object, _ := value.(map[string]any)
	f.Control = "choice"
	for _, k := range s.Properties["kind"].Value.Enum {
		kind := fmt.Sprint(k)
		if of := placeKind[kind]; of != "" {
			id := ""
			if object["kind"] == kind {
				id = plainText(object["id"])
			}
			for _, o := range m.things(of, id) {
				o.Value = kind + " " + o.Value
				f.Options = append(f.Options, o)
			}
			continue
		}
		f.Options = append(f.Options, Option{kind, m.Say(request.ChoiceOf(kind)), object["kind"] == kind})
	}
}

// placeKind is the kind of entry that makes a place of a kind; nothing is needed
// for the others.
var placeKind = map[string]ledger.Kind{
	"pull": ledger.KindPull, "run": ledger.KindRun, "tank": ledger.KindTank, "lot": ledger.KindLot,
	"container": ledger.KindFill, "room": ledger.KindRoom,
}

// referred is the kind of entry that a field's id may name.
var referred = map[string]ledger.Kind{
	"yard_id": ledger.KindYard, "super_kind_id": ledger.KindSuperKind, "container_kind_id": ledger.KindContainerKind,
	"room_id": ledger.KindRoom, "store_id": ledger.KindRoom, "tank_id": ledger.KindTank, "feeds_tank_id": ledger.KindTank,
	"instrument_id": ledger.KindInstrument, "buyer_id": ledger.KindBuyer, "pull_id": ledger.KindPull, "run_id": ledger.KindRun,
	"lot_id": ledger.KindLot, "fill_id": ledger.KindFill, "containers": ledger.KindFill, "check_id": ledger.KindCheck,
	"dispatch_id": ledger.KindDispatch, "prepared_id": ledger.KindPreparedDispatch, "rule_set_id": ledger.KindRuleSet,
}

// recursive reports whether a schema comes back in itself, which no form of lines
// can show.
func recursive(s *openapi3.Schema) bool {
	for _, p := range s.Properties {
		if p.Value == s || p.Value.Items != nil && p.Value.Items.Value == s {
			return true
		}
	}
	return false
}
