package request

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/go-json-experiment/json/jsontext"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
)

// What a body may hold, whatever the contract says of it.
const (
	// deepestBody is how many lists and objects may stand in each other.
	deepestBody = 32
	// longestNumber is how many characters a number may have.
	longestNumber = 64
	// mostUnknown is how many unknown names of one object are looked at.
	mostUnknown = 1000
)

// unread stands in a value for a list or an object that the contract has no room
// for. The reader checks such a value and keeps only these words for it, so that
// a body takes no more memory than the contract lets it.
type unread string

// ReadJSON reads exactly one JSON value, as far as the schema has room for it. It
// refuses what encoding/json alters without a word: names that come twice, and
// text that is not UTF-8.
func ReadJSON(schema *openapi3.Schema, body []byte) (any, error) {
	if len(bytes.TrimSpace(body)) == 0 {
		return nil, fault.New(fault.Malformed, "The body is empty; one JSON object is needed.")
	}
	r := bodyReader{jsontext.NewDecoder(bytes.NewReader(body))}
	value, err := r.value(schema)
	if err == nil {
		if _, err = r.ReadToken(); err == io.EOF {
			return value, nil
		}
		if err == nil {
			err = fault.New(fault.Malformed, "The body is not JSON: it goes on after its end. Send one object.")
		}
	}
	var f *fault.Error
	if errors.As(err, &f) {
		return nil, f
	}
	return nil, notJSON(body, err)
}

// notJSON says what is wrong with a body that is not JSON, and where.
func notJSON(body []byte, err error) error {
	var syntax *jsontext.SyntacticError
	if !errors.As(err, &syntax) {
		return fault.New(fault.Malformed, "The body is not JSON: it ends too early.")
	}
	at := string(syntax.JSONPointer)
	if errors.Is(err, jsontext.ErrDuplicateName) {
		return refuse(at, nil, message.F("This name is given twice in one object. Leave one of them out."))
	}
	detail := syntax.Err.Error() + " at byte " + strconv.FormatInt(syntax.ByteOffset, 10)
	if number := commaNumber.FindString(around(body, syntax.ByteOffset)); number != "" {
		detail += "; " + number + " looks like a number with a comma: write " + strings.Replace(number, ",", ".", 1)
	}
	f := fault.New(fault.Malformed, "The body is not JSON: %s.", detail)
	f.Fields = []fault.Field{{Pointer: at, Message: message.F("The service stopped reading the body here.")}}
	return f
}

var commaNumber = regexp.MustCompile(`\d+,\d+`)

// around is the text near an offset.
func around(body []byte, offset int64) string {
	const near = 12
	size := int64(len(body))
	return string(body[min(size, max(0, offset-near)):min(size, offset+near)])
}

// refuse makes the fault of one field of a body.
func refuse(at string, sent any, why message.Text) error {
	return Invalid(complaints{Fields: []fault.Field{{Pointer: at, Sent: sent, Message: why}}})
}

// bodyReader reads a value token by token.
type bodyReader struct{ *jsontext.Decoder }

func (r bodyReader) here() string { return string(r.StackPointer()) }

func (r bodyReader) value(s *openapi3.Schema) (any, error) {
	switch r.PeekKind() {
	case '{':
		return r.object(plainSchema(s))
	case '[':
		return r.list(plainSchema(s))
	case '0':
		return r.number()
	}
	token, err := r.ReadToken()
	if err != nil {
		return nil, err
	}
	switch token.Kind() {
	case 't', 'f':
		return token.Bool(), nil
	case '"':
		text := token.String()
		return text, r.printable(text)
	}
	return nil, nil
}

// plainSchema is the schema behind one that only adds a description to it.
func plainSchema(s *openapi3.Schema) *openapi3.Schema {
	for s != nil && s.Type == nil && len(s.AllOf) == 1 {
		s = s.AllOf[0].Value
	}
	return s
}

func (r bodyReader) printable(text string) error {
	if unseen, found := spelling.Unseen(text); found {
		return refuse(r.here(), Sent(text), message.F("This holds a character that cannot be seen (%s): leave it out.", fmt.Sprintf("%U", unseen)))
	}
	return nil
}

func (r bodyReader) number() (any, error) {
	raw, err := r.ReadValue()
	if err != nil {
		return nil, err
	}
	text := string(raw)
	x, why, ok := storable(text)
	if !ok {
		return nil, refuse(r.here(), Sent(text), why)
	}
	return x, nil
}

// storable reads a number's text, and says why the number cannot be stored.
func storable(text string) (x float64, why message.Text, ok bool) {
	if len(text) > longestNumber {
		return 0, message.F("This number has more than %s characters: round it.", int64(longestNumber)), false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, message.F("This number is too large to be stored."), false
	}
	if x == 0 && strings.ContainsAny(text[:mantissa(text)], "123456789") {
		return 0, message.F("This number is so close to 0 that it cannot be stored. Write 0."), false
	}
	return x, message.Text{}, true
}

// mantissa is how long the part of a number before its exponent is.
func mantissa(number string) int {
	if at := strings.IndexAny(number, "eE"); at >= 0 {
		return at
	}
	return len(number)
}

// open reads the bracket that begins a list or an object.
func (r bodyReader) open() error {
	if _, err := r.ReadToken(); err != nil {
		return err
	}
	if r.StackDepth() > deepestBody {
		return refuse(r.here(), nil, message.F("This body goes too deep: at most %s lists and objects may stand in each other.", int64(deepestBody)))
	}
	return nil
}

func (r bodyReader) list(s *openapi3.Schema) (any, error) {
	if s == nil || !s.Type.Is(openapi3.TypeArray) {
		return r.skipList()
	}
	if err := r.open(); err != nil {
		return nil, err
	}
	most := math.MaxInt
	if s.MaxItems != nil {
		most = int(*s.MaxItems)
	}
	out := []any{}
	for r.PeekKind() != ']' {
		if len(out) > most {
			// One too many is enough to refuse the list.
			if err := r.SkipValue(); err != nil {
				return nil, err
			}
			continue
		}
		item, err := r.value(s.Items.Value)
		if err != nil {
			return nil, err
		}
		out = append(out, item)
	}
	_, err := r.ReadToken()
	return out, err
}

// skipList reads a list that the contract has no room for, and counts its items.
func (r bodyReader) skipList() (any, error) {
	if _, err := r.ReadToken(); err != nil {
		return nil, err
	}
	n := 0
	for ; r.PeekKind() != ']'; n++ {
		if err := r.SkipValue(); err != nil {
			return nil, err
		}
	}
	_, err := r.ReadToken()
	return unread(fmt.Sprintf("a list of %d", n)), err
}

func (r bodyReader) object(s *openapi3.Schema) (any, error) {
	if s == nil || !s.Type.Is(openapi3.TypeObject) {
		return unread("an object"), r.SkipValue()
	}
	if err := r.open(); err != nil {
		return nil, err
	}
	out, unknown := map[string]any{}, 0
	at := r.here()
	for r.PeekKind() != '}' {
		token, err := r.ReadToken()
		if err != nil {
			return nil, err
		}
		name := token.String()
		if err := r.printable(name); err != nil {
			return nil, err
		}
		if s.Properties[name] == nil {
			if unknown++; unknown > mostUnknown {
				return nil, refuse(at, nil, message.F("There are more than %s names here that the contract does not have.", int64(mostUnknown)))
			}
		}
		if out[name], err = r.value(memberSchema(s, name)); err != nil {
			return nil, err
		}
	}
	_, err := r.ReadToken()
	return out, err
}

// memberSchema is the schema of an object's member; nil where it has none.
func memberSchema(s *openapi3.Schema, name string) *openapi3.Schema {
	if p := s.Properties[name]; p != nil {
		return p.Value
	}
	if more := s.AdditionalProperties.Schema; more != nil {
		return more.Value
	}
	return nil
}
