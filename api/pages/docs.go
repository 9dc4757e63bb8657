package pages

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/openapi"
)

// docs is the contract as pages to read, made from openapi.yaml alone: one that
// says how it works and lists everything, and one for each resource.
type docs struct {
	doc *openapi3.T
	// common are the shapes that the first page describes for all.
	common    map[string]bool
	front     docsFront
	resources map[string]*docsResource
}

type docsFront struct {
	Title, Version, About string
	Groups                []docsGroup
	// EntryFields is what every entry that is sent brings, StoredFields what
	// every stored one has: said here once, and left out of each.
	EntryFields, StoredFields []docsField
	Shapes                    []docsShape
	Problems                  []problemType
}

type docsGroup struct {
	Name, About string
	Resources   []*docsResource
}

type docsResource struct {
	Name       string
	Operations []docsOperation
	Shapes     []docsShape
}

type docsOperation struct {
	ID, Method, Path, Summary, About string
	// Role is the least that may ask, and BodyKiB what the body may hold; nothing
	// where there is neither.
	Role    db.Role
	BodyKiB int64
	// Takes is what one request may take.
	Takes            openapi.Bounds
	Parameters, Body []docsField
	// BodyIsEntry is true where the body also has the fields of every entry.
	BodyIsEntry bool
	Example     string
	Responses   []docsResponse
}

type docsResponse struct {
	Status, About string
	// Shape is what is answered; List where it is a list of it.
	Shape docsLink
	List  bool
}

// docsLink leads to a shape that is described on its own.
type docsLink struct{ Name, Page string }

type docsField struct {
	Name, Type, Unit, Range, About string
	Required                       bool
	Shape                          docsLink
}

type docsShape struct {
	Name, About string
	Fields      []docsField
	IsStored    bool
}

func (p *pages) contractFront(ctx echo.Context) error {
	return p.docsPage(ctx, "docs.html", func(d *docs) any { return d.front })
}

func (p *pages) contractResource(ctx echo.Context) error {
	return p.docsPage(ctx, "docs-resource.html", func(d *docs) any {
		if r := d.resources[ctx.Param("resource")]; r != nil {
			return r
		}
		return nil
	})
}

// docsPage answers with a page that is the same for everybody and is made once.
func (p *pages) docsPage(ctx echo.Context, name string, view func(*docs) any) error {
	key := request.LanguageOf(ctx).Tag() + name + ctx.Param("resource")
	if body, ok := p.made.Load(key); ok {
		return sendTagged(ctx, echo.MIMETextHTMLCharsetUTF8, body.([]byte))
	}
	d, err := readDocs()
	if err != nil {
		return err
	}
	v := view(d)
	if v == nil {
		return echo.ErrNotFound
	}
	body, err := p.render(ctx, name, v)
	if err != nil {
		return err
	}
	p.made.Store(key, body)
	return sendTagged(ctx, echo.MIMETextHTMLCharsetUTF8, body)
}

func (p *pages) contractYAML(ctx echo.Context) error {
	return sendTagged(ctx, "text/yaml; charset=utf-8", openapi.YAML)
}

// sendTagged answers with what is the same for everybody, or says that the
// browser has it.
func sendTagged(ctx echo.Context, mime string, body []byte) error {
	sum := sha256.Sum256(body)
	tag := `W/"` + hex.EncodeToString(sum[:8]) + `"`
	ctx.Response().Header().Set("ETag", tag)
	ctx.Response().Header().Set("Cache-Control", "no-cache")
	ctx.Response().Header().Set("X-Robots-Tag", "noindex")
	if request.SameTag(ctx.Request().Header.Get("If-None-Match"), tag) {
		return ctx.NoContent(http.StatusNotModified)
	}
	return ctx.Blob(http.StatusOK, mime, body)
}

var readDocs = sync.OnceValues(func() (*docs, error) {
	doc, err := openapi.Document()
	if err != nil {
		return nil, fmt.Errorf("openapi.yaml: %w", err)
	}
	d := &docs{doc: doc, common: map[string]bool{}, resources: map[string]*docsResource{}}
	for _, name := range []string{"Recorded", "Problem"} {
		d.reach(name, d.common)
	}
	d.front = docsFront{Title: doc.Info.Title, Version: doc.Info.Version, About: doc.Info.Description, Problems: problemTypes()}
	d.frontFields()
	for _, f := range slices.Concat(d.front.EntryFields, d.front.StoredFields) {
		d.reach(f.Shape.Name, d.common)
	}
	d.frontFields() // Again, for what is common has changed where links lead.
	d.front.Shapes = d.shapes(d.common)
	for _, tag := range doc.Tags {
		d.front.Groups = append(d.front.Groups, docsGroup{tag.Name, tag.Description, d.group(tag.Name)})
	}
	return d, nil
})

// reach adds a shape and those that it is made of.
func (d *docs) reach(name string, into map[string]bool) {
	if name == "" || into[name] {
		return
	}
	into[name] = true
	for _, f := range d.fieldsOf(d.doc.Components.Schemas[name].Value) {
		d.reach(f.Shape.Name, into)
	}
}

func (d *docs) shapes(names map[string]bool) (out []docsShape) {
	for _, name := range sortedNames(names) {
		schema := d.doc.Components.Schemas[name].Value
		s := docsShape{Name: name, About: schema.Description}
		s.Fields, s.IsStored = d.own(schema, storedEntry)
		if len(schema.Enum) > 0 {
			s.About = strings.TrimPrefix(s.About+": "+typeOf(schema), ": ")
		}
		out = append(out, s)
	}
	return out
}

// The shapes that allOf makes the entries of: of what is sent, and of what is stored.
const (
	sentEntry   = "NewEntry"
	storedEntry = "StoredEntry"
)

func (d *docs) frontFields() {
	d.front.EntryFields = d.fieldsOf(d.doc.Components.Schemas[sentEntry].Value)
	d.front.StoredFields = d.fieldsOf(d.doc.Components.Schemas[storedEntry].Value)
}

// isSent tells the shapes that are sent, which are described where they are
// sent, from those that are answered.
func isSent(name string) bool { return strings.HasPrefix(name, "New") }

func sortedNames[V any](m map[string]V) []string {
	names := make([]string, 0, len(m))
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// own lists a schema's fields without those that it shares with all entries, where it
// does. A field that it asks for more strictly stays.
func (d *docs) own(s *openapi3.Schema, entry string) (fields []docsField, shares bool) {
	shared := d.doc.Components.Schemas[entry].Value
	fields = d.fieldsOf(s)
	if s.Properties["id"] != shared.Properties["id"] {
		return fields, false
	}
	common := d.fieldsOf(shared)
	return slices.DeleteFunc(fields, func(f docsField) bool { return slices.Contains(common, f) }), true
}

// group gives the resources of a tag. A resource is what comes first in an
// address, after the version.
func (d *docs) group(tag string) (out []*docsResource) {
	for _, path := range sortedNames(d.doc.Paths.Map()) {
		name := strings.Split(strings.TrimPrefix(path, "/v1"), "/")[1]
		methods := d.doc.Paths.Value(path).Operations()
		for _, method := range sortedNames(methods) {
			if op := methods[method]; slices.Contains(op.Tags, tag) {
				r := d.resources[name]
				if r == nil {
					r = &docsResource{Name: name}
					d.resources[name] = r
				}
				r.Operations = append(r.Operations, d.operation(method, path, op))
				if !slices.Contains(out, r) {
					out = append(out, r)
				}
			}
		}
	}
	for _, r := range out {
		reached := map[string]bool{}
		for _, o := range r.Operations {
			for _, f := range slices.Concat(o.Parameters, o.Body) {
				d.reach(f.Shape.Name, reached)
			}
			for _, answer := range o.Responses {
				d.reach(answer.Shape.Name, reached)
			}
		}
		for name := range d.common {
			delete(reached, name)
		}
		r.Shapes = d.shapes(reached)
	}
	return out
}

func (d *docs) operation(method, path string, op *openapi3.Operation) docsOperation {
	out := docsOperation{ID: op.OperationID, Method: method, Path: path, Summary: op.Summary, About: op.Description}
	if settings, err := request.OperationSettings(path, op); err == nil { // the service does not start with one that it cannot read
		out.Role, out.BodyKiB = settings.Role, settings.MostBytes>>10
		out.Takes = openapi.BoundsOf(op)
	}
	for _, p := range op.Parameters {
		f := d.fieldOf(p.Value.Name, p.Value.Schema, p.Value.Required)
		f.About = cmp.Or(p.Value.Description, f.About)
		out.Parameters = append(out.Parameters, f)
	}
	var example any
	if op.RequestBody != nil {
		if content := op.RequestBody.Value.Content["application/json"]; content != nil {
			out.Body, out.BodyIsEntry = d.own(content.Schema.Value, sentEntry)
			example = exampleOf(content)
		}
	}
	if op.RequestBody != nil {
		if content := op.RequestBody.Value.Content["multipart/form-data"]; content != nil {
			out.Body = d.fieldsOf(content.Schema.Value)
		}
	}
	out.Example = curl(method, path, op, example)
	for _, status := range sortedNames(op.Responses.Map()) {
		out.Responses = append(out.Responses, d.responseOf(status, op.Responses.Value(status).Value))
	}
	return out
}

// exampleOf is a body's example, or the first by name where it has several.
func exampleOf(content *openapi3.MediaType) any {
	for _, name := range sortedNames(content.Examples) {
		if content.Example == nil {
			return content.Examples[name].Value.Value
		}
	}
	return content.Example
}

func (d *docs) responseOf(status string, r *openapi3.Response) docsResponse {
	out := docsResponse{Status: status}
	if status == "default" {
		out.Status = "4xx, 5xx"
	}
	if r.Description != nil {
		out.About = *r.Description
	}
	for _, name := range sortedNames(r.Content) {
		schema := r.Content[name].Schema
		if schema == nil {
			continue
		}
		if schema.Ref == "" && schema.Value.Items != nil {
			out.List, schema = true, schema.Value.Items
		}
		out.Shape = d.link(schema)
	}
	return out
}

// link leads to a schema that is described on its own; it is empty for one that
// is not.
func (d *docs) link(ref *openapi3.SchemaRef) docsLink {
	name := ref.Ref[strings.LastIndexByte(ref.Ref, '/')+1:]
	switch {
	case isSent(name):
		return docsLink{}
	case d.common[name]:
		return docsLink{name, docsPath}
	}
	return docsLink{Name: name}
}

// fieldsOf lists a schema's fields: those required in the contract's order,
// then the others by name; those of an object within follow it.
func (d *docs) fieldsOf(s *openapi3.Schema) (out []docsField) {
	names := slices.Clone(s.Required)
	for _, name := range sortedNames(s.Properties) {
		if !slices.Contains(s.Required, name) {
			names = append(names, name)
		}
	}
	for _, name := range names {
		p := s.Properties[name]
		if p == nil {
			continue
		}
		out = append(out, d.fieldOf(name, p, slices.Contains(s.Required, name)))
		inner, of := p, name+"."
		if p.Value.Items != nil {
			inner, of = p.Value.Items, name+"[]."
		}
		if inner.Ref != "" {
			continue
		}
		for _, f := range d.fieldsOf(inner.Value) {
			f.Name = of + f.Name
			out = append(out, f)
		}
	}
	return out
}

func (d *docs) fieldOf(name string, ref *openapi3.SchemaRef, required bool) docsField {
	s := ref.Value
	f := docsField{Name: name, Required: required, Type: typeOf(s), Unit: unitOf(name), Range: rangeOf(s), About: s.Description, Shape: d.link(ref)}
	if s.Items != nil && s.Items.Value != nil {
		f.Shape = d.link(s.Items)
		f.Type = "list"
		if f.Shape.Name == "" {
			f.Type = "list of " + cmp.Or(typeOf(s.Items.Value), "values")
		}
	}
	return f
}

func typeOf(s *openapi3.Schema) string {
	switch {
	case len(s.Enum) > 0:
		values := make([]string, len(s.Enum))
		for i, v := range s.Enum {
			values[i] = fmt.Sprint(v)
		}
		return "one of " + strings.Join(values, ", ")
	case s.Type.Is("string") && s.Format != "":
		return map[string]string{"uuid": "UUID", "date": "date", "date-time": "time with offset"}[s.Format]
	case s.Type.Is("string"):
		return "text"
	case s.Type.Is("integer"):
		return "whole number"
	case s.Type.Is("boolean"):
		return "true or false"
	case s.Type == nil:
		return ""
	}
	return s.Type.Slice()[0]
}

// unitEndings tell a field's unit by the end of its name, the longest first.
var unitEndings = []struct{ end, unit string }{
	{"_mg_per_kg", "mg/kg"}, {"_kg_per_super", "kg"}, {"kg_per_super", "kg"}, {"kg_per_hive", "kg"},
	{"_kg", "kg"}, {"_pct", "%"}, {"_at_20c", ""}, {"_c", "\u00b0C"}, {"_cm", "cm"}, {"_mm", "mm"}, {"_l", "L"},
	{"litres", "L"}, {"_w", "W"}, {"_deg", "\u00b0"}, {"_hours", "h"}, {"_h", "h"}, {"_days", "days"}, {"_kwh", "kWh"},
}

func unitOf(name string) string {
	for _, u := range unitEndings {
		if strings.HasSuffix(name, u.end) {
			return u.unit
		}
	}
	return ""
}

// rangeOf says in words what a value may be.
func rangeOf(s *openapi3.Schema) string {
	var parts []string
	parts = append(parts, bounds(s.Min, s.Max, ""))
	if s.MinLength > 0 || s.MaxLength != nil {
		parts = append(parts, bounds(bound(s.MinLength), upper(s.MaxLength), " characters"))
	}
	if s.MinItems > 0 || s.MaxItems != nil {
		parts = append(parts, bounds(bound(s.MinItems), upper(s.MaxItems), " of them"))
	}
	if s.Default != nil {
		parts = append(parts, fmt.Sprintf("%v if left out", s.Default))
	}
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), "; ")
}

func bound(n uint64) *float64 {
	if n == 0 {
		return nil
	}
	return new(float64(n))
}

func upper(n *uint64) *float64 {
	if n == nil {
		return nil
	}
	return new(float64(*n))
}

func bounds(low, high *float64, of string) string {
	switch {
	case low != nil && high != nil:
		return request.Plain(*low) + " to " + request.Plain(*high) + of
	case low != nil:
		return "at least " + request.Plain(*low) + of
	case high != nil:
		return "at most " + request.Plain(*high) + of
	}
	return ""
}

// curl writes a request that can be pasted into a shell in which BOOK and
// TOKEN are set.
func curl(method, path string, op *openapi3.Operation, example any) string {
	var b strings.Builder
	b.WriteString("curl ")
	if needsToken(op) {
		b.WriteString(`-H "Authorization: Bearer $TOKEN" `)
	}
	fmt.Fprintf(&b, `"$BOOK%s"`, strings.NewReplacer("{", "$", "}", "").Replace(path))
	if method == http.MethodGet {
		return b.String()
	}
	body, _ := json.MarshalIndent(example, "", "  ")
	fmt.Fprintf(&b, " \\\n  -H 'Content-Type: application/json' -d '%s'", strings.ReplaceAll(string(body), "'", `'\''`))
	return b.String()
}

func needsToken(op *openapi3.Operation) bool { return op.Security == nil || len(*op.Security) > 0 }

// problemType explains one type of problem details.
type problemType struct {
	Code          fault.Code
	Title         string
	Status        int
	Means, DoThis string
}

// explained says what each sort of fault means to whoever gets it.
var explained = map[fault.Code][2]string{
	fault.Malformed:      {"The service cannot read the body: it is not JSON, or it is not one object. Nothing of it was stored.", "The detail says where it breaks off. A number is written with a point, 17.4, and never with a comma."},
	request.OtherMethod:  {"The address is right, but it does not take this method.", "Look the address up in the contract. GET reads things and POST records them; nothing changes or deletes an entry."},
	fault.Invalid:        {"The service cannot read something in the request, or something in it cannot be right. Nothing of it was stored.", "Look at errors: each names a field, what came and what would do. did_you_mean, where it stands, is a value that you may have meant. Mend the field, and send the request again with the same id."},
	fault.NotFound:       {"The request names something that is not in this outfit's book, or there is nothing at the address.", "Look at the id and at the address. Another outfit's things are not found either."},
	fault.Conflict:       {"The request contradicts the book: its id came before with other content, its number or code is in use, or another entry has replaced the entry that it replaces.", "Read the entry that the book has. If the same thing happened twice, send the second with an id of its own. If the entry in the book is wrong, send an entry that replaces it."},
	fault.SignIn:         {"The request has no token, or its token is not valid: it was mistyped or revoked, or it belongs to somebody who has left.", "Send a token as Authorization: Bearer, or as the password of Basic. A manager can make a new one."},
	fault.NotYours:       {"The token is valid, but its role may not do this.", "Crew record what happens, and load what a manager prepared; setting up, correcting, withdrawing, accepting and dispatching are for a manager; a reader only reads."},
	fault.TooOften:       {"Somebody tried a password, a code or a key too often in a short time.", "Wait as long as the header Retry-After says, then try again."},
	fault.TooLarge:       {"The request holds more than the service takes at once. Nothing of it was stored.", "Send it in parts."},
	fault.RestsOnRefused: {"Of several entries sent together, this one names another that was refused. It was not tried.", "Put the other one right and send it again; then send this one again, with the same id."},
	fault.TooSlow:        {"The body of the request came too slowly. Nothing of it was stored.", "Send it again, an entry with the same id. Where the network is poor, send less at a time."},
	fault.Busy:           {"The service has too much to do at the moment, or the answer took too long.", "Send it again after a while, an entry with the same id: it is not booked twice."},
	fault.Full:           {"The disk that keeps the book has no room for more. Nothing of the request was stored; what was recorded before is safe and can be read.", "Make room on that disk by moving other files away. Never delete a file in the book's own folder. Then send it again, an entry with the same id."},
	fault.Internal:       {"The fault is in the service, not in what was sent.", "Send it again later, an entry with the same id. The service's log has more under the request_id of the answer."},
}

func problemTypes() (out []problemType) {
	for code, how := range request.ProblemOf {
		text := explained[code]
		out = append(out, problemType{code, how.Title, how.Status, text[0], text[1]})
	}
	slices.SortFunc(out, func(a, b problemType) int {
		return cmp.Or(cmp.Compare(a.Status, b.Status), cmp.Compare(a.Code, b.Code))
	})
	return out
}

// problemType is the page that a problem's type leads to.
func (p *pages) problemType(ctx echo.Context) error {
	for _, t := range problemTypes() {
		if string(t.Code) == ctx.Param("code") {
			return p.page(ctx, http.StatusOK, "problem-type.html", t)
		}
	}
	return echo.ErrNotFound
}
