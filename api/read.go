package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// read answers with what f returns as JSON.
func (s *Server) read(ctx echo.Context, f func(db.Outfit, *ledger.Book) (any, error)) error {
	return s.readAs(ctx, echo.MIMEApplicationJSON, "", func(o db.Outfit, b *ledger.Book) (write, error) {
		v, err := f(o, b)
		return asJSON(v), err
	})
}

// write writes an answer down, from values that were taken from a book. It is called when
// the book is free again.
type write func() ([]byte, error)

func asJSON(v any) write { return func() ([]byte, error) { return marshal(v) } }

// readAs answers from the outfit's book as it is now, or as it was when as_of
// was its last entry, or at the moment known_at. f takes the values of the answer from the
// book, and what it returns writes them down. Where nothing was recorded since an answer
// was given, the answer is given again without asking f. An answer that hangs on more than
// who asks for what says so in beside.
func (s *Server) readAs(ctx echo.Context, mime, beside string, f func(db.Outfit, *ledger.Book) (write, error)) error {
	p := principal(ctx)
	var out answer
	var tag string
	var key answerKey
	var at moment
	var toWrite write
	var began time.Time
	given := false
	which := func(o db.Outfit, b *ledger.Book) (int64, error) {
		// The day is part of it: which season is the latest begun hangs on it.
		at = moment{b.Len(), s.Now().In(b.Location()).Format("20060102")}
		tag = entityTag(o.ID, at, beside)
		key = answerKey{p.Outfit, p.Name, ctx.Request().URL.RequestURI() + " " + beside}
		if given = sameTag(ctx.Request().Header.Get("If-None-Match"), tag); !given {
			out, given = s.answers.get(key, at)
		}
		if given {
			return b.Len(), nil
		}
		return asOf(ctx, b)
	}
	err := s.books.ReadAsKnown(ctx.Request().Context(), p, which, func(o db.Outfit, b *ledger.Book) (err error) {
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
		s.metrics.reports.Observe(s.Now().Sub(began).Seconds())
		out = answer{at, body, header.Get(linkHeader), header.Get(moreHeader)}
		s.answers.put(key, out)
	}
	header.Set("ETag", tag)
	header.Set("Cache-Control", "private, no-cache")
	header.Set("Vary", "Authorization")
	if out.body == nil {
		return ctx.NoContent(http.StatusNotModified)
	}
	if out.link != "" {
		header.Set(linkHeader, out.link)
	}
	if out.more != "" {
		header.Set(moreHeader, out.more)
	}
	return ctx.Blob(http.StatusOK, mime, out.body)
}

const (
	linkHeader = "Link"
	// moreHeader says how many follow what an answer lists.
	moreHeader = "Pullbook-More"
)

// moment is what an answer about a book rests on.
type moment struct {
	entry int64
	day   string
}

func marshal(v any) ([]byte, error) {
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
func entityTag(outfit uuid.UUID, at moment, beside string) string {
	tag := fmt.Sprintf("%s-%d-%s", outfit.String()[:8], at.entry, at.day)
	if beside != "" {
		tag += fmt.Sprintf("-%x", sha256.Sum256([]byte(beside)))[:9]
	}
	return `W/"` + tag + `"`
}

func sameTag(given, tag string) bool {
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

// asOfWhen gives the last entry that the book had at the moment that a request is about.
type asOfWhen func(ctx echo.Context, b *ledger.Book) (int64, error)

// asItIs is for answers about the book as it is now.
func asItIs(_ echo.Context, b *ledger.Book) (int64, error) { return b.Len(), nil }

// asOf gives the last entry that the book had at the entry or moment that the request
// asks for: its last where the request asks for none.
func asOf(ctx echo.Context, b *ledger.Book) (int64, error) {
	text := ctx.QueryParam("as_of")
	if at := ctx.QueryParam("known_at"); at != "" {
		if text != "" {
			return 0, parameterFault("known_at", at, "Either as_of or known_at, not both.")
		}
		moment, err := time.Parse(time.RFC3339, at)
		if err != nil {
			return 0, parameterFault("known_at", at, "A time is written with its offset, 2026-08-21T14:30:00-05:00 (with + as %%2B).")
		}
		return b.KnownAt(moment), nil
	}
	if text == "" {
		return b.Len(), nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 || n > b.Len() {
		return 0, parameterFault("as_of", text, "The book has entries 1 to %s.", b.Len())
	}
	return n, nil
}

// asksEarlier reports whether a request asks for the book as it was known.
func asksEarlier(ctx echo.Context) bool {
	return ctx.QueryParam("as_of") != "" || ctx.QueryParam("known_at") != ""
}

// stateAt gives the state at the instant that the request asks for.
func stateAt(ctx echo.Context, b *ledger.Book) (*ledger.State, error) {
	text := ctx.QueryParam("at")
	if text == "" {
		return b.State(), nil
	}
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return nil, parameterFault("at", text, "A time is written with its offset, 2026-08-21T14:30:00-05:00 (with + as %%2B).")
	}
	if !b.Latest().After(at) {
		return b.State(), nil
	}
	return b.StateAt(at), nil
}

func parameterFault(name, sent, format string, args ...any) error {
	return &fault.Error{Code: fault.Invalid, Message: message.F("A part of the address cannot be used."), Fields: []fault.Field{{
		Pointer: "query:" + name, Sent: sent, Message: message.F(format, args...),
	}}}
}

// answers keeps the latest answers given about books that have not moved on
// since.
type answers struct {
	mu    sync.Mutex
	kept  map[answerKey]answer
	bytes int
}

type answerKey struct {
	outfit uuid.UUID
	name   string
	uri    string
}

type answer struct {
	at   moment
	body []byte
	link string
	more string
}

// What is kept is bounded in bytes: each address, and there may be any number,
// has an answer of its own.
const (
	mostKeptBytes    = 64 << 20
	largestKeptBytes = 8 << 20 // a season's 500 lots by all rule sets are 4.2 MB
)

func (k answerKey) size(a answer) int {
	return len(k.name) + len(k.uri) + len(a.body) + len(a.link) + len(a.more) + 200
}

func (a *answers) get(key answerKey, at moment) (answer, bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	had, ok := a.kept[key]
	return had, ok && had.at == at
}

func (a *answers) put(key answerKey, new answer) {
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
		a.kept, a.bytes = map[answerKey]answer{}, 0
	}
	a.kept[key] = new
	a.bytes += size
}
