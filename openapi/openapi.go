// Package openapi is the contract: openapi.yaml, and the types and the server
// interface that are generated from it.
package openapi

import (
	_ "embed"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"
)

//go:generate go tool oapi-codegen -config oapi-codegen.yaml openapi.yaml

// YAML is the contract as it is served.
//
//go:embed openapi.yaml
var YAML []byte

// Document is the contract, read once, with one closed object for each that allOf makes of
// several. What is in it knows its line, so that forms ask in the order of the contract.
var Document = sync.OnceValues(func() (*openapi3.T, error) {
	loader := openapi3.NewLoader()
	loader.IncludeOrigin = true
	doc, err := loader.LoadFromData(YAML)
	if err == nil {
		closeAllOf(doc.Components.Schemas)
	}
	return doc, err
})
