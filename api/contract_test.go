package api_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strings"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/legacy"

	"pullbook/openapi"
)

var contractRouter = sync.OnceValues(func() (routers.Router, error) {
	doc, err := openapi.Document()
	if err != nil {
		return nil, err
	}
	return legacy.NewRouter(doc)
})

// heldToContract lets no request pass that the service takes and the contract
// does not have, and no reply that is not as the contract has it.
func heldToContract(t testing.TB, next http.RoundTripper) http.RoundTripper {
	router, err := contractRouter()
	if err != nil {
		t.Fatalf("openapi.yaml: %v", err)
	}
	return roundTripper(func(r *http.Request) (*http.Response, error) {
		sent, err := io.ReadAll(r.Body)
		if err != nil {
			return nil, err
		}
		r.Body = io.NopCloser(bytes.NewReader(sent))
		response, err := next.RoundTrip(r)
		if err != nil {
			return nil, err
		}
		defer response.Body.Close()
		came, err := io.ReadAll(response.Body)
		if err != nil {
			return nil, err
		}
		response.Body = io.NopCloser(bytes.NewReader(came))
		if err := asInContract(router, r, sent, response, came); err != nil {
			t.Errorf("%s %s -> %d is not as the contract has it: %v\nsent: %.400s\ncame: %.400s", r.Method, r.URL.Path, response.StatusCode, err, sent, came)
		}
		return response, nil
	})
}

type roundTripper func(*http.Request) (*http.Response, error)

func (f roundTripper) RoundTrip(r *http.Request) (*http.Response, error) { return f(r) }

func asInContract(router routers.Router, r *http.Request, sent []byte, response *http.Response, came []byte) error {
	ours := strings.HasPrefix(r.URL.Path, "/v1/") || strings.HasPrefix(r.URL.Path, "/feeds/")
	if response.StatusCode >= 400 && ours && r.Method != http.MethodHead {
		if err := isProblem(response, came); err != nil {
			return err
		}
	}
	again := r.Clone(r.Context())
	again.URL.Path = r.URL.EscapedPath() // the router takes a name with a slash in it for two steps
	again.Body = io.NopCloser(bytes.NewReader(sent))
	route, params, err := router.FindRoute(again)
	if err != nil {
		if response.StatusCode < 400 && ours && r.Method != http.MethodHead && r.Method != http.MethodOptions {
			return fmt.Errorf("it answers, and is not in the contract: %w", err)
		}
		return nil
	}
	request := &openapi3filter.RequestValidationInput{Request: again, PathParams: params, Route: route,
		Options: &openapi3filter.Options{AuthenticationFunc: openapi3filter.NoopAuthenticationFunc, IncludeResponseStatus: true}}
	if response.StatusCode < 400 {
		if err := openapi3filter.ValidateRequest(r.Context(), request); err != nil {
			return fmt.Errorf("the service took what the contract has not: %w", err)
		}
		if route.Operation.Responses.Status(response.StatusCode) == nil {
			return fmt.Errorf("status %d is not declared", response.StatusCode)
		}
	}
	plain, err := uncompressed(response, came)
	if err != nil {
		return err
	}
	return openapi3filter.ValidateResponse(r.Context(), &openapi3filter.ResponseValidationInput{
		RequestValidationInput: request, Status: response.StatusCode, Header: response.Header,
		Body: io.NopCloser(bytes.NewReader(plain)), Options: request.Options,
	})
}

// uncompressed is a body as it was before it was compressed on its way.
func uncompressed(response *http.Response, came []byte) ([]byte, error) {
	if response.Header.Get("Content-Encoding") != "gzip" {
		return came, nil
	}
	r, err := gzip.NewReader(bytes.NewReader(came))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}

// isProblem holds a reply against RFC 9457, for what the contract does not route
// too.
func isProblem(response *http.Response, came []byte) error {
	if kind, _, _ := mime.ParseMediaType(response.Header.Get("Content-Type")); kind != "application/problem+json" {
		return fmt.Errorf("an error of type %q", kind)
	}
	var p problem
	if err := json.Unmarshal(came, &p); err != nil {
		return err
	}
	switch {
	case p.Status != response.StatusCode:
		return fmt.Errorf("the problem says status %d", p.Status)
	case !strings.HasPrefix(p.Type, "/problems/") || p.Title == "" || p.Detail == "":
		return fmt.Errorf("the problem lacks its type, title or detail")
	case p.RequestID == "" || p.RequestID != response.Header.Get("X-Request-Id"):
		return fmt.Errorf("the problem's request id %q is not the header's %q", p.RequestID, response.Header.Get("X-Request-Id"))
	}
	for _, e := range p.Errors {
		if e.Detail == "" {
			return fmt.Errorf("nothing is said about %q", e.Pointer)
		}
	}
	return nil
}

// operation is one of the contract's.
type operation struct {
	method, path string
	*openapi3.Operation
}

// operations lists the contract's operations, paths in alphabetical order.
func operations(t testing.TB) []operation {
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	var out []operation
	for _, path := range doc.Paths.InMatchingOrder() {
		for method, op := range doc.Paths.Value(path).Operations() {
			out = append(out, operation{method, path, op})
		}
	}
	return out
}

// isForm reports whether the operation takes a form with a file; its tests are its
// own.
func (o operation) isForm() bool {
	return o.RequestBody != nil && o.RequestBody.Value.Content["application/json"] == nil
}

// example is the operation's example request, nil where it has none.
func (o operation) example() any {
	if o.RequestBody == nil || o.isForm() {
		return nil
	}
	return o.RequestBody.Value.Content["application/json"].Example
}

func TestTheExamplesOfTheContractMakeASeason(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	before := o.head(t).LastEntry
	entries := o.recordExamples(t)
	if got := o.head(t).LastEntry - before; got != int64(entries) {
		t.Errorf("%d examples made %d entries", entries, got)
	}
	totals := read[struct {
		Balanced    bool
		HarvestedKg float64 `json:"harvested_kg"`
	}](t, o, "reports/totals")
	if !totals.Balanced || totals.HarvestedKg != 1250 {
		t.Errorf("the examples' season: %+v", totals)
	}
	for _, f := range read[[]struct{ Flag flag }](t, o, "reports/findings") {
		if f.Flag.Code != "rests_on_withdrawn" {
			t.Errorf("the examples' season has something odd: %s", f.Flag.Sentence)
		}
	}
}

func TestEveryOperationOfTheContractAnswers(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	key, _, err := o.operator.CreateFeedKey(t.Context(), o.id, "the office spreadsheet", "", "Mirren")
	if err != nil {
		t.Fatal(err)
	}
	hook := func() string {
		r := o.post(t, "deliveries", M{"way": "hook", "name": "the office", "address": "https://office.example", "at": "19:00"})
		return as[struct{ Delivery struct{ ID string } }](t, r).Delivery.ID
	}
	brought := o.bringIn(t, o.manager, "yards", "true", "Yard\nBirch Hollow\n", nil)
	if brought.status != http.StatusCreated {
		t.Fatalf("a sheet: %d %s", brought.status, brought.raw)
	}
	result, certificate := id(), id()
	o.book(t, "readings", M{"id": result, "occurred_at": at(21, "16:00"), "on": M{"kind": "lot", "id": "0198b1a0-0018-7000-8000-000000000018"}, "laboratory": "Fern Valley", "moisture_pct": 17.1})
	if r := o.putCertificate(t, o.manager, certificate, result, "26-1207.pdf", aPDF("26-1207")); r.status != http.StatusCreated {
		t.Fatalf("a certificate: %d %s", r.status, r.raw)
	}
	photo := id()
	if r := o.putPhoto(t, o.manager, photo, result, aPicture(t, 90)); r.status != http.StatusCreated {
		t.Fatalf("a picture: %d %s", r.status, r.raw)
	}
	ids := map[string]string{
		"/v1/laboratory-certificates/{id}/file": certificate,
		"/v1/photos/{id}/file":                  photo,
		"/v1/imports/{id}":                      as[importAnswer](t, brought).ID,
		"/v1/feed-keys/{id}":                    key.ID.String(),
		"/v1/deliveries/{id}":                   hook(),
		"/v1/deliveries/{id}/now":               hook(),
		"/v1/entries/{id}":                      "0198b1a0-0010-7000-8000-000000000010",
		"/v1/lots/{lot}/certificate.pdf":        "0198b1a0-0018-7000-8000-000000000018",
		"/v1/reports/lots/{lot}":                "0198b1a0-0018-7000-8000-000000000018",
		"/v1/reports/holders/{holder}":          "0198b1a0-0006-7000-8000-000000000006",

		"/v1/standards/{standard}":             "eu-2001-110",
		"/v1/reports/verdicts/{lot}":           "0198b1a0-0018-7000-8000-000000000018",
		"/v1/reports/fermentation/{lot}":       "0198b1a0-0018-7000-8000-000000000018",
		"/v1/reports/sample/{lot}":             "0198b1a0-0018-7000-8000-000000000018",
		"/v1/plans/adopted/{id}":               "0198b1a0-0042-7000-8000-000000000042",
		"/v1/reports/settlements/{id}":         "0198b1a0-0030-7000-8000-000000000030",
		"/v1/reports/instruments/{instrument}": "0198b1a0-0007-7000-8000-000000000007",
	}
	for _, op := range operations(t) {
		if op.isForm() || isEntry(op) || isCalculator(op) || isStream(op) {
			continue // recordExamples has sent it; the calculators have examples with their answers
		}
		path := op.path
		if strings.Contains(path, "{") {
			if strings.HasSuffix(path, ".{format}") {
				ids[path] = "csv"
			}
			if ids[path] == "" {
				t.Errorf("%s %s: the test knows no id for it", op.method, path)
				continue
			}
			path = path[:strings.Index(path, "{")] + ids[path] + path[strings.Index(path, "}")+1:]
		}
		var body []byte
		if example := op.example(); example != nil {
			body, _ = json.Marshal(example)
		}
		if r := o.send(t, op.method, path+askingQuery(op), o.manager, body); r.status != http.StatusOK && r.status != http.StatusCreated {
			t.Errorf("%s %s: %d %s", op.method, path, r.status, r.raw)
		}
	}
}

// askingQuery is an operation's query with the examples of its parameters: those
// that must be given have one, and one of those of which either must be.
func askingQuery(op operation) string {
	var out []string
	for _, p := range op.Parameters {
		if p.Value.In == openapi3.ParameterInQuery && (p.Value.Required || p.Value.Example != nil) {
			out = append(out, fmt.Sprintf("%s=%v", p.Value.Name, p.Value.Example))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "?" + strings.Join(out, "&")
}

// isStream tells the operation whose answer does not end.
func isStream(op operation) bool { return op.OperationID == "streamEntries" }

func isEntry(op operation) bool {
	return op.method == http.MethodPost && strings.HasPrefix(op.OperationID, "record")
}

// recordExamples sends the example of every operation that records, in the order
// in which the contract lists them, and says how many there are.
func (o *outfit) recordExamples(t *testing.T) int {
	t.Helper()
	for i, op := range recordingInOrder(t) {
		if op.example() == nil {
			t.Fatalf("%s has no example", op.OperationID)
		}
		body, err := json.Marshal(op.example())
		if err != nil {
			t.Fatal(err)
		}
		r := o.send(t, http.MethodPost, op.path, o.manager, body)
		if r.status != http.StatusCreated {
			t.Fatalf("example %d, %s: %d %s", i+1, op.OperationID, r.status, r.raw)
		}
	}
	return len(recordingInOrder(t))
}

// recordingInOrder lists the operations that record, in the contract's order,
// which is that of the kinds: set-up, what happens, what is said about entries.
func recordingInOrder(t testing.TB) []operation {
	var out []operation
	byPath := map[string]operation{}
	for _, op := range operations(t) {
		if isEntry(op) {
			byPath[op.path] = op
		}
	}
	for line := range strings.Lines(string(openapi.YAML)) {
		path := strings.TrimSuffix(strings.TrimSpace(line), ":")
		if op, ok := byPath[path]; ok {
			out = append(out, op)
			delete(byPath, path)
		}
	}
	return out
}
