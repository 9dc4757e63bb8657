package request

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/go-playground/validator/v10"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/units"
)

// complaints are what is wrong with a body: the first in words, the rest counted.
type complaints struct {
	Fields []fault.Field
	more   int64
}

// MostComplaints is how many problems of a body an answer names.
const MostComplaints = 25

func (c *complaints) add(f fault.Field) {
	if len(c.Fields) == MostComplaints {
		c.more++
		return
	}
	c.Fields = append(c.Fields, f)
}

// ComplaintsOf says what of a value is not as a schema has it. It goes into the
// parts that do not hold, one by one, so that it never has more than a few
// complaints in its hands, however much is wrong.
func ComplaintsOf(schema *openapi3.Schema, value any) complaints {
	var c complaints
	c.look("", schema, value)
	return c
}

func (c *complaints) look(at string, schema *openapi3.Schema, value any) {
	if holds(schema, value) {
		return
	}
	before := int64(len(c.Fields)) + c.more
	part := plainSchema(schema)
	switch x := value.(type) {
	case map[string]any:
		if part.Type.Is(openapi3.TypeObject) {
			c.lookInto(at, part, x)
		}
	case []any:
		if part.Type.Is(openapi3.TypeArray) && fits(len(x), part.MinItems, part.MaxItems) {
			for i, item := range x {
				c.look(at+"/"+strconv.Itoa(i), part.Items.Value, item)
			}
		}
	}
	if int64(len(c.Fields))+c.more > before {
		return
	}
	if len(c.Fields) == MostComplaints {
		c.more++ // without the words that nobody will see
		return
	}
	c.add(schemaField(at, schema, value))
}

// lookInto looks at the members of an object, and for those that are missing.
func (c *complaints) lookInto(at string, schema *openapi3.Schema, value map[string]any) {
	for _, name := range slices.Sorted(maps.Keys(value)) {
		within := at + "/" + escape.Replace(clip(name))
		switch member := memberSchema(schema, name); {
		case member == nil:
			c.add(unknownField(within, name, schema))
		case member.ReadOnly:
			c.add(fault.Field{Pointer: within, Message: message.F("The book works this out by itself. Leave it out.")})
		default:
			c.look(within, member, value[name])
		}
	}
	for _, name := range schema.Required {
		if _, came := value[name]; !came && memberSchema(schema, name) != nil && !memberSchema(schema, name).ReadOnly {
			c.add(fault.Field{Pointer: at + "/" + escape.Replace(name), Message: message.F("This is missing: %s.", wanted(memberSchema(schema, name)))})
		}
	}
}

func fits(n int, least uint64, most *uint64) bool {
	return uint64(n) >= least && (most == nil || uint64(n) <= *most)
}

// unknownField is the complaint about a name that an object does not have.
func unknownField(at, name string, schema *openapi3.Schema) fault.Field {
	f := fault.Field{Pointer: at, Message: message.F("There is no such field here.")}
	Suggest(&f, Nearest(name, slices.Collect(maps.Keys(schema.Properties))))
	return f
}

// Suggest adds a name that may have been meant, if there is one.
func Suggest(f *fault.Field, near string) {
	if near != "" {
		f.Message = message.Join(f.Message, message.F("Was %s meant?", near))
		f.DidYouMean = near
	}
}

// schemaField puts the first thing that a schema finds wrong with a value into
// words.
func schemaField(at string, schema *openapi3.Schema, value any) fault.Field {
	f := fault.Field{Pointer: at, Sent: Sent(value)}
	var e *openapi3.SchemaError
	if !errors.As(visit(schema, value), &e) {
		f.Message = message.F("This should be %s.", wanted(schema))
		return f
	}
	f.Pointer += pointer(e.JSONPointer())
	f.Sent = Sent(e.Value)
	f.Message = message.F("This should be %s.", wanted(e.Schema))
	numberAsText(&f, e)
	looksLikeFahrenheit(&f, e.Schema, e.Value)
	if text, ok := e.Value.(string); ok && e.SchemaField == "enum" {
		Suggest(&f, Nearest(text, enumNames(e.Schema)))
	}
	return f
}

func enumNames(s *openapi3.Schema) (names []string) {
	for _, v := range s.Enum {
		names = append(names, fmt.Sprint(v))
	}
	return names
}

// clip keeps what came short enough to show.
func clip(text string) string { return message.Shortened(text, 101) }

var escape = strings.NewReplacer("~", "~0", "/", "~1")

func pointer(path []string) string {
	var b strings.Builder
	for _, p := range path {
		b.WriteString("/" + escape.Replace(p))
	}
	return b.String()
}

// numberAsText sees a number that came as text, with a comma perhaps.
func numberAsText(f *fault.Field, e *openapi3.SchemaError) {
	text, isText := e.Value.(string)
	if !isText || e.SchemaField != "type" || !(e.Schema.Type.Is("number") || e.Schema.Type.Is("integer")) {
		return
	}
	if x, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64); err == nil {
		f.DidYouMean = x
		f.Message = message.Join(f.Message, message.F("Write it without quotes and with a point: %s.", Plain(x)))
	}
}

// looksLikeFahrenheit sees a temperature that is too hot for degrees Celsius and would
// do as one in Fahrenheit. A cold one would be a guess.
func looksLikeFahrenheit(f *fault.Field, s *openapi3.Schema, value any) {
	x, isNumber := value.(float64)
	if !isNumber || s.Max == nil || x <= *s.Max || !strings.HasSuffix(f.Pointer, "_c") {
		return
	}
	celsius := math.Round(units.Celsius(x)*10) / 10
	if celsius > *s.Max || s.Min != nil && celsius < *s.Min {
		return
	}
	f.DidYouMean = celsius
	f.Message = message.Join(f.Message, message.F("It looks like Fahrenheit: %s °F is %s °C.", Plain(x), Plain(celsius)))
}

// wanted says in words what a schema takes. What the contract says about it
// stays in the contract's language.
func wanted(s *openapi3.Schema) message.Text {
	if s.Description == "" {
		return wantedForm(s)
	}
	return message.F("%s (%s)", wantedForm(s), s.Description)
}

func wantedForm(s *openapi3.Schema) message.Text {
	switch {
	case len(s.Enum) > 0:
		return message.F("one of %s", strings.Join(enumNames(s), ", "))
	case s.Type.Is("integer"):
		return between(message.F("a whole number"), s)
	case s.Type.Is("number"):
		return between(message.F("a number with a point"), s)
	case s.Type.Is("boolean"):
		return message.F("true or false")
	case s.Type.Is("array"):
		return listOf(s.MinItems, s.MaxItems)
	case s.Type.Is("object"):
		return message.F("an object")
	case s.Format == "uuid":
		return message.F("a UUID")
	case s.Format == "date":
		return message.F("a date such as 2026-08-21")
	case s.Format == "date-time":
		return message.F("a time with its offset such as 2026-08-21T14:30:00-05:00")
	}
	return textOf(s.MinLength, s.MaxLength)
}

func between(what message.Text, s *openapi3.Schema) message.Text {
	switch {
	case s.Min != nil && s.Max != nil:
		return message.F("%s from %s to %s", what, Plain(*s.Min), Plain(*s.Max))
	case s.Min != nil:
		return message.F("%s of at least %s", what, Plain(*s.Min))
	case s.Max != nil:
		return message.F("%s of at most %s", what, Plain(*s.Max))
	}
	return what
}

func listOf(least uint64, most *uint64) message.Text {
	switch {
	case most != nil:
		return message.F("a list with %s to %s entries", int64(least), int64(*most))
	case least > 0:
		return message.F("a list with at least %s entries", int64(least))
	}
	return message.F("a list")
}

func textOf(least uint64, most *uint64) message.Text {
	switch {
	case most != nil:
		return message.F("text of %s to %s characters", int64(least), int64(*most))
	case least > 0:
		return message.F("text of at least %s characters", int64(least))
	}
	return message.F("text")
}

// Plain writes a number with as many digits as it needs.
func Plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// Sent keeps what came short enough to show.
func Sent(v any) any {
	switch x := v.(type) {
	case string:
		return clip(x)
	case unread:
		return string(x)
	case float64:
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Sprint(x) // JSON has no such numbers
		}
	case map[string]any:
		return "an object"
	case []any:
		return fmt.Sprintf("a list of %d", len(x))
	}
	return v
}

// ruleComplaints puts what the rules across fields found wrong into words.
func ruleComplaints(err error) (out complaints) {
	var many validator.ValidationErrors
	if !errors.As(err, &many) {
		out.add(fault.Field{Message: message.Of(err)})
		return out
	}
	for _, e := range many {
		_, path, _ := strings.Cut(e.Namespace(), ".")
		f := fault.Field{Pointer: "/" + index.ReplaceAllString(strings.ReplaceAll(path, ".", "/"), "/$1")}
		switch e.Tag() {
		case "excluded_with":
			f.Message = message.F("Only one of moisture_pct, refractive_index and brix_deg can be what the instrument showed.")
		case "required_without_all":
			f.Message = message.F("Nothing was measured: give moisture_pct, refractive_index, brix_deg or measured.")
		case "required_with":
			f.Message = message.F("This is needed with %s.", snake(e.Param()))
		default:
			f.Message = message.F("This breaks the rule %s %s.", e.Tag(), snake(e.Param()))
		}
		out.add(f)
	}
	return out
}

var (
	index = regexp.MustCompile(`\[(\d+)\]`)
	inner = regexp.MustCompile(`([a-z0-9])([A-Z])`)
)

func snake(s string) string { return strings.ToLower(inner.ReplaceAllString(s, "${1}_$2")) }

// Nearest is the name that may have been meant by one that is not known; "" where
// none is near.
func Nearest(name string, among []string) string {
	const longest = 100 // comparing takes as long as both lengths multiplied
	if len(name) > longest {
		return ""
	}
	return spelling.Nearest(name, among, len(name)/3)
}
