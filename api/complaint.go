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
		return []fault.Field{{Pointer: "", Message: err.Error()}}
	}
	f := fault.Field{Pointer: pointer(e.JSONPointer()), Sent: sent(e.Value)}
	switch e.SchemaField {
	case "required":
		f.Sent = nil
		f.Message = "This is missing."
		if p := propertyOf(e); p != nil {
			f.Message = "This is missing: " + wanted(p) + "."
		}
	case "properties":
		f.Sent = nil
		name := unsupported.FindStringSubmatch(e.Reason)
		if name != nil && !strings.HasSuffix(f.Pointer, "/"+name[1]) {
			f.Pointer += "/" + escape.Replace(name[1])
		}
		f.Message = "There is no such field here."
		if name != nil {
			if near := nearest(name[1], slices.Collect(maps.Keys(e.Schema.Properties))); near != "" {
				f.Message += " Was " + near + " meant?"
				f.DidYouMean = near
			}
		}
	default:
		f.Message = "This should be " + wanted(e.Schema) + "."
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
		f.Message += fmt.Sprintf(" Write it without quotes and with a point: %v.", x)
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

// wanted says in words what a schema takes.
func wanted(s *openapi3.Schema) string {
	var what string
	switch {
	case len(s.Enum) > 0:
		var names []string
		for _, v := range s.Enum {
			names = append(names, fmt.Sprint(v))
		}
		what = "one of " + strings.Join(names, ", ")
	case s.Type.Is("integer"):
		what = "a whole number" + between(s)
	case s.Type.Is("number"):
		what = "a number with a point" + between(s)
	case s.Type.Is("boolean"):
		what = "true or false"
	case s.Type.Is("array"):
		what = "a list" + counted("with", "entries", s.MinItems, s.MaxItems)
	case s.Type.Is("object"):
		what = "an object"
	case s.Format == "uuid":
		what = "a UUID"
	case s.Format == "date":
		what = "a date such as 2026-08-21"
	case s.Format == "date-time":
		what = "a time with its offset such as 2026-08-21T14:30:00-05:00"
	default:
		what = "text" + counted("of", "characters", s.MinLength, s.MaxLength)
	}
	if s.Description != "" {
		what += " (" + s.Description + ")"
	}
	return what
}

func between(s *openapi3.Schema) string {
	switch {
	case s.Min != nil && s.Max != nil:
		return fmt.Sprintf(" from %s to %s", plain(*s.Min), plain(*s.Max))
	case s.Min != nil:
		return fmt.Sprintf(" of at least %s", plain(*s.Min))
	case s.Max != nil:
		return fmt.Sprintf(" of at most %s", plain(*s.Max))
	}
	return ""
}

func counted(of, what string, least uint64, most *uint64) string {
	switch {
	case most != nil:
		return fmt.Sprintf(" %s %d to %d %s", of, least, *most, what)
	case least > 0:
		return fmt.Sprintf(" %s at least %d %s", of, least, what)
	}
	return ""
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
		return []fault.Field{{Message: err.Error()}}
	}
	var out []fault.Field
	for _, e := range many {
		_, path, _ := strings.Cut(e.Namespace(), ".")
		f := fault.Field{Pointer: "/" + index.ReplaceAllString(strings.ReplaceAll(path, ".", "/"), "/$1")}
		switch e.Tag() {
		case "excluded_with":
			f.Message = "Only one of moisture_pct, refractive_index and brix_deg can be what the instrument showed."
		case "required_without_all":
			f.Message = "Nothing was measured: give moisture_pct, refractive_index, brix_deg or measured."
		case "required_with":
			f.Message = "This is needed with " + snake(e.Param()) + "."
		default:
			f.Message = fmt.Sprintf("This does not keep the rule %s %s.", e.Tag(), snake(e.Param()))
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

// nearest is the name with the fewest letters to change, where they are few.
func nearest(name string, among []string) string {
	best, least := "", len(name)/3+1
	slices.Sort(among)
	for _, a := range among {
		if d := distance(name, a); d < least {
			best, least = a, d
		}
	}
	return best
}

// distance is the Levenshtein distance of two names.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		last := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := last
			if a[i] != b[j] {
				change++
			}
			last = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

// grams turns kilograms as sent into whole grams.
func grams(kg float64) int64 { return int64(math.Round(kg * 1000)) }

// kg turns whole grams into kilograms.
func kg(grams int64) float64 { return float64(grams) / 1000 }
