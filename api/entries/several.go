package entries

import (
	"bytes"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// SendEntries records entries in their order and answers each by itself. One commit that
// waits for the disk stands for all of them.
func (s Handler) SendEntries(ctx echo.Context) error {
	var in openapi.EntriesToRecord
	if err := s.Contract.Bind(&in, ctx); err != nil {
		return err
	}
	several := several{Handler: s, ctx: ctx, p: request.Principal(ctx), until: time.Now().Add(s.RequestTimeout / 2)}
	out := openapi.EntryAnswers{Answers: make([]openapi.EntryAnswer, 0, len(in.Entries))}
	for _, x := range in.Entries {
		answer, err := several.record(x)
		if err != nil {
			return err
		}
		out.Answers = append(out.Answers, answer)
	}
	if err := s.Books.Flush(ctx.Request().Context()); err != nil {
		return err
	}
	return ctx.JSON(http.StatusOK, out)
}

// several is a request that records several entries.
type several struct {
	Handler
	ctx     echo.Context
	p       db.Principal
	until   time.Time // after which no further entry is begun
	refused []ledger.ID
}

// mostProblem is how many bytes what is wrong with one of several entries may take.
const mostProblem = 24 << 10

var errNotBegun = fault.New(fault.Busy, "There was no time left for this entry, and it was not stored. Send it again with the same id.")

// record answers one of the entries. It returns an error where the request ends with it.
func (s *several) record(x openapi.EntryToRecord) (out openapi.EntryAnswer, err error) {
	recorded, err := s.put(x)
	if err == nil {
		return recorded, nil
	}
	if s.ctx.Request().Context().Err() != nil {
		return out, err
	}
	var id struct{ ID ledger.ID }
	if json.Unmarshal(x.Entry, &id) == nil && id.ID != (ledger.ID{}) {
		s.refused = append(s.refused, id.ID)
	}
	status, body := s.ProblemWithin(err, s.ctx, mostProblem)
	out.Status, out.Problem = status, new(openapi.Problem)
	return out, json.Unmarshal(body, out.Problem)
}

func (s *several) put(x openapi.EntryToRecord) (out openapi.EntryAnswer, err error) {
	if time.Now().After(s.until) {
		return out, errNotBegun
	}
	ways, err := request.RecordedBy()
	if err != nil {
		return out, err
	}
	way, known := ways[ledger.Kind(x.Kind)]
	if !known {
		return out, unknownKind(x.Kind, ways)
	}
	for _, id := range s.refused {
		if bytes.Contains(bytes.ToLower(x.Entry), []byte(id.String())) {
			return out, fault.New(fault.RestsOnRefused, "This entry names another one sent with it (%s) that was refused. It was not tried; send it again once the other is in the book.", id)
		}
	}
	e, err := taken(ledger.Kind(x.Kind), func(in any) error { return s.Contract.BindBody(in, way.Schema, x.Entry) })
	if err != nil {
		return out, err
	}
	got, err := put(s.Service, s.ctx, s.p, e, s.Books.AppendUnflushed)
	if err != nil {
		return out, err
	}
	out.Status = http.StatusCreated
	if got.Again {
		out.Status = http.StatusOK
	}
	out.Recorded = new(recordedOut(request.VoiceOf(s.ctx), got))
	return out, nil
}

func unknownKind[Way any](kind string, ways map[ledger.Kind]Way) error {
	var names []string
	for k := range ways {
		names = append(names, string(k))
	}
	slices.Sort(names)
	f := fault.New(fault.Invalid, "Nothing was stored: the body does not match the contract.")
	f.Fields = []fault.Field{{Pointer: "/kind", Sent: kind, Message: message.F("There is no such sort of entry. There are: %s.", strings.Join(names, ", "))}}
	request.Suggest(&f.Fields[0], request.Nearest(kind, names))
	return f
}
