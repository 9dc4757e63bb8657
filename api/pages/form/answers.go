package form

import (
	"encoding/json"
	"errors"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"pullbook/api/locale"
	"pullbook/domain/fault"
)

// Answers reads a form of an entry back into what a client would send. What was
// left empty is left out; what cannot be read is among m.errors.
func (m Maker) Answers(schema *openapi3.Schema, typed url.Values) map[string]any {
	out, _ := m.read("", schema, typed, "", besides).(map[string]any)
	return out
}

// read gives nil where nothing was answered.
func (m Maker) read(name string, s *openapi3.Schema, typed url.Values, pointer string, leaveOut []string) any {
	switch {
	case placeSchema(s):
		kind, id, _ := strings.Cut(typed.Get(pointer), " ")
		if kind == "" {
			return nil
		}
		if id == "" {
			return map[string]any{"kind": kind}
		}
		return map[string]any{"kind": kind, "id": id}
	case name == "declares":
		return readDeclared(typed, pointer)
	case typed.Has(pointer): // also a list or group that is asked for as text
		return m.answer(name, s, strings.TrimSpace(typed.Get(pointer)), pointer)
	case s.Type.Is("object"):
		if pointer != "" && !cameUnder(typed, pointer) {
			return nil // a condition holds conditions without end
		}
		out := map[string]any{}
		for property, p := range s.Properties {
			inner := merged(p.Value)
			if inner.ReadOnly || slices.Contains(leaveOut, property) {
				continue
			}
			if v := m.read(property, inner, typed, pointer+"/"+property, nil); v != nil {
				out[property] = v
			}
		}
		if len(out) == 0 && pointer != "" {
			return nil
		}
		return out
	case s.Type.Is("array"):
		return m.readLines(name, s, typed, pointer)
	}
	return nil
}

// cameUnder reports whether anything was sent for what stands within a group.
func cameUnder(typed url.Values, pointer string) bool {
	for key := range typed {
		if strings.HasPrefix(key, pointer+"/") {
			return true
		}
	}
	return false
}

func (m Maker) readLines(name string, s *openapi3.Schema, typed url.Values, pointer string) any {
	var out []any
	for i := range linesOf(typed, pointer) {
		if v := m.read(name, merged(s.Items.Value), typed, pointer+"/"+strconv.Itoa(i), nil); v != nil {
			out = append(out, v)
		}
	}
	if out == nil {
		return nil
	}
	return out
}

// linesOf is how many lines of a list came, counting those left empty.
func linesOf(typed url.Values, pointer string) int {
	most := 0
	for key := range typed {
		rest, ok := strings.CutPrefix(key, pointer+"/")
		if !ok {
			continue
		}
		line, _, _ := strings.Cut(rest, "/")
		if n, err := strconv.Atoi(line); err == nil && n >= most && n < 10_000 {
			most = n + 1
		}
	}
	return most
}

// answer is what one input holds.
func (m Maker) answer(name string, s *openapi3.Schema, typed, pointer string) any {
	if typed == "" {
		return nil
	}
	var out any
	var err error
	switch {
	case s.Type.Is("object"), s.Type.Is("array"):
		if json.Unmarshal([]byte(typed), &out) != nil {
			err = fault.New(fault.Invalid, "This is not JSON. The contract says what it looks like.")
		}
	case s.Type.Is("boolean"):
		return typed == "true"
	case s.Type.Is("number"), s.Type.Is("integer"):
		var v float64
		v, err = m.Parse(typed)
		out = MeantBy(m.Voice, name, v)
	case s.Format == "date-time":
		var at time.Time
		if at, err = m.Moment(typed); err == nil {
			out = at.Format(time.RFC3339Nano)
		}
	case decimalText(name, s) && plainDecimal.MatchString(typed):
		return strings.Replace(typed, m.DecimalMark(), ".", 1)
	default:
		return typed
	}
	if err != nil {
		m.Errors[pointer] = SayError(m.Voice, err)
		return nil
	}
	return out
}

// decimalText reports whether a text of the contract is a number as printed, every
// digit of which counts. A limit may also be a word.
func decimalText(name string, s *openapi3.Schema) bool {
	return s.Type.Is("string") && (strings.HasPrefix(s.Pattern, "^[+-]?[0-9]") || slices.Contains([]string{"limit", "limit_to", "guard"}, name))
}

// plainDecimal has one mark, of whichever language, and none between thousands.
var plainDecimal = regexp.MustCompile(`^[+-]?[0-9]+[.,]?[0-9]*$`)

// Moment reads what momentText wrote, or a browser's control for it.
func (m Maker) Moment(typed string) (time.Time, error) {
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05.999"} {
		if at, err := time.ParseInLocation(layout, typed, m.Zone); err == nil {
			return at, nil
		}
	}
	return time.Time{}, fault.New(fault.Invalid, "%s is not a day and time. Write it like %s.", typed, "2026-08-03T14:30")
}

// SayError is a fault in the reader's language.
func SayError(f locale.Voice, err error) string {
	if x := (*fault.Error)(nil); errors.As(err, &x) {
		return x.Message.In(f)
	}
	return err.Error()
}
