package entries

import (
	"encoding/json"
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/bringin"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// ImportTable looks at a sheet of older records, or brings it in.
func (s Handler) ImportTable(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	form, err := s.readForm(ctx)
	if form != nil {
		defer form.Remove()
	}
	if err != nil {
		return err
	}
	file, result, made, err := BringIn(s.Service, ctx, p, form)
	if err != nil {
		return err
	}
	if form.Store && result.AllProblems > 0 {
		return problemsFault(result)
	}
	answer := importAnswer(form.Id, file, result)
	if made == nil {
		return ctx.JSON(http.StatusOK, answer)
	}
	answer.Stored, answer.Import = true, new(importOut(made, false))
	if answer.Unsold, err = unsold(s.Service, ctx, p, made.ID); err != nil {
		return err
	}
	ctx.Response().Header().Set("Location", request.ImportsPath+"/"+form.Id.String())
	return ctx.JSON(http.StatusCreated, answer)
}

// unsold counts the old containers of an import that were never sold.
func unsold(s *request.Service, ctx echo.Context, p db.Principal, imported uuid.UUID) (n int, err error) {
	err = s.Books.Read(ctx.Request().Context(), p, func(_ db.Outfit, b *ledger.Book) error {
		n = len(b.Unsold(imported))
		return nil
	})
	return n, err
}

// BringIn looks at the file of a form, or brings it in, once it is its turn.
func BringIn(s *request.Service, ctx echo.Context, p db.Principal, form *ImportForm) (file *bringin.File, result *importing.Result, made *ledger.Entry, err error) {
	within := ctx.Request().Context()
	watch := s.Imports.Begin(p.Outfit, form.Id)
	defer watch.End()
	leave, err := s.OpenSheet(within, watch)
	if err != nil {
		ctx.Response().Header().Set("Retry-After", "60")
		return nil, nil, nil, err
	}
	defer leave()
	if file, err = bringin.Open(within, form.Path, form.Name); err != nil {
		return nil, nil, nil, err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	before := (*importing.Mapping)(nil)
	if form.MappingOf != "" && form.MappingOf != file.SHA256 {
		form.Mapping, before = nil, form.Mapping
	}
	order := bringin.Order{File: file, Before: before, Kind: form.Kind, Sheet: form.Sheet, Mapping: form.Mapping, Progress: watch.Set}
	if form.Store {
		result, made, err = bringin.Store(within, s.Books, p, form.Id, order)
	} else {
		result, err = bringin.Check(within, s.Books, p, order)
	}
	return file, result, made, err
}

// ImportForm is what was sent.
type ImportForm struct {
	Id      uuid.UUID
	Kind    importing.Kind
	Sheet   string
	Mapping *importing.Mapping
	// MappingOf is the SHA-256 of the file that the mapping is of; empty for this one.
	MappingOf  string
	Store      bool
	Path, Name string
}

// Remove deletes the file that came with the form.
func (f *ImportForm) Remove() {
	if f.Path != "" {
		os.Remove(f.Path)
	}
}

// readForm reads the parts of a form, the file into a temporary one.
func (s Handler) readForm(ctx echo.Context) (*ImportForm, error) {
	parts, err := ctx.Request().MultipartReader()
	if err != nil {
		return nil, fault.New(fault.Malformed, "The request is not a form. Send it as multipart/form-data with the parts id, kind and, last, file.")
	}
	f := &ImportForm{}
	for {
		part, err := parts.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return f, formFault("file", nil, "This is missing: the file, as the last part.")
		case err != nil:
			return f, NotWhole(err)
		case part.FormName() == "file":
			if err := f.complete(); err != nil {
				return f, err
			}
			f.Name = part.FileName()
			f.Path, err = Spool(part, ctx.Request().Body)
			return f, err
		}
		if err := s.readPart(f, part); err != nil {
			return f, err
		}
	}
}

// NotWhole says why a body could not be read to its end.
func NotWhole(err error) error {
	if tooLarge := new(http.MaxBytesError); errors.As(err, &tooLarge) {
		return err
	}
	return fault.New(fault.Malformed, "The body did not arrive whole, or is no form. Send it again.")
}

func formFault(part string, came any, format string, args ...any) error {
	return &fault.Error{Code: fault.Invalid, Message: message.F("Nothing was stored: the form does not match the contract."),
		Fields: []fault.Field{{Pointer: "/" + part, Sent: came, Message: message.F(format, args...)}}}
}

// kindNames lists the kinds of table.
func kindNames() string {
	return strings.Join(wire.Each(importing.Kinds(), func(k importing.Kind) string { return string(k) }), ", ")
}

func (s Handler) readPart(f *ImportForm, part *multipart.Part) error {
	const most = 1 << 20
	text, err := io.ReadAll(io.LimitReader(part, most+1))
	if err != nil {
		return NotWhole(err)
	}
	name, value := part.FormName(), string(text)
	if len(text) > most {
		return formFault(name, nil, "This is too long.")
	}
	switch name {
	case "id":
		if f.Id, err = uuid.Parse(value); err != nil || request.ProperUUID(value) != nil {
			return formFault(name, request.Sent(value), "This should be a UUID, made anew for it.")
		}
	case "kind":
		if f.Kind = importing.Kind(value); len(importing.FieldsOf(f.Kind)) == 0 {
			return formFault(name, request.Sent(value), "This should be one of %s.", kindNames())
		}
	case "sheet":
		f.Sheet = value
	case "store":
		if f.Store = value == "true"; !f.Store && value != "false" {
			return formFault(name, request.Sent(value), "This should be true or false.")
		}
	case "mapping":
		f.Mapping, err = ReadImportMapping(s.Service, text)
		return err
	default:
		return formFault(name, nil, "There is no such part. Known here: id, kind, sheet, mapping, store, file.")
	}
	return nil
}

// ReadImportMapping holds a mapping against the contract.
func ReadImportMapping(s *request.Service, text []byte) (*importing.Mapping, error) {
	value, err := request.ReadJSON(s.Contract.ImportMapping, text)
	if err != nil {
		return nil, err
	}
	if wrong := request.ComplaintsOf(s.Contract.ImportMapping, value); len(wrong.Fields) > 0 {
		return nil, request.Invalid(wrong)
	}
	m := new(importing.Mapping)
	if err := request.Unmarshal(text, value, m); err != nil {
		return nil, formFault("mapping", nil, "This could not be read: %s.", err.Error())
	}
	return m, nil
}

func (f *ImportForm) complete() error {
	switch {
	case f.Id == uuid.Nil:
		return formFault("id", nil, "This is missing: a UUID, made anew for it, before the file.")
	case f.Kind == "":
		return formFault("kind", nil, "This is missing: what each row is, before the file.")
	}
	return nil
}

// Spool keeps a file on the disk until it is its turn. It reads the rest of the body as
// well: only then does the server notice when the client leaves.
func Spool(part, body io.Reader) (path string, err error) {
	out, err := os.CreateTemp("", "pullbook-import-*")
	if err != nil {
		return "", err
	}
	if _, err = io.Copy(out, part); err == nil {
		_, err = io.Copy(io.Discard, body)
	}
	if err != nil {
		return out.Name(), errors.Join(NotWhole(err), out.Close())
	}
	return out.Name(), out.Close()
}

// shownFaults is how many problems a refusal lists; asking without store lists more.
const shownFaults = 500

// problemsFault refuses a file with problems.
func problemsFault(r *importing.Result) error {
	f := fault.New(fault.Invalid, "Nothing was stored. Put %s cells of the sheet right first.", r.AllProblems)
	for _, p := range r.Problems[:min(len(r.Problems), shownFaults)] {
		at := "/file"
		if p.Column != "" {
			at += "/" + p.Column
		}
		if p.Row > 0 {
			at += message.F("/%s", p.Row).String()
		}
		field := fault.Field{Pointer: at, Message: p.Message}
		if p.Sent != "" {
			field.Sent = request.Sent(p.Sent)
		}
		if len(p.DidYouMean) > 0 {
			field.DidYouMean = p.DidYouMean[0]
		}
		f.Fields = append(f.Fields, field)
	}
	return f
}

// importAnswerOut is an ImportAnswer of the contract.
type importAnswerOut struct {
	ID          uuid.UUID             `json:"id"`
	Stored      bool                  `json:"stored"`
	Import      *openapi.Import       `json:"import,omitempty"`
	Unsold      int                   `json:"unsold,omitempty"`
	Rows        int64                 `json:"rows"`
	Cells       int64                 `json:"cells,omitempty"`
	ZeroCells   int64                 `json:"zero_cells,omitempty"`
	HadRows     int64                 `json:"had_rows"`
	LeftOut     int64                 `json:"left_out"`
	Entries     map[ledger.Kind]int64 `json:"entries"`
	Sums        map[string]float64    `json:"sums,omitempty"`
	Problems    []importProblemOut    `json:"problems"`
	AllProblems int64                 `json:"all_problems"`
	Mapping     importing.Mapping     `json:"mapping"`
	Offered     *offeredOut           `json:"offered,omitempty"`
	Fields      []importing.Field     `json:"fields"`
	Sheets      []string              `json:"sheets"`
	Encoding    string                `json:"encoding,omitempty"`
	Separator   string                `json:"separator,omitempty"`
	Notices     []string              `json:"notices"`
	First       []importedEntryOut    `json:"first"`
	NotRead     []notReadOut          `json:"not_read"`
	Looked      bool                  `json:"findings_looked_for"`
	Findings    []importFindingOut    `json:"findings"`
}

// offeredOut is an ImportOffered of the contract.
type offeredOut struct {
	Number  int64             `json:"number"`
	File    string            `json:"file,omitempty"`
	Mapping importing.Mapping `json:"mapping"`
}

type importProblemOut struct {
	Code       importing.Code  `json:"code"`
	Row        int             `json:"row,omitempty"`
	Column     string          `json:"column,omitempty"`
	Heading    string          `json:"heading,omitempty"`
	Field      importing.Field `json:"field,omitempty"`
	Sent       string          `json:"sent,omitempty"`
	Detail     string          `json:"detail"`
	DidYouMean []string        `json:"did_you_mean,omitempty"`
	MoreRows   int64           `json:"more_rows,omitempty"`
}

type importedEntryOut struct {
	Row        int             `json:"row"`
	Cell       string          `json:"cell,omitempty"`
	Kind       ledger.Kind     `json:"kind"`
	OccurredAt time.Time       `json:"occurred_at"`
	Content    json.RawMessage `json:"content"`
}

func importAnswer(id uuid.UUID, file *bringin.File, r *importing.Result) *importAnswerOut {
	out := &importAnswerOut{
		ID: id, Rows: r.Rows, Cells: r.Cells, ZeroCells: r.Zeros, HadRows: r.HadRows, LeftOut: r.LeftOut, Entries: r.Entries, Sums: map[string]float64{}, AllProblems: r.AllProblems,
		Mapping: r.Mapping, Fields: importing.FieldsOf(r.Mapping.Of), Encoding: file.Encoding,
		Problems: []importProblemOut{}, Sheets: []string{}, Notices: []string{}, First: []importedEntryOut{},
		NotRead: notReadOf(r), Looked: r.Looked, Findings: importFindingsOf(r),
	}
	if last := r.Offered; last != nil {
		out.Offered = &offeredOut{last.Number, last.File, last.Mapping}
	}
	for what, sum := range r.Sums {
		if name, mass := MassName(what); mass {
			out.Sums[name] = wire.Kg(sum)
		} else {
			out.Sums[what] = float64(sum)
		}
	}
	for _, p := range r.Problems {
		out.Problems = append(out.Problems, importProblemOut{p.Code, p.Row, p.Column, p.Heading, p.Field, p.Sent, p.Message.String(), p.DidYouMean, p.More})
	}
	for _, t := range file.Tables {
		if t.Name != "" {
			out.Sheets = append(out.Sheets, t.Name)
		}
		if t.Separator != 0 {
			out.Separator = string(t.Separator)
		}
	}
	for _, n := range file.Said(r.Mapping.Sheet) {
		out.Notices = append(out.Notices, n.String())
	}
	for _, e := range r.First {
		if content, err := e.Entry.Content(); err == nil {
			out.First = append(out.First, importedEntryOut{e.Row, e.Cell, e.Entry.Kind, e.Entry.OccurredAt, content})
		}
	}
	return out
}

// MassName turns the name of a sum in grams into that of one in kilograms.
func MassName(what string) (name string, mass bool) {
	if n := len(what) - len("_g"); n > 0 && what[n:] == "_g" {
		return what[:n] + "_kg", true
	}
	return what, false
}

func importOut(e *ledger.Entry, withdrawn bool) openapi.Import {
	i := e.Body.(*ledger.Import)
	return openapi.Import{
		Number: e.Number, ID: e.ID, RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy, Kind: openapi.ImportKind(i.Of),
		File: wire.OrNil(i.File), Sheet: wire.OrNil(i.Sheet), FirstEntry: e.Number - i.Entries, LastEntry: e.Number - 1,
		Rows: i.Rows, HadRows: i.HadRows, LeftOut: i.LeftOut, Withdrawn: withdrawn,
	}
}

// ListImports lists what was brought in.
func (s Handler) ListImports(ctx echo.Context, params openapi.ListImportsParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		limit := int(wire.OrDefault(params.Limit, request.DefaultLimit))
		out := []openapi.Import{}
		for e := range b.RecordedOf(ledger.KindImport, wire.OrZero(params.After)) {
			if len(out) == limit {
				request.NextPage(ctx, out[len(out)-1].Number)
				break
			}
			out = append(out, importOut(e, b.InForce(e.ID) == nil))
		}
		return out, nil
	})
}

// GetImport says how far a sheet has been read, or what came of it.
func (s Handler) GetImport(ctx echo.Context, id openapi_types.UUID) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	progress, known := s.ProgressOf(p.Outfit, id)
	out := openapi.ImportProgress{ID: id, State: "reading", Rows: progress.Rows}
	if progress.Before > 0 {
		out.State, out.WaitsFor = "waiting", new(progress.Before)
	}
	if !progress.Reading {
		out.State = "done"
		var made *openapi.Import
		err := s.Books.Read(ctx.Request().Context(), p, func(_ db.Outfit, b *ledger.Book) error {
			if e, _ := b.Entry(id); e != nil && e.Kind == ledger.KindImport {
				made = new(importOut(e, b.InForce(id) == nil))
			}
			return nil
		})
		if err != nil {
			return err
		}
		if made == nil && !known {
			return fault.New(fault.NotFound, "There is no import %s, neither in the book nor on its way.", id.String())
		}
		if made != nil {
			out.State, out.Rows, out.Import = "stored", made.Rows, made
		}
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	return ctx.JSON(http.StatusOK, out)
}
