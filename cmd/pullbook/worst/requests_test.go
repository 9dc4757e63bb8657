package worst

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/google/uuid"
)

// request is one that is meant to be bad for the program.
type request struct {
	name        string
	role        string
	path        string
	contentType string
	body        []byte
}

// operation is one of the contract's.
type operation struct {
	id, method, path string
	*openapi3.Operation
}

// bodyKiB is what the contract lets a body hold; 0 where there is none.
func (o operation) bodyKiB() int {
	kib, _ := o.Extensions["x-body-kib"].(float64)
	return int(kib)
}

// worst lists what is sent to an operation.
func (o operation) worst(t *testing.T, things map[string]string) []request {
	t.Helper()
	if o.RequestBody == nil {
		return o.asking(things)
	}
	path := o.filled(things)
	switch {
	case o.id == "putLaboratoryCertificate":
		return o.certificates(t, path, "reading_id", 5<<20, things)
	case o.id == "putPhoto":
		return o.certificates(t, path, "entry_id", 512<<10, things)
	case o.RequestBody.Value.Content["application/json"] == nil:
		return o.sheets(t, path)
	}
	var out []request
	for name, body := range hostile(fields(o.RequestBody.Value.Content["application/json"].Schema.Value), o.bodyKiB()<<10) {
		for _, role := range []string{"manager", "reader"} {
			out = append(out, request{name: name, role: role, path: path, contentType: "application/json", body: body})
		}
	}
	return out
}

// fields are the names of a body's fields, lists first.
func fields(schema *openapi3.Schema) (names []string) {
	for name := range schema.Properties {
		names = append(names, name)
	}
	for _, part := range schema.AllOf {
		names = append(names, fields(part.Value)...)
	}
	isList := func(name string) bool {
		p := schema.Properties[name]
		return p != nil && p.Value != nil && p.Value.Type.Is("array")
	}
	slices.SortFunc(names, func(a, b string) int {
		if isList(a) != isList(b) {
			return map[bool]int{true: -1, false: 1}[isList(a)]
		}
		return strings.Compare(a, b)
	})
	return slices.Compact(names)
}

// hostile are bodies as large as they may be, and one that is larger.
func hostile(fields []string, most int) map[string][]byte {
	whole := func(begin, part, end string) []byte {
		return []byte(begin + strings.Repeat(part, max(0, (most-len(begin)-len(end))/len(part))) + end)
	}
	out := map[string][]byte{
		"deep":              whole(`{"a":`, `[`, ``),
		"many names":        nil,
		"one long text":     whole(`{"name":"`, `x`, `"}`),
		"one long number":   whole(`{"mass_kg":`, `1`, `}`),
		"too large":         append(whole(`{"name":"`, `x`, `"}`), bytes.Repeat([]byte(" "), 1<<16)...),
		"signs that escape": whole(`{"name":"`, `\u0001`, `"}`),
	}
	var names strings.Builder
	for i := 0; names.Len() < most-64; i++ {
		fmt.Fprintf(&names, `,"occured_at%d":0`, i)
	}
	out["many names"] = []byte(`{"a":0` + names.String() + `}`)
	for i, name := range fields {
		if i < 3 {
			out["wrong items in "+name] = whole(`{"`+name+`":[0`, `,{}`, `]}`)
			out["empty items in "+name] = whole(`{"`+name+`":[0`, `,0`, `]}`)
		}
	}
	return out
}

// asking are requests without a body: for all that there is, for it as known half
// way, and with an address as long as is taken.
func (o operation) asking(things map[string]string) []request {
	path := o.filled(things)
	all, long := url.Values{}, url.Values{}
	for _, p := range o.Parameters {
		schema := p.Value.Schema.Value
		if p.Value.In != openapi3.ParameterInQuery {
			continue
		}
		if p.Value.Example != nil {
			all.Set(p.Value.Name, fmt.Sprint(p.Value.Example))
		}
		if thing := things[p.Value.Name]; thing != "" && p.Value.Required {
			all.Set(p.Value.Name, thing)
		}
		if p.Value.Name == "limit" && schema.Max != nil {
			all.Set("limit", fmt.Sprint(int(*schema.Max)))
		}
		long.Set(p.Value.Name, strings.Repeat("9", 24<<10/max(1, len(o.Parameters))))
	}
	out := []request{
		{name: "all there is", role: "manager", path: path + "?" + all.Encode()},
		{name: "a long address", role: "manager", path: path + "?" + long.Encode()},
	}
	for _, p := range o.Parameters {
		if p.Value.Name == "known_at" {
			before := url.Values{"known_at": {things["known_at"]}}
			for name, values := range all {
				before[name] = values
			}
			out = append(out, request{name: "as known half way", role: "manager", path: path + "?" + before.Encode()})
		}
	}
	return out
}

// filled is the path with things of the book in it.
func (o operation) filled(things map[string]string) string {
	id := things["id "+o.path]
	if id == "" {
		id = things["lot"]
	}
	return strings.NewReplacer("{id}", id, "{lot}", things["lot"], "{holder}", things["holder"], "{instrument}", things["instrument"],
		"{format}", "csv", "{standard}", things["standard"]).Replace(o.path)
}

// sheets are files to bring in: new names only, one endless line, nothing but
// separators.
func (o operation) sheets(t *testing.T, path string) []request {
	t.Helper()
	var pulls strings.Builder
	pulls.WriteString("Date,Yard,Supers,Kind\n")
	for i := range 40_000 {
		fmt.Fprintf(&pulls, "2026-07-%02d,Yard number %d,3,deep\n", 1+i%28, i)
	}
	const long = 32 << 20
	out := []request{}
	for name, text := range map[string]string{
		"40,000 new names": pulls.String(),
		"one endless line": "Date,Yard,Supers\n2026-07-01," + strings.Repeat("x", long) + ",1\n",
		"only separators":  strings.Repeat(",", long),
		"an open quote":    "Date,Yard,Supers\n\"" + strings.Repeat("2026-07-01,a,1\n", long/15),
	} {
		// The book has a sheet with the same headings: it is not to be read like that one.
		kind, body := form(t, map[string]string{"id": uuid.NewString(), "kind": "pulls", "mapping": `{"as_last_time":false}`}, text)
		out = append(out, request{name: name, role: "manager", path: path, contentType: kind, body: body})
	}
	return out
}

// certificates are files as large as one may be, of which one is taken; pictures that
// would be vast if anybody unpacked them; and a file that is larger than any.
func (o operation) certificates(t *testing.T, path, of string, most int, things map[string]string) []request {
	t.Helper()
	var out []request
	for name, file := range map[string]string{
		"a PDF as large as may be":      "%PDF-1.7" + strings.Repeat("x", most-8),
		"nothing but heads of pictures": strings.Repeat("\xff\xd8\xff\xe1\x00\x02", most/6),
		"a vast picture":                "\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR\x7f\xff\xff\xff\x7f\xff\xff\xff\x08\x06\x00\x00\x00" + strings.Repeat("\x00", most/2),
		"too large":                     "%PDF-1.7" + strings.Repeat("x", 32<<20),
	} {
		kind, body := form(t, map[string]string{"id": uuid.NewString(), of: things["laboratory result"]}, file)
		out = append(out, request{name: name, role: "manager", path: path, contentType: kind, body: body})
	}
	return out
}

// form is a sheet, or a file, with what goes before it.
func form(t *testing.T, parts map[string]string, sheet string) (contentType string, body []byte) {
	t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for name, value := range parts {
		if err := w.WriteField(name, value); err != nil {
			t.Fatal(err)
		}
	}
	file, err := w.CreateFormFile("file", "sheet.csv")
	if err == nil {
		_, err = io.WriteString(file, sheet)
	}
	if err != nil {
		t.Fatal(err)
	}
	w.Close()
	return w.FormDataContentType(), b.Bytes()
}

// send sends a request and reads the whole answer.
func (p *program) send(method string, r request) (status int, answer int64, err error) {
	within, leave := context.Background(), func() {}
	stream := strings.HasPrefix(r.path, "/v1/changes/stream")
	if stream { // which ends when its reader goes
		within, leave = context.WithTimeout(within, readStream)
	}
	defer leave()
	q, err := http.NewRequestWithContext(within, method, p.base+r.path, bytes.NewReader(r.body))
	if err != nil {
		return 0, 0, err
	}
	q.Header.Set("Authorization", "Bearer "+p.tokens[r.role])
	if r.contentType != "" {
		q.Header.Set("Content-Type", r.contentType)
	}
	response, err := http.DefaultClient.Do(q)
	if err != nil {
		return 0, 0, err
	}
	defer response.Body.Close()
	answer, err = io.Copy(io.Discard, response.Body)
	if stream && within.Err() != nil {
		err = nil
	}
	return response.StatusCode, answer, err
}

// readStream is how long the stream of changes is read.
const readStream = 5 * time.Second

// say sends a request and gives the answer's text.
func (p *program) say(t *testing.T, method string, r request) (status int, text string) {
	t.Helper()
	q, err := http.NewRequestWithContext(t.Context(), method, p.base+r.path, bytes.NewReader(r.body))
	if err != nil {
		t.Fatal(err)
	}
	q.Header.Set("Authorization", "Bearer "+p.tokens[r.role])
	q.Header.Set("Content-Type", r.contentType)
	return answerTo(t, q)
}

func answerTo(t *testing.T, q *http.Request) (status int, body string) {
	t.Helper()
	response, err := http.DefaultClient.Do(q)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, string(text)
}
