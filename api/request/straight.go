package request

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"io"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/uuid"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/domain/spelling"
)

// A body that is as the contract has it, as nearly all are, is read once, from its text
// into its Go type, and held against its schema on the way. The straight way knows most of
// what a schema can ask, and says no word about what is wrong. What it does not take is read
// by way of a value (ReadJSON, ComplaintsOf), which alone decides what is refused and why.
// So the straight way may take too little, and never too much.

// straight reads the next JSON value of a body into its place.
type straight func(r bodyReader, into reflect.Value) error

// errNotStraight sends a body on the way by a value.
var errNotStraight = errors.New("not a body that is read straight")

func notStraight(bodyReader, reflect.Value) error { return errNotStraight }

// straightWays keeps how each body is read.
type straightWays struct{ known sync.Map }

// bodyType is a Go type that a schema's values are read into.
type bodyType struct {
	schema *openapi3.Schema
	into   reflect.Type
}

// read reads a whole body into target, which is zero. It returns false where that did not
// come about, and target is zero then.
func (w *straightWays) read(target any, schema *openapi3.Schema, body []byte) bool {
	into := reflect.ValueOf(target).Elem()
	if !into.IsZero() {
		return false
	}
	key := bodyType{schema, into.Type()}
	way, known := w.known.Load(key)
	if !known {
		way, _ = w.known.LoadOrStore(key, straightFor(schema, into.Type(), nil))
	}
	decoder := decoders.Get().(*jsontext.Decoder)
	defer decoders.Put(decoder)
	decoder.Reset(bytes.NewBuffer(body), countedNames)
	defer decoder.Reset(noBody) // a body is not kept
	r := bodyReader{decoder}
	err := way.(straight)(r, into)
	if err == nil {
		if _, err = r.ReadToken(); err == io.EOF {
			return true
		}
	}
	into.SetZero()
	return false
}

var (
	decoders = sync.Pool{New: func() any { return new(jsontext.Decoder) }}
	noBody   = strings.NewReader("")
	// countedNames leaves it to the readers of objects to see what is named twice.
	countedNames = jsontext.AllowDuplicateNames(true)
)

// straightFor returns how a schema's values are read into a type. within are those that
// the value stands in: one that can stand in itself is not read straight.
func straightFor(schema *openapi3.Schema, into reflect.Type, within []bodyType) straight {
	this := bodyType{schema, into}
	if slices.Contains(within, this) || !asksOnlyKnown(schema) || readsItself(into) {
		return notStraight
	}
	within = append(slices.Clip(within), this)
	s := plainSchema(schema)
	if s != schema {
		return straightFor(s, into, within)
	}
	switch {
	case into.Kind() == reflect.Pointer:
		return straightPointer(into.Elem(), straightFor(s, into.Elem(), within))
	case s.Type.Is(openapi3.TypeString):
		return straightString(s, into)
	case s.Type.Is(openapi3.TypeBoolean) && into.Kind() == reflect.Bool:
		return readBool
	case s.Type.Is(openapi3.TypeInteger):
		return straightInteger(s, into)
	case s.Type.Is(openapi3.TypeNumber) && into.Kind() == reflect.Float64:
		return straightNumber(s)
	case s.Type.Is(openapi3.TypeArray) && into.Kind() == reflect.Slice:
		return straightList(s, straightFor(s.Items.Value, into.Elem(), within))
	case s.Type.Is(openapi3.TypeObject) && into.Kind() == reflect.Struct:
		return straightObject(s, into, within)
	case s.Type.Is(openapi3.TypeObject) && into.Kind() == reflect.Map && len(s.Properties)+len(s.Required) == 0 && s.AdditionalProperties.Schema != nil:
		return straightMap(s, into, straightFor(s.AdditionalProperties.Schema.Value, into.Elem(), within))
	}
	return notStraight
}

// asksOnlyKnown reports whether a schema asks nothing but what is looked at here.
func asksOnlyKnown(schema *openapi3.Schema) bool {
	rest := *schema
	if rest.Type == nil && len(rest.AllOf) == 1 { // it adds a description
		rest.AllOf = nil
	}
	rest.Type, rest.Format, rest.Enum, rest.Pattern = nil, "", nil, ""
	rest.Min, rest.Max, rest.MinLength, rest.MaxLength, rest.MinItems, rest.MaxItems = nil, nil, 0, nil, 0, nil
	rest.Items, rest.Properties, rest.Required, rest.AdditionalProperties, rest.MaxProps = nil, nil, nil, openapi3.AdditionalProperties{}, nil
	// What asks nothing of a body. Nothing that is null is read straight.
	rest.Title, rest.Description, rest.Example, rest.Default, rest.Nullable = "", "", nil, nil, false
	rest.Extensions, rest.Origin = nil, nil
	return reflect.DeepEqual(rest, openapi3.Schema{})
}

// readsItself reports whether a type says itself how its JSON is read, unless it is read
// here in the same way.
func readsItself(t reflect.Type) bool {
	switch t {
	case reflect.TypeFor[uuid.UUID](), reflect.TypeFor[time.Time](), reflect.TypeFor[openapi_types.Date]():
		return false
	}
	to := reflect.PointerTo(t)
	return to.Implements(reflect.TypeFor[json.Unmarshaler]()) || to.Implements(reflect.TypeFor[encoding.TextUnmarshaler]())
}

func straightPointer(to reflect.Type, inner straight) straight {
	return func(r bodyReader, into reflect.Value) error {
		into.Set(reflect.New(to))
		return inner(r, into.Elem())
	}
}

func readBool(r bodyReader, into reflect.Value) error {
	token, err := r.ReadToken()
	if err != nil {
		return err
	}
	switch token.Kind() {
	case 't', 'f':
		into.SetBool(token.Bool())
		return nil
	}
	return errNotStraight
}

// quoted reads a text that stands in the body as it is. It is good until the next reading.
func (r bodyReader) quoted() ([]byte, error) {
	raw, err := r.ReadValue()
	if err != nil {
		return nil, err
	}
	if raw[0] != '"' || bytes.IndexByte(raw, '\\') >= 0 {
		return nil, errNotStraight
	}
	return raw[1 : len(raw)-1], nil
}

func straightString(s *openapi3.Schema, into reflect.Type) straight {
	bare := s.Pattern == "" && s.MinLength == 0 && s.MaxLength == nil
	switch {
	case len(s.Enum) > 0:
		if bare && s.Format == "" && into.Kind() == reflect.String {
			return straightEnum(s.Enum)
		}
	case !bare && s.Format != "":
	case s.Format == "uuid" && into == reflect.TypeFor[uuid.UUID]():
		return readUUID
	case s.Format == "date-time" && into == reflect.TypeFor[time.Time]():
		return readTime
	case s.Format == "date" && into == reflect.TypeFor[openapi_types.Date]():
		return readDate
	case s.Format == "" && into.Kind() == reflect.String:
		return straightText(s)
	}
	return notStraight
}

func straightEnum(values []any) straight {
	words := map[string]string{}
	for _, v := range values {
		word, is := v.(string)
		if !is {
			return notStraight
		}
		words[word] = word
	}
	return func(r bodyReader, into reflect.Value) error {
		text, err := r.quoted()
		if err != nil {
			return err
		}
		word, known := words[string(text)]
		if !known {
			return errNotStraight
		}
		into.SetString(word)
		return nil
	}
}

func readUUID(r bodyReader, into reflect.Value) error {
	text, err := r.quoted()
	if err != nil {
		return err
	}
	id, err := uuid.ParseBytes(text)
	if err != nil || len(text) != len("00000000-0000-0000-0000-000000000000") || id == uuid.Nil {
		return errNotStraight
	}
	*into.Addr().Interface().(*uuid.UUID) = id
	return nil
}

func readTime(r bodyReader, into reflect.Value) error {
	text, err := r.quoted()
	if err != nil {
		return err
	}
	return into.Addr().Interface().(*time.Time).UnmarshalText(text)
}

func readDate(r bodyReader, into reflect.Value) error {
	text, err := r.quoted()
	if err != nil {
		return err
	}
	day, err := time.Parse(time.DateOnly, string(text))
	if err != nil || len(text) != len(time.DateOnly) {
		return errNotStraight
	}
	into.Addr().Interface().(*openapi_types.Date).Time = day
	return nil
}

// text reads a text that is one, without characters that nobody sees.
func (r bodyReader) text() (string, error) {
	token, err := r.ReadToken()
	if err != nil {
		return "", err
	}
	if token.Kind() != '"' {
		return "", errNotStraight
	}
	text := token.String()
	if _, unseen := spelling.Unseen(text); unseen {
		return "", errNotStraight
	}
	return text, nil
}

func straightText(s *openapi3.Schema) straight {
	pattern, err := regexp.Compile(s.Pattern)
	if err != nil || strings.Contains(s.Pattern, `\u`) {
		return notStraight
	}
	return func(r bodyReader, into reflect.Value) error {
		text, err := r.text()
		if err != nil {
			return err
		}
		if !fits(utf8.RuneCountInString(text), s.MinLength, s.MaxLength) || s.Pattern != "" && !pattern.MatchString(text) {
			return errNotStraight
		}
		into.SetString(text)
		return nil
	}
}

func straightInteger(s *openapi3.Schema, into reflect.Type) straight {
	if into.Kind() != reflect.Int && into.Kind() != reflect.Int64 || len(s.Enum) > 0 || s.Format != "" && s.Format != "int64" {
		return notStraight
	}
	return func(r bodyReader, into reflect.Value) error {
		raw, err := r.ReadValue()
		if err != nil {
			return err
		}
		n, err := strconv.ParseInt(string(raw), 10, 64) // 3.0 and 3e0 are read otherwise
		if err != nil || into.OverflowInt(n) || !inRange(float64(n), s) {
			return errNotStraight
		}
		into.SetInt(n)
		return nil
	}
}

func straightNumber(s *openapi3.Schema) straight {
	if len(s.Enum) > 0 || s.Format != "" && s.Format != "double" {
		return notStraight
	}
	return func(r bodyReader, into reflect.Value) error {
		raw, err := r.ReadValue()
		if err != nil {
			return err
		}
		if raw.Kind() != '0' {
			return errNotStraight
		}
		x, _, ok := storable(string(raw))
		if !ok || !inRange(x, s) {
			return errNotStraight
		}
		into.SetFloat(x)
		return nil
	}
}

func inRange(x float64, s *openapi3.Schema) bool {
	return (s.Min == nil || *s.Min <= x) && (s.Max == nil || x <= *s.Max)
}

// begin reads the bracket that begins a list or an object.
func (r bodyReader) begin(bracket jsontext.Kind) error {
	if r.PeekKind() != bracket {
		return errNotStraight
	}
	_, err := r.ReadToken()
	return err
}

func straightList(s *openapi3.Schema, item straight) straight {
	return func(r bodyReader, into reflect.Value) error {
		if err := r.begin('['); err != nil {
			return err
		}
		into.Set(reflect.MakeSlice(into.Type(), 0, 0))
		n := 0
		for ; r.PeekKind() != ']'; n++ {
			if s.MaxItems != nil && uint64(n) == *s.MaxItems {
				return errNotStraight
			}
			into.Grow(1)
			into.SetLen(n + 1)
			if err := item(r, into.Index(n)); err != nil {
				return err
			}
		}
		if !fits(n, s.MinItems, s.MaxItems) {
			return errNotStraight
		}
		_, err := r.ReadToken()
		return err
	}
}

func straightMap(s *openapi3.Schema, into reflect.Type, value straight) straight {
	if into.Key() != reflect.TypeFor[string]() {
		return notStraight
	}
	return func(r bodyReader, into reflect.Value) error {
		if err := r.begin('{'); err != nil {
			return err
		}
		into.Set(reflect.MakeMap(into.Type()))
		for r.PeekKind() != '}' {
			name, err := r.text()
			if err != nil {
				return err
			}
			key, one := reflect.ValueOf(name), reflect.New(into.Type().Elem()).Elem()
			if into.MapIndex(key).IsValid() || s.MaxProps != nil && uint64(into.Len()) == *s.MaxProps {
				return errNotStraight
			}
			if err := value(r, one); err != nil {
				return err
			}
			into.SetMapIndex(key, one)
		}
		_, err := r.ReadToken()
		return err
	}
}

// straightMember is a member of an object and the field that it is read into.
type straightMember struct {
	field []int
	bit   uint64
	read  straight
}

func straightObject(s *openapi3.Schema, into reflect.Type, within []bodyType) straight {
	const mostMembers = 64 // bits
	if len(s.Properties) > mostMembers || s.MaxProps != nil || s.AdditionalProperties.Schema != nil {
		return notStraight
	}
	fields := map[string]reflect.StructField{}
	for _, f := range reflect.VisibleFields(into) {
		if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); !f.Anonymous && name != "" {
			fields[name] = f
		}
	}
	members := map[string]*straightMember{}
	for name, p := range s.Properties {
		m := &straightMember{bit: 1 << len(members), read: notStraight}
		if f, has := fields[name]; has && !p.Value.ReadOnly {
			m.field, m.read = f.Index, straightFor(p.Value, f.Type, within)
		}
		members[name] = m
	}
	var required uint64
	for _, name := range s.Required {
		m := members[name]
		if m == nil {
			return notStraight
		}
		if !s.Properties[name].Value.ReadOnly {
			required |= m.bit
		}
	}
	return func(r bodyReader, into reflect.Value) error { return r.members(members, required, into) }
}

// members reads an object's members into their fields.
func (r bodyReader) members(members map[string]*straightMember, required uint64, into reflect.Value) error {
	if err := r.begin('{'); err != nil {
		return err
	}
	var seen uint64
	for r.PeekKind() != '}' {
		name, err := r.quoted()
		if err != nil {
			return err
		}
		m := members[string(name)]
		if m == nil || seen&m.bit != 0 {
			return errNotStraight
		}
		seen |= m.bit
		if err := m.read(r, into.FieldByIndex(m.field)); err != nil {
			return err
		}
	}
	if seen&required != required {
		return errNotStraight
	}
	_, err := r.ReadToken()
	return err
}
