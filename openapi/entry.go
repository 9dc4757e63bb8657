package openapi

import (
	"slices"

	"github.com/getkin/kin-openapi/openapi3"
)

// Shared returns what every entry brings with it. Each type of entry embeds it, so that
// one function reads and writes it for all of them.
func (e *NewEntry) Shared() *NewEntry { return e }

// closeAllOf makes one closed object of each schema that allOf makes of several. The parts
// cannot say additionalProperties: false themselves, since each would refuse the fields of
// the others.
func closeAllOf(schemas openapi3.Schemas) {
	for _, ref := range schemas {
		s := ref.Value
		if len(s.AllOf) < 2 {
			continue
		}
		s.Type, s.Properties = &openapi3.Types{openapi3.TypeObject}, openapi3.Schemas{}
		for _, part := range s.AllOf {
			for name, property := range part.Value.Properties {
				s.Properties[name] = property
			}
			s.Required = append(slices.Clip(s.Required), part.Value.Required...)
		}
		s.AdditionalProperties, s.AllOf = openapi3.BoolSchema{Has: openapi3.Ptr(false)}, nil
	}
}
