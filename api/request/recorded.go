package request

import (
	"fmt"
	"slices"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"

	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// Recorded is how entries of a kind come over the contract.
type Recorded struct {
	Path   string
	Schema *openapi3.Schema
	role   db.Role
}

// RecordedBy finds each kind's operation: the one whose body is New and the kind.
// An import has none: it comes with its sheet. Nor has a certificate, nor what the operator
// changes.
var RecordedBy = sync.OnceValues(func() (map[ledger.Kind]Recorded, error) {
	all, err := openapi.Recordings()
	if err != nil {
		return nil, err
	}
	out := map[ledger.Kind]Recorded{}
	for name, way := range all {
		if kind := ledger.Kind(snake(name)); slices.Contains(ledger.Kinds(), kind) && !comesByItself(kind) {
			out[kind] = Recorded{way.Path, way.Body, db.Role(way.Role)}
		}
	}
	for _, k := range ledger.Kinds() {
		if out[k].Schema == nil && !comesByItself(k) {
			return nil, fmt.Errorf("openapi.yaml has no way to record a %s", k)
		}
	}
	return out, nil
})

// comesByItself reports whether entries of a kind come with what they tell of: a
// sheet that is brought in, the file of a certificate, or a change of people, tokens, keys
// and tablets.
func comesByItself(kind ledger.Kind) bool {
	return kind == ledger.KindImport || kind == ledger.KindOperator || kind.Files()
}
