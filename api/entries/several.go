package entries

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/openapi"
)

// SendEntries records entries in their order and answers each by itself.
func (s Handler) SendEntries(ctx echo.Context) error {
	var in openapi.EntriesToRecord
	if err := s.Contract.Bind(&in, ctx); err != nil {
		return err
	}
	p := request.Principal(ctx)
	sent := make([]books.Sent, len(in.Entries))
	for i, x := range in.Entries {
		sent[i] = s.sent(p, x)
	}
	answers := s.Books.AppendTogether(ctx.Request().Context(), p, sent, time.Now().Add(s.RequestTimeout/2))
	out := openapi.EntryAnswers{Answers: make([]openapi.EntryAnswer, len(answers))}
	for i, a := range answers {
		var err error
		if out.Answers[i], err = s.answerOut(ctx, a); err != nil {
			return err
		}
	}
	return ctx.JSON(http.StatusOK, out)
}

// sent reads one of several entries, as the operation of its kind does.
func (s Handler) sent(p db.Principal, x openapi.EntryToRecord) (out books.Sent) {
	var id struct{ ID ledger.ID }
	_ = json.Unmarshal(x.Entry, &id) // what is wrong with it is said below
	out.ID = id.ID
	ways, err := request.RecordedBy()
	if err != nil {
		out.Err = err
		return out
	}
	way, known := ways[ledger.Kind(x.Kind)]
	if !known {
		out.Err = unknownKind(x.Kind, ways)
		return out
	}
	e, err := taken(ledger.Kind(x.Kind), func(in any) error { return s.Contract.BindBody(in, way.Schema, x.Entry) })
	if err == nil {
		err = request.MayBring(p.Role, e)
	}
	if out.Err = err; err == nil {
		out.Entry = e
	}
	return out
}

// mostProblem is how many bytes what is wrong with one of several entries may take.
const mostProblem = 24 << 10

func (s Handler) answerOut(ctx echo.Context, a books.Answer) (out openapi.EntryAnswer, err error) {
	if a.Err != nil {
		status, body := s.ProblemWithin(a.Err, ctx, mostProblem)
		out.Status, out.Problem = status, new(openapi.Problem)
		return out, json.Unmarshal(body, out.Problem)
	}
	out.Status = http.StatusOK
	if !a.Again {
		out.Status = http.StatusCreated
		count(s.Service, a.Recorded)
	}
	if r := &a.Reply; r.Last > a.Entry.Number { // the last of them lists it
		*r = books.Reply{Reply: season.Reply{Effect: r.Effect, Sentence: r.Sentence, Odd: r.Odd, Why: r.Why}, First: r.First, Last: r.Last}
	}
	out.Recorded = new(recordedOut(request.VoiceOf(ctx), a.Recorded))
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
