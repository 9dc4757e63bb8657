package request

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Hex writes a digest in hexadecimal digits.
func Hex(digest [32]byte) string { return hex.EncodeToString(digest[:]) }

// DefaultLimit is how many entries a list has where the request does not say.
const DefaultLimit = 200

// NextPage links to what comes after the entry of that number.
func NextPage(ctx echo.Context, after int64) {
	u := url.URL{Path: ctx.Request().URL.Path}
	q := ctx.Request().URL.Query()
	q.Set("after", strconv.FormatInt(after, 10))
	u.RawQuery = q.Encode()
	ctx.Response().Header().Set(LinkHeader, fmt.Sprintf(`<%s>; rel="next"`, u.String()))
}

// Read answers with what f returns as JSON.
func (s *Service) Read(ctx echo.Context, f func(db.Outfit, *ledger.Book) (any, error)) error {
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, "", func(o db.Outfit, b *ledger.Book) (Write, error) {
		v, err := f(o, b)
		return AsJSON(v), err
	})
}

// ReadThen is Read for an answer that has sentences: f takes from the book what they are
// about, and what it returns makes the answer once the book is free.
func (s *Service) ReadThen(ctx echo.Context, f func(db.Outfit, *ledger.Book) (func() any, error)) error {
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, "", func(o db.Outfit, b *ledger.Book) (Write, error) {
		made, err := f(o, b)
		return func() ([]byte, error) { return Marshal(made()) }, err
	})
}

// Write writes an answer down, from values that were taken from a book. It is called when
// the book is free again.
type Write func() ([]byte, error)

// AsJSON returns what writes a value as JSON.
func AsJSON(v any) Write { return func() ([]byte, error) { return Marshal(v) } }

// ReadAs answers from the outfit's book as it is now, or as it was when as_of
// was its last entry, or at the moment known_at. f takes the values of the answer from the
// book, and what it returns writes them down. Where nothing was recorded since an answer
// was given, the answer is given again without asking f. An answer that hangs on more than
// who asks for what says so in beside.
func (s *Service) ReadAs(ctx echo.Context, mime, beside string, f func(db.Outfit, *ledger.Book) (Write, error)) error {
	p := Principal(ctx)
	var out Answer
	var tag string
	var key AnswerKey
	var at Moment
	var toWrite Write
	var began time.Time
	given := false
	which := func(o db.Outfit, b *ledger.Book) (int64, error) {
		// The day is part of it: which season is the latest begun hangs on it.
		at = Moment{b.Len(), s.Now().In(b.Location()).Format("20060102")}
		tag = entityTag(o.ID, at, beside)
		key = AnswerKey{p.Outfit, p.Name, ctx.Request().URL.RequestURI() + " " + beside}
		if given = SameTag(ctx.Request().Header.Get("If-None-Match"), tag); !given {
			out, given = s.Answers.Get(key, at)
		}
		if given {
			return b.Len(), nil
		}
		return AsOf(ctx, b)
	}
	err := s.Books.ReadAsKnown(ctx.Request().Context(), p, which, func(o db.Outfit, b *ledger.Book) (err error) {
		if given {
			return nil
		}
		began = s.Now()
		toWrite, err = f(o, b)
		return err
	})
	if err != nil {
		return err
	}
	header := ctx.Response().Header()
	if toWrite != nil {
		body, err := toWrite()
		if err != nil {
			return err
		}
		s.Metrics.reports.Observe(s.Now().Sub(began).Seconds())
		out = Answer{at, body, header.Get(LinkHeader), header.Get(MoreHeader)}
		s.Answers.Put(key, out)
	}
	header.Set("ETag", tag)
	header.Set("Cache-Control", "private, no-cache")
	header.Set("Vary", "Authorization")
	if out.Body == nil {
		return ctx.NoContent(http.StatusNotModified)
	}
	if out.link != "" {
		header.Set(LinkHeader, out.link)
	}
	if out.more != "" {
		header.Set(MoreHeader, out.more)
	}
	return ctx.Blob(http.StatusOK, mime, out.Body)
}

const (
	LinkHeader = "Link"
	// MoreHeader says how many follow what an answer lists.
	MoreHeader = "Pullbook-More"
)

// Moment is what an answer about a book rests on.
type Moment struct {
	Entry int64
	Day   string
}

// Marshal writes a value as JSON, and leaves <, > and & as they are.
func Marshal(v any) ([]byte, error) {
	var buffer bytes.Buffer
	encoder := json.NewEncoder(&buffer)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(v); err != nil {
		return nil, err
	}
	return buffer.Bytes(), nil
}

// entityTag names the state of an outfit's book, and what else an answer hangs on.
// It is weak: the same state may be written in other bytes by another version of the
// program.
func entityTag(outfit uuid.UUID, at Moment, beside string) string {
	tag := fmt.Sprintf("%s-%d-%s", outfit.String()[:8], at.Entry, at.Day)
	if beside != "" {
		tag += fmt.Sprintf("-%x", sha256.Sum256([]byte(beside)))[:9]
	}
	return `W/"` + tag + `"`
}

// SameTag reports whether an If-None-Match names a tag.
func SameTag(given, tag string) bool {
	if given == "*" {
		return true // whatever there is
	}
	for _, g := range bytes.Split([]byte(given), []byte(",")) {
		if string(bytes.TrimSpace(g)) == tag {
			return true
		}
	}
	return false
}

// AsOfWhen gives the last entry that the book had at the moment that a request is about.
type AsOfWhen func(ctx echo.Context, b *ledger.Book) (int64, error)

// AsItIs is for answers about the book as it is now.
func AsItIs(_ echo.Context, b *ledger.Book) (int64, error) { return b.Len(), nil }

// AsOf gives the last entry that the book had at the entry or moment that the request
// asks for: its last where the request asks for none.
func AsOf(ctx echo.Context, b *ledger.Book) (int64, error) {
	text := ctx.QueryParam("as_of")
	if at := ctx.QueryParam("known_at"); at != "" {
		if text != "" {
			return 0, ParameterFault("known_at", at, "Either as_of or known_at, not both.")
		}
		moment, err := time.Parse(time.RFC3339, at)
		if err != nil {
			return 0, ParameterFault("known_at", at, "A time is written with its offset, 2026-08-21T14:30:00-05:00 (with + as %%2B).")
		}
		return b.KnownAt(moment), nil
	}
	if text == "" {
		return b.Len(), nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 || n > b.Len() {
		return 0, ParameterFault("as_of", text, "The book has entries 1 to %s.", b.Len())
	}
	return n, nil
}

// AsksEarlier reports whether a request asks for the book as it was known.
func AsksEarlier(ctx echo.Context) bool {
	return ctx.QueryParam("as_of") != "" || ctx.QueryParam("known_at") != ""
}

// ParameterFault refuses what was sent as a parameter of the query.
func ParameterFault(name, sent, format string, args ...any) error {
	return Asked{Pointer: "query:" + name, Sent: sent}.Fault(format, args...)
}

// Asked is a part of an address: the pointer to it, which begins with "query:" or "path:",
// and what was sent.
type Asked struct{ Pointer, Sent string }

// Fault refuses the part.
func (a Asked) Fault(format string, args ...any) *fault.Error {
	return &fault.Error{Code: fault.Invalid, Message: message.F("A part of the address cannot be used."), Fields: []fault.Field{{
		Pointer: a.Pointer, Sent: a.Sent, Message: message.F(format, args...),
	}}}
}

// Missing says that the outfit has not got what the part names. A path that names nothing
// leads nowhere; a query that does cannot be answered.
func (a Asked) Missing(format string, args ...any) *fault.Error {
	f := a.Fault(format, args...)
	if strings.HasPrefix(a.Pointer, "path:") {
		f.Code = fault.NotFound
	}
	return f
}

// answers keeps the latest answers given about books that have not moved on
// since.
type answers struct {
	mu    sync.Mutex
	kept  map[AnswerKey]Answer
	bytes int
}

// AnswerKey says to whom an answer was given, and to what.
type AnswerKey struct {
	Outfit uuid.UUID
	Name   string
	Uri    string
}

// Answer is an answer that was given.
type Answer struct {
	At   Moment
	Body []byte
	link string
	more string
}

// What is kept is bounded in bytes: each address, and there may be any number,
// has an answer of its own.
const (
	mostKeptBytes    = 64 << 20
	largestKeptBytes = 8 << 20 // a season's 500 lots by all rule sets are 4.2 MB
)

func (k AnswerKey) size(a Answer) int {
	return len(k.Name) + len(k.Uri) + len(a.Body) + len(a.link) + len(a.more) + 200
}

func (a *answers) Get(key AnswerKey, at Moment) (Answer, bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	had, ok := a.kept[key]
	return had, ok && had.At == at
}

func (a *answers) Put(key AnswerKey, new Answer) {
	size := key.size(new)
	if size > largestKeptBytes {
		return
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if had, ok := a.kept[key]; ok {
		a.bytes -= key.size(had)
	}
	if a.kept == nil || a.bytes+size > mostKeptBytes {
		a.kept, a.bytes = map[AnswerKey]Answer{}, 0
	}
	a.kept[key] = new
	a.bytes += size
}
