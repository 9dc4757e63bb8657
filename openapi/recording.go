package openapi

import (
	"fmt"
	"strings"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"
)

// Recording is how one kind of entry is recorded, or a key is made.
type Recording struct {
	// Path takes it by POST, as /v1/pulls.
	Path string
	// Body is the schema of the request.
	Body *openapi3.Schema
	// Role is the least role that may send it.
	Role string
}

const newTypes = "#/components/schemas/New"

// Recordings returns what the contract takes by POST as one of its New types, by the name
// of the type without "New", as Pull.
var Recordings = sync.OnceValues(func() (map[string]Recording, error) {
	doc, err := Document()
	if err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	out := map[string]Recording{}
	for path, item := range doc.Paths.Map() {
		if item.Post == nil || item.Post.RequestBody == nil {
			continue
		}
		body := item.Post.RequestBody.Value.Content.Get("application/json")
		if body == nil {
			continue
		}
		if name, ok := strings.CutPrefix(body.Schema.Ref, newTypes); ok {
			role, _ := item.Post.Extensions["x-role"].(string)
			out[name] = Recording{path, body.Schema.Value, role}
		}
	}
	return out, nil
})

// RecordingPath returns the path that takes values of a New type, as NewPull.
func RecordingPath(typeName string) (string, error) {
	all, err := Recordings()
	if err != nil {
		return "", err
	}
	noun, isNew := strings.CutPrefix(typeName, "New")
	way, ok := all[noun]
	if !isNew || !ok {
		return "", fmt.Errorf("the contract has no way to record a %s", typeName)
	}
	return way.Path, nil
}
