package api_test

import "github.com/getkin/kin-openapi/openapi3filter"

// A picture is text to whom holds replies against the contract.
func init() {
	openapi3filter.RegisterBodyDecoder("image/svg+xml", openapi3filter.FileBodyDecoder)
}
