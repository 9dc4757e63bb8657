package request

import (
	"errors"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
)

// DatesOf are the days that a request narrows its answer to; each may be empty.
func DatesOf(ctx echo.Context) (from, to ledger.Date, err error) {
	from, to = ledger.Date(ctx.QueryParam("from")), ledger.Date(ctx.QueryParam("to"))
	if from != "" && to != "" && to < from {
		err = ParameterFault("to", string(to), "This is earlier than from, %s. Send them the other way round.", string(from))
	}
	return from, to, err
}

// Number is a whole number that a request may give, or else otherwise. KnownParameters has
// refused what is none.
func Number(ctx echo.Context, name string, otherwise int64) int64 {
	n, err := strconv.ParseInt(ctx.QueryParam(name), 10, 64)
	if err != nil {
		return otherwise
	}
	return n
}

// Flag is Number for true or false.
func Flag(ctx echo.Context, name string, otherwise bool) bool {
	yes, err := strconv.ParseBool(ctx.QueryParam(name))
	if err != nil {
		return otherwise
	}
	return yes
}

// BeyondEnd refuses to tell of what follows an entry that the book has not got yet.
func BeyondEnd(name, sent string, b *ledger.Book) error {
	return ParameterFault(name, sent, "The book ends with entry %s; nothing can be asked for beyond it.", b.Len())
}

// Legible refuses an address that holds what no text can hold, before anything is
// done with it: bytes that are not UTF-8, and characters that nobody sees.
// It also refuses a query that is not well formed, of which net/url would quietly
// leave out a part.
func (s *Service) Legible(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		address := ctx.Request().URL
		if !isText(address.Path) {
			return echo.ErrNotFound
		}
		query, err := url.ParseQuery(address.RawQuery)
		if err != nil {
			return fault.New(fault.Invalid, "The part of the address after ? cannot be read: %s.", clip(strings.ToValidUTF8(err.Error(), "?")))
		}
		if err := illegible("query:", query); err != nil {
			return err
		}
		return next(ctx)
	}
}

// LegibleForm does the same for a form of the program's own pages.
func (s *Service) LegibleForm(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		if settings := s.Settings(ctx); !isPageForm(ctx) || settings.takesSheet || settings.takesCertificate {
			return next(ctx)
		}
		form, err := ctx.FormParams()
		if err != nil {
			return notAForm(err)
		}
		if err := illegible("/", form); err != nil {
			return err
		}
		return next(ctx)
	}
}

// isPageForm reports whether a request is a form of the program's own pages.
func isPageForm(ctx echo.Context) bool {
	r := ctx.Request()
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return r.Method == http.MethodPost && !strings.HasPrefix(r.URL.Path, "/v1/") && (kind == echo.MIMEApplicationForm || kind == echo.MIMEMultipartForm)
}

func notAForm(err error) error {
	if tooLarge := new(http.MaxBytesError); errors.As(err, &tooLarge) {
		return err
	}
	return fault.New(fault.Malformed, "The form cannot be read. Open the page again, and send it from there.")
}

func illegible(at string, values url.Values) error {
	var wrong complaints
	for _, name := range slices.Sorted(maps.Keys(values)) {
		if !isText(name) || slices.ContainsFunc(values[name], func(text string) bool { return !isText(text) }) {
			wrong.add(fault.Field{Pointer: at + clip(strings.ToValidUTF8(name, "?")), Message: message.F("This has a character that cannot be stored. Leave it out.")})
		}
	}
	if len(wrong.Fields) == 0 {
		return nil
	}
	return &fault.Error{Code: fault.Invalid, Message: message.F("Nothing was stored: what was sent is no text."), Fields: wrong.Fields, More: wrong.more}
}

func isText(s string) bool {
	_, unseen := spelling.Unseen(s)
	return !unseen && utf8.ValidString(s)
}

// KnownParameters refuses a query parameter that the contract has not got: a
// filter with a slip in its name would otherwise answer with everything.
func (s *Service) KnownParameters(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		known, ours := s.Contract.parameters[ctx.Request().Method+" "+ctx.Path()]
		if !ours {
			return next(ctx)
		}
		var wrong complaints
		query := ctx.QueryParams()
		for _, name := range slices.Sorted(maps.Keys(query)) {
			if field, bad := wrongParameter(known, name, query[name]); bad {
				if name == keyParameter {
					field.Sent = nil // a secret
				}
				wrong.add(field)
			}
		}
		if len(wrong.Fields) > 0 {
			return &fault.Error{Code: fault.Invalid, Message: message.F("A part of the address cannot be used."), Fields: wrong.Fields, More: wrong.more}
		}
		return next(ctx)
	}
}

// wrongParameter says what would do instead of a parameter that will not do.
func wrongParameter(known map[string]*openapi3.Schema, name string, values []string) (f fault.Field, bad bool) {
	f = fault.Field{Pointer: "query:" + clip(name), Sent: Sent(values[0])}
	schema := known[name]
	switch {
	case schema == nil && len(known) == 0:
		f.Message = message.F("There is no such parameter here, nor any other.")
		return f, true
	case schema == nil:
		names := slices.Sorted(maps.Keys(known))
		f.Message = message.F("There is no such parameter here. Known here: %s.", strings.Join(names, ", "))
		Suggest(&f, Nearest(name, names))
		return f, true
	case len(values) > 1:
		f.Message = message.F("This is given more than once.")
		return f, true
	}
	value, readable := scalar(schema, values[0])
	if readable && holds(schema, value) {
		return f, false
	}
	f.Message = message.F("This should be %s.", wanted(schema))
	Suggest(&f, Nearest(values[0], enumNames(schema)))
	looksLikeFahrenheit(&f, schema, value)
	if schema.Format == "date-time" && strings.Contains(values[0], " ") {
		f.Message = message.Join(f.Message, message.F("In an address + is written %%2B."))
	}
	return f, true
}

// scalar reads a parameter's text as its schema has it; the text itself where it
// cannot be read so.
func scalar(schema *openapi3.Schema, text string) (value any, readable bool) {
	var err error
	switch {
	case schema.Type.Is("integer"):
		var n int64
		n, err = strconv.ParseInt(text, 10, 64)
		value = float64(n)
	case schema.Type.Is("number"):
		if !decimalNumber.MatchString(text) || len(text) > longestNumber {
			return text, false
		}
		value, err = strconv.ParseFloat(text, 64)
	case schema.Type.Is("boolean"):
		value, err = strconv.ParseBool(text)
	case schema.Type.Is("array"):
		return scalars(schema.Items.Value, text)
	default:
		return text, true
	}
	if err != nil {
		return text, false
	}
	return value, true
}

// scalars reads a list with commas between.
func scalars(schema *openapi3.Schema, text string) (any, bool) {
	var out []any
	for part := range strings.SplitSeq(text, ",") {
		value, readable := scalar(schema, part)
		if !readable {
			return text, false
		}
		out = append(out, value)
	}
	return out, true
}

// decimalNumber leaves out what strconv reads beside: NaN, Inf and hexadecimal.
var decimalNumber = regexp.MustCompile(`^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$`)
