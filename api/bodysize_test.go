package api_test

import (
	"slices"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"pullbook/openapi"
)

// TestEveryBodyThatTheContractAllowsFits works out the largest body of each operation from
// the contract, and holds it against x-body-kib. So no client is told that a body is too
// large which the schema lets it send.
func TestEveryBodyThatTheContractAllowsFits(t *testing.T) {
	t.Parallel()
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	bodies := 0
	for path, item := range doc.Paths.Map() {
		for _, op := range item.Operations() {
			if op.RequestBody == nil {
				continue
			}
			media := op.RequestBody.Value.Content["application/json"]
			if media == nil {
				continue // a form, of which each part is bounded
			}
			bodies++
			kib, _ := op.Extensions["x-body-kib"].(float64)
			largest := (&measurer{t: t, at: path}).largest(media.Schema.Value)
			if largest > int64(kib)<<10 {
				t.Errorf("%s may have a body of %d KiB by its schema, and x-body-kib is %.0f", op.OperationID, (largest+1023)>>10, kib)
			}
		}
	}
	if bodies < 35 {
		t.Errorf("only %d operations have bodies", bodies)
	}
}

// measurer works out how many bytes a value of a schema may have, written without blanks.
type measurer struct {
	t  *testing.T
	at string
	// within are the schemas around the one at hand.
	within []*openapi3.Schema
}

// The longest of what no length is written for.
const (
	longestFigure = 24 // -1.2345678901234567e-123
	longestTime   = len("2026-08-22T13:00:00.123456789+05:45")
	longestUUID   = 36
	longestName   = 40 // of a field, where a body names fields
	// perCharacter is what one character may take: \u00f1, as many programs write it. In a
	// whole file, nearly all of them take one byte, and the ends of lines two.
	perCharacter       = 6
	perCharacterOfFile = 2
	longText           = 100_000
)

func (m *measurer) largest(s *openapi3.Schema) int64 {
	if slices.Contains(m.within, s) {
		return 0 // a condition of conditions has no largest; it is counted once
	}
	m.within = append(m.within, s)
	defer func() { m.within = m.within[:len(m.within)-1] }()
	most := int64(0)
	for _, of := range slices.Concat(s.OneOf, s.AnyOf) {
		most = max(most, m.largest(of.Value))
	}
	for _, of := range s.AllOf {
		most += m.largest(of.Value)
	}
	switch {
	case s.Type.Includes(openapi3.TypeObject), len(s.Properties) > 0:
		return most + m.object(s)
	case s.Type.Includes(openapi3.TypeArray):
		if s.MaxItems == nil {
			m.t.Errorf("%s: a list has no maxItems", m.at)
			return most
		}
		return most + 2 + int64(*s.MaxItems)*(1+m.largest(s.Items.Value))
	case s.Type.Includes(openapi3.TypeString):
		return max(most, 2+m.text(s))
	case s.Type.Includes(openapi3.TypeNumber), s.Type.Includes(openapi3.TypeInteger):
		return max(most, longestFigure)
	}
	return max(most, int64(len("false")))
}

func (m *measurer) object(s *openapi3.Schema) int64 {
	most, instead := int64(2), int64(0)
	oneOf, _ := s.Extensions["x-one-of"].([]any)
	for name, p := range s.Properties {
		if p.Value.ReadOnly {
			continue
		}
		size := int64(len(name)) + 4 + m.largest(p.Value)
		switch {
		case slices.Contains(oneOf, any(name)):
			instead = max(instead, size)
		default:
			most += size
		}
	}
	most += instead
	if more := s.AdditionalProperties.Schema; more != nil {
		if s.MaxProps == nil {
			m.t.Errorf("%s: an object has no maxProperties", m.at)
			return most
		}
		most += int64(*s.MaxProps) * (longestName*perCharacter + 4 + m.largest(more.Value))
	}
	return most
}

func (m *measurer) text(s *openapi3.Schema) int64 {
	most := 0
	for _, of := range s.Enum {
		if text, is := of.(string); is {
			most = max(most, len(text))
		}
	}
	switch {
	case most > 0:
		return int64(most)
	case s.Format == "uuid":
		return longestUUID
	case s.Format == "date-time", s.Format == "date":
		return int64(longestTime)
	case s.MaxLength == nil:
		m.t.Errorf("%s: a text has no maxLength", m.at)
		return 0
	}
	if *s.MaxLength > longText {
		return int64(*s.MaxLength) * perCharacterOfFile
	}
	return int64(*s.MaxLength) * perCharacter
}
