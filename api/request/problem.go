package request

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"regexp"

	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/db/away"
	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// ProblemOf says, for each sort of fault, its status and its title. This table
// is the one place where a fault becomes HTTP.
var ProblemOf = map[fault.Code]struct {
	Status int
	Title  string
}{
	fault.Malformed:      {http.StatusBadRequest, "That cannot be read"},
	fault.Invalid:        {http.StatusUnprocessableEntity, "That cannot be stored as it is"},
	fault.NotFound:       {http.StatusNotFound, "Not in the book"},
	fault.Conflict:       {http.StatusConflict, "The book says otherwise"},
	fault.RestsOnRefused: {http.StatusFailedDependency, "It rests on one that was refused"},
	fault.SignIn:         {http.StatusUnauthorized, "Please sign in"},
	fault.NotYours:       {http.StatusForbidden, "You may not do this"},
	fault.TooOften:       {http.StatusTooManyRequests, "Too many tries"},
	fault.TooLarge:       {http.StatusRequestEntityTooLarge, "Too much at once"},
	fault.TooSlow:        {http.StatusRequestTimeout, "It came too slowly"},
	fault.Busy:           {http.StatusServiceUnavailable, "Busy: please send it again"},
	fault.Full:           {http.StatusInsufficientStorage, "The disk is full"},
	fault.Internal:       {http.StatusInternalServerError, "Something went wrong here"},
	OtherMethod:          {http.StatusMethodNotAllowed, "This cannot be done this way"},
}

// OtherMethod: the method is not one that the address knows.
const OtherMethod fault.Code = "method-not-allowed"

// Problem answers a request that failed with problem details (RFC 9457).
func (s *Service) Problem(err error, ctx echo.Context) {
	if ctx.Response().Committed {
		return
	}
	f := s.FaultOf(err, ctx)
	status, body := problemBody(f, VoiceOf(ctx), RequestIDOf(ctx), largestProblem)
	header := ctx.Response().Header()
	SayWhenAgain(f.Code, header)
	if f.Code == fault.SignIn {
		if !s.Settings(ctx).Feed { // spreadsheets ask for a password by the first that they see
			header.Add("WWW-Authenticate", `Bearer realm="pullbook"`)
		}
		// Of the program's own scripts a browser would ask the person at it for a
		// user name, in a window of its own, and hold the request until then.
		if !s.fromOwnPage(ctx.Request()) {
			header.Add("WWW-Authenticate", `Basic realm="pullbook", charset="UTF-8"`)
		}
	}
	_ = ctx.Blob(status, "application/problem+json", body)
}

// SayWhenAgain says after how many seconds a request may be sent again that was refused
// for what passes by itself.
func SayWhenAgain(code fault.Code, header http.Header) {
	switch {
	case header.Get("Retry-After") != "":
	case code == fault.Busy:
		header.Set("Retry-After", "1")
	case code == fault.Full:
		header.Set("Retry-After", "60")
	}
}

// largestProblem bounds the answer to a request that failed.
const largestProblem = 64 << 10

// problemDetails is a Problem of the contract.
type problemDetails struct {
	Type       string            `json:"type"`
	Title      string            `json:"title"`
	Status     int               `json:"status"`
	Detail     string            `json:"detail,omitempty"`
	RequestID  string            `json:"request_id,omitempty"`
	Errors     []json.RawMessage `json:"errors,omitempty"`
	MoreErrors int64             `json:"more_errors,omitempty"`
}

type problemItem struct {
	Pointer    string `json:"pointer"`
	Sent       any    `json:"sent,omitempty"`
	Detail     string `json:"detail"`
	DidYouMean any    `json:"did_you_mean,omitempty"`
}

// ProblemWithin writes a failure as problem details of so many bytes at most, for an answer
// that has several, with the status that it would have had alone.
func (s *Service) ProblemWithin(err error, ctx echo.Context, most int) (status int, body []byte) {
	return problemBody(s.FaultOf(err, ctx), VoiceOf(ctx), "", most)
}

// problemBody writes a fault as problem details. It names as many of the fault's
// fields as most bytes have room for, and says how many more there are.
func problemBody(f *fault.Error, voice message.Voice, requestID string, most int) (status int, body []byte) {
	kind := ProblemOf[f.Code]
	out := problemDetails{
		Type: "/problems/" + string(f.Code), Title: message.F(kind.Title).In(voice), Status: kind.Status, RequestID: requestID, MoreErrors: f.More,
	}
	room := most - 8<<10 // the rest is for what stands around the list
	for i, x := range f.Fields {
		item := writeItem(x, voice)
		if room -= len(item); room < 0 {
			out.MoreErrors += int64(len(f.Fields) - i)
			break
		}
		out.Errors = append(out.Errors, item)
	}
	text := f.Message
	if out.MoreErrors > 0 {
		text = message.Join(text, message.F("These are the first %s problems; there are %s more.", int64(len(out.Errors)), out.MoreErrors))
	}
	out.Detail = message.Shortened(text.In(voice), 2000)
	body, _ = json.Marshal(out) // strings and numbers: there is nothing that cannot be written
	return kind.Status, body
}

// writeItem writes one of a problem's fields, each part of it short.
func writeItem(f fault.Field, voice message.Voice) []byte {
	item := problemItem{message.Shortened(f.Pointer, 500), Sent(f.Sent), message.Shortened(f.Message.In(voice), 2000), Sent(f.DidYouMean)}
	out, err := json.Marshal(item)
	if err != nil { // a value that JSON does not have
		item.Sent, item.DidYouMean = nil, nil
		out, _ = json.Marshal(item)
	}
	return out
}

// FaultOf finds the fault in an error. What is not ours to show is logged and
// shown as a number to ask about.
func (s *Service) FaultOf(err error, ctx echo.Context) *fault.Error {
	var f *fault.Error
	if errors.As(err, &f) && f.Code != fault.Internal {
		return f
	}
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return fault.New(fault.TooLarge, "A request may hold %s kB at most; nothing of it was stored. Send it in parts.", tooLarge.Limit/1024)
	}
	switch {
	case db.OutOfRoom(err):
		s.Log.Error("the database has no room on its disk", "request_id", RequestIDOf(ctx), "error", err)
		return s.FaultOf(db.ErrFull(s.DiskRoom().Folder), ctx)
	case away.Unavailable(err):
		s.Log.Warn("the database does not answer", "request_id", RequestIDOf(ctx), "error", err)
		return s.FaultOf(away.Err, ctx)
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return fault.New(fault.Busy, "The answer took too long. Send an entry again with the same id: it is not booked twice.")
	}
	var h *echo.HTTPError
	if errors.As(err, &h) {
		return ofEcho(h, ctx)
	}
	s.Log.Error("request failed", "request_id", RequestIDOf(ctx), "error", err)
	return fault.New(fault.Internal, "The program made a mistake; what you sent was fine. Its log says more under this request's number.")
}

var badParameter = regexp.MustCompile(`(?:Invalid format for parameter|Query argument|parameter) "?(\w+)"?`)

// ofEcho reads what the router and the generated wrappers complain about.
func ofEcho(h *echo.HTTPError, ctx echo.Context) *fault.Error {
	switch h.Code {
	case http.StatusNotFound:
		return fault.New(fault.NotFound, "There is nothing at %s.", clip(ctx.Request().URL.Path))
	case http.StatusMethodNotAllowed:
		return fault.New(OtherMethod, "%s cannot be done at %s.", clip(ctx.Request().Method), clip(ctx.Request().URL.Path))
	case http.StatusBadRequest:
		text, _ := h.Message.(string)
		f := fault.New(fault.Invalid, "A part of the address could not be read.")
		if m := badParameter.FindStringSubmatch(text); m != nil {
			at, came := "query:", ctx.QueryParam(m[1])
			if text := ctx.Param(m[1]); text != "" {
				at, came = "path:", text
			}
			field := fault.Field{Pointer: at + m[1], Sent: Sent(came), Message: message.F("This is not written as the contract asks.")}
			if at == "query:" && !ctx.QueryParams().Has(m[1]) {
				field.Sent, field.Message = nil, message.F("This is missing: give it in the address.")
			}
			f.Fields = []fault.Field{field}
		}
		return f
	}
	return fault.New(fault.Internal, "%s", h.Message)
}
