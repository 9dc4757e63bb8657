package api

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
	"pullbook/domain/say"
	"pullbook/domain/spelling"
)

// schemaFields puts what a schema found wrong into words.
func schemaFields(err error) []fault.Field {
	var many openapi3.MultiError
	if errors.As(err, &many) {
		var out []fault.Field
		for _, one := range many {
			out = append(out, schemaFields(one)...)
		}
		return out
	}
	var e *openapi3.SchemaError
	if !errors.As(err, &e) {
		return []fault.Field{{Pointer: "", Message: say.Of(err)}}
	}
	f := fault.Field{Pointer: pointer(e.JSONPointer()), Sent: sent(e.Value)}
	switch e.SchemaField {
	case "required":
		f.Sent = nil
		f.Message = say.F("This is missing.")
		if p := propertyOf(e); p != nil {
			f.Message = say.F("This is missing: %s.", wanted(p))
		}
	case "properties":
		f.Sent = nil
		name := unsupported.FindStringSubmatch(e.Reason)
		if name != nil && !strings.HasSuffix(f.Pointer, "/"+name[1]) {
			f.Pointer += "/" + escape.Replace(name[1])
		}
		f.Message = say.F("There is no such field here.")
		if name != nil {
			if near := spelling.Nearest(name[1], slices.Collect(maps.Keys(e.Schema.Properties)), len(name[1])/3); near != "" {
				f.Message = say.Join(f.Message, say.F("Was %s meant?", near))
				f.DidYouMean = near
			}
		}
	default:
		f.Message = say.F("This should be %s.", wanted(e.Schema))
		numberAsText(&f, e)
	}
	return []fault.Field{f}
}

var (
	unsupported = regexp.MustCompile(`property "(.*)" is unsupported`)
	escape      = strings.NewReplacer("~", "~0", "/", "~1")
)

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
		f.Message = say.Join(f.Message, say.F("Write it without quotes and with a point: %s.", plain(x)))
	}
}

// propertyOf is the schema of the property that is missing.
func propertyOf(e *openapi3.SchemaError) *openapi3.Schema {
	path := e.JSONPointer()
	if len(path) == 0 {
		return nil
	}
	if p := e.Schema.Properties[path[len(path)-1]]; p != nil {
		return p.Value
	}
	return nil
}

// wanted says in words what a schema takes. What the contract says about it
// stays in the contract's language.
func wanted(s *openapi3.Schema) say.Text {
	if s.Description == "" {
		return wantedForm(s)
	}
	return say.F("%s (%s)", wantedForm(s), s.Description)
}

func wantedForm(s *openapi3.Schema) say.Text {
	switch {
	case len(s.Enum) > 0:
		var names []string
		for _, v := range s.Enum {
			names = append(names, fmt.Sprint(v))
		}
		return say.F("one of %s", strings.Join(names, ", "))
	case s.Type.Is("integer"):
		return between(say.F("a whole number"), s)
	case s.Type.Is("number"):
		return between(say.F("a number with a point"), s)
	case s.Type.Is("boolean"):
		return say.F("true or false")
	case s.Type.Is("array"):
		return listOf(s.MinItems, s.MaxItems)
	case s.Type.Is("object"):
		return say.F("an object")
	case s.Format == "uuid":
		return say.F("a UUID")
	case s.Format == "date":
		return say.F("a date such as 2026-08-21")
	case s.Format == "date-time":
		return say.F("a time with its offset such as 2026-08-21T14:30:00-05:00")
	}
	return textOf(s.MinLength, s.MaxLength)
}

func between(what say.Text, s *openapi3.Schema) say.Text {
	switch {
	case s.Min != nil && s.Max != nil:
		return say.F("%s from %s to %s", what, plain(*s.Min), plain(*s.Max))
	case s.Min != nil:
		return say.F("%s of at least %s", what, plain(*s.Min))
	case s.Max != nil:
		return say.F("%s of at most %s", what, plain(*s.Max))
	}
	return what
}

func listOf(least uint64, most *uint64) say.Text {
	switch {
	case most != nil:
		return say.F("a list with %s to %s entries", int64(least), int64(*most))
	case least > 0:
		return say.F("a list with at least %s entries", int64(least))
	}
	return say.F("a list")
}

func textOf(least uint64, most *uint64) say.Text {
	switch {
	case most != nil:
		return say.F("text of %s to %s characters", int64(least), int64(*most))
	case least > 0:
		return say.F("text of at least %s characters", int64(least))
	}
	return say.F("text")
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// sent keeps what came short enough to show.
func sent(v any) any {
	switch x := v.(type) {
	case string:
		if letters := []rune(x); len(letters) > 100 {
			return string(letters[:100]) + "…"
		}
	case map[string]any:
		return "an object"
	case []any:
		return fmt.Sprintf("a list of %d", len(x))
	}
	return v
}

// ruleFields puts what the rules across fields found wrong into words.
func ruleFields(err error) []fault.Field {
	var many validator.ValidationErrors
	if !errors.As(err, &many) {
		return []fault.Field{{Message: say.Of(err)}}
	}
	var out []fault.Field
	for _, e := range many {
		_, path, _ := strings.Cut(e.Namespace(), ".")
		f := fault.Field{Pointer: "/" + index.ReplaceAllString(strings.ReplaceAll(path, ".", "/"), "/$1")}
		switch e.Tag() {
		case "excluded_with":
			f.Message = say.F("Only one of moisture_pct, refractive_index and brix_deg can be what the instrument showed.")
		case "required_without_all":
			f.Message = say.F("Nothing was measured: give moisture_pct, refractive_index, brix_deg or measured.")
		case "required_with":
			f.Message = say.F("This is needed with %s.", snake(e.Param()))
		default:
			f.Message = say.F("This does not keep the rule %s %s.", e.Tag(), snake(e.Param()))
		}
		out = append(out, f)
	}
	return out
}

var (
	index = regexp.MustCompile(`\[(\d+)\]`)
	inner = regexp.MustCompile(`([a-z0-9])([A-Z])`)
)

func snake(s string) string { return strings.ToLower(inner.ReplaceAllString(s, "${1}_$2")) }

// grams turns kilograms as sent into whole grams.
func grams(kg float64) int64 { return int64(math.Round(kg * 1000)) }

// kg turns whole grams into kilograms.
func kg(grams int64) float64 { return float64(grams) / 1000 }
