package api

import (
	"bytes"
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
)

// read answers from the outfit's book as it is now, or as it was when as_of was
// its last entry. What f returns is sent as JSON. Where nothing was recorded
// since an answer was given, it is given again without asking f.
func (s *Server) read(ctx echo.Context, f func(db.Outfit, *ledger.Book) (any, error)) error {
	p := principal(ctx)
	var body []byte
	var tag string
	err := s.books.Read(ctx.Request().Context(), p, func(o db.Outfit, b *ledger.Book) error {
		tag = entityTag(o.ID, b.Len())
		if sameTag(ctx.Request().Header.Get("If-None-Match"), tag) {
			return nil
		}
		key := answerKey{p.Outfit, p.Name, ctx.Request().URL.RequestURI()}
		if body = s.answers.get(key, b.Len()); body != nil {
			return nil
		}
		began := s.Now()
		book, err := asOf(ctx, b)
		if err != nil {
			return err
		}
		v, err := f(o, book)
		if err != nil {
			return err
		}
		if body, err = marshal(v); err != nil {
			return err
		}
		s.metrics.reports.Observe(s.Now().Sub(began).Seconds())
		s.answers.put(key, b.Len(), body)
		return nil
	})
	if err != nil {
		return err
	}
	header := ctx.Response().Header()
	header.Set("ETag", tag)
	header.Set("Cache-Control", "private, no-cache")
	header.Set("Vary", "Authorization")
	if body == nil {
		return ctx.NoContent(http.StatusNotModified)
	}
	return ctx.Blob(http.StatusOK, echo.MIMEApplicationJSON, body)
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

// entityTag names the state of an outfit's book. It is weak: the same state may
// be written in other bytes by another version of the program.
func entityTag(outfit uuid.UUID, number int64) string {
	return fmt.Sprintf(`W/"%s-%d"`, outfit.String()[:8], number)
}

func sameTag(given, tag string) bool {
	for _, g := range bytes.Split([]byte(given), []byte(",")) {
		if string(bytes.TrimSpace(g)) == tag {
			return true
		}
	}
	return false
}

// asOf gives the book as it was known at the entry that the request asks for.
func asOf(ctx echo.Context, b *ledger.Book) (*ledger.Book, error) {
	text := ctx.QueryParam("as_of")
	if text == "" {
		return b, nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 || n > b.Len() {
		return nil, parameterFault("as_of", text, "The book has entries 1 to %d.", b.Len())
	}
	return b.AsKnown(n)
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
	return b.StateAt(at), nil
}

func parameterFault(name, sent, format string, args ...any) error {
	return &fault.Error{Code: fault.Invalid, Message: "A parameter cannot be used.", Fields: []fault.Field{{
		Pointer: "query:" + name, Sent: sent, Message: fmt.Sprintf(format, args...),
	}}}
}

// answers keeps the latest answers given about books that have not moved on
// since.
type answers struct {
	mu   sync.Mutex
	kept map[answerKey]answer
}

type answerKey struct {
	outfit uuid.UUID
	name   string
	uri    string
}

type answer struct {
	number int64
	body   []byte
}

const (
	mostAnswers     = 1024
	largestKeptByte = 1 << 20
)

func (a *answers) get(key answerKey, number int64) []byte {
	a.mu.Lock()
	defer a.mu.Unlock()
	if had, ok := a.kept[key]; ok && had.number == number {
		return had.body
	}
	return nil
}

func (a *answers) put(key answerKey, number int64, body []byte) {
	if len(body) > largestKeptByte {
		return
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if len(a.kept) >= mostAnswers || a.kept == nil {
		a.kept = make(map[answerKey]answer)
	}
	a.kept[key] = answer{number, body}
}
