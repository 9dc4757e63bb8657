package request

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/db/gate"
	"pullbook/domain/document"
	"pullbook/domain/fault"
)

// RequestID gives a request a name for the log, the sender's own where it is
// short and plain.
func (s *Service) RequestID(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		id := ctx.Request().Header.Get(echo.HeaderXRequestID)
		if !plainID(id) {
			id = rand.Text()[:16]
		}
		ctx.Response().Header().Set(echo.HeaderXRequestID, id)
		return next(ctx)
	}
}

// RequestIDOf returns the name that a request has in the log.
func RequestIDOf(ctx echo.Context) string {
	return ctx.Response().Header().Get(echo.HeaderXRequestID)
}

func plainID(id string) bool {
	for _, r := range id {
		if !(r == '-' || r == '_' || '0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z') {
			return false
		}
	}
	return 0 < len(id) && len(id) <= 64
}

// Recover turns a panic into a fault, so that one bad request ends alone.
func (s *Service) Recover(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) (err error) {
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.Log.Error("panic", "request_id", RequestIDOf(ctx), "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
				err = fmt.Errorf("panic: %v", p)
			}
		}()
		return next(ctx)
	}
}

// Limit lets requests in by turns: who asks is found out first, then the body is
// read, and only then does a request take one of the places in which requests are
// served. So a body that trickles in keeps nobody out, and one outfit or one network
// has only its share. Liveness and metrics are answered however busy the service is.
func (s *Service) Limit(next echo.HandlerFunc) echo.HandlerFunc {
	return func(ctx echo.Context) error {
		if operational(ctx.Path()) {
			return next(ctx)
		}
		ctx.Set(keyClient, ctx.Request().Context())
		who, err := s.whose(ctx)
		if err != nil {
			return leaveUnread(ctx, err)
		}
		switch settings := s.Settings(ctx); {
		case settings.takesSheet:
			return s.limitImport(ctx, who, next)
		case settings.takesCertificate:
			return s.limitCertificate(ctx, who, next)
		}
		bodyGone, err := s.readBody(ctx, who)
		if err != nil {
			return leaveUnread(ctx, err)
		}
		if follows(ctx) {
			bodyGone()
			return s.limitFollower(ctx, who, next)
		}
		leave, err := s.places.Enter(ctx.Request().Context(), turn, who.of(s.Concurrent)...)
		bodyGone()
		if err != nil {
			return err
		}
		defer leave()
		if who.stranger() {
			// Of a stranger, also a reader of the answer may not be slow for long.
			_ = http.NewResponseController(ctx.Response()).SetWriteDeadline(time.Now().Add(strangerReads))
		}
		return s.within(ctx, s.RequestTimeout, next)
	}
}

const keyClient = "client"

// ClientOf ends when the client leaves, and not after the time that a request may
// take: a large document is made for as long as somebody waits for it.
func ClientOf(ctx echo.Context) context.Context {
	if client, ok := ctx.Get(keyClient).(context.Context); ok {
		return client
	}
	return ctx.Request().Context()
}

// strangerReads is how long somebody who is not signed in may take to read an answer.
const strangerReads = 20 * time.Second

// turn is how long a request may wait for its turn.
const turn = 2 * time.Second

// within serves a request in a bounded time.
func (s *Service) within(ctx echo.Context, most time.Duration, next echo.HandlerFunc) error {
	limited, cancel := context.WithTimeout(ctx.Request().Context(), most)
	defer cancel()
	ctx.SetRequest(ctx.Request().WithContext(limited))
	return next(ctx)
}

// whose finds out who asks. Looking that up has places of its own, since it is done
// for whatever a stranger sends.
func (s *Service) whose(ctx echo.Context) (asker, error) {
	from := ClientNetwork(ctx.Request())
	leave, err := s.doors.Enter(ctx.Request().Context(), turn, gate.Of(from, gate.Part(s.Concurrent, 4)))
	if err != nil {
		return asker{}, err
	}
	defer leave()
	who := asker{from: from}
	defer ctx.SetRequest(ctx.Request())
	err = s.within(ctx, s.RequestTimeout, func(ctx echo.Context) error {
		if err := s.authenticate(ctx); err != nil {
			return err
		}
		if err := s.entitled(ctx); err != nil {
			return err
		}
		if p, ok := ctx.Get("principal").(db.Principal); ok {
			who.outfit, who.person = p.Outfit, p.Person
			return nil
		}
		if strings.HasPrefix(ctx.Path(), "/assets/") {
			return nil
		}
		// Where the database cannot be asked, the page that needs it says so.
		if session, ok, err := s.Session(ctx); ok && err == nil {
			who.outfit, who.person = session.Outfit, session.Person
		} else if ctx.Path() == SignInPath && ctx.Request().Method == http.MethodPost {
			who.outfit, who.person = s.ofDevice(ctx)
		}
		return nil
	})
	return who, err
}

// asker is who sent a request: somebody of an outfit, or a stranger.
type asker struct {
	outfit, person uuid.UUID
	from           string
}

func (a asker) stranger() bool { return a.outfit == uuid.Nil }

// of are the shares of an asker among so many places. Strangers have fewer, all
// together and each network, so that nobody needs a token to be in the way.
func (a asker) of(places int) []gate.Share {
	if a.stranger() {
		return []gate.Share{gate.Of("strangers", gate.Part(places, 4)), gate.Of("strangers from "+a.from, gate.Part(places, 16))}
	}
	outfit := "outfit " + a.outfit.String()
	return []gate.Share{gate.Of(outfit, gate.Part(places, 4)), gate.Of(outfit+" from "+a.from, gate.Part(places, 8)), gate.Of(a.from, gate.Part(places, 2))}
}

// limitFollower bounds how many wait for changes, in all, of an outfit and in
// whosever name. They wait longer than other requests may take, and end by
// themselves.
func (s *Service) limitFollower(ctx echo.Context, who asker, next echo.HandlerFunc) error {
	outfit := "outfit " + who.outfit.String()
	leave, err := s.followers.Enter(ctx.Request().Context(), 0,
		gate.Of(outfit, gate.Part(s.Following, 8)), gate.Of(outfit+" "+who.person.String(), gate.Part(s.Following, 16)), gate.Of(who.from, gate.Part(s.Following, 2)))
	if err != nil {
		ctx.Response().Header().Set("Retry-After", "5")
		if err == gate.ErrShare {
			return fault.New(fault.Busy, "Too many requests of this outfit, or in this person's name, wait for changes at once. One waiting request sees all that is recorded: end the others, or ask without waiting.")
		}
		return fault.New(fault.Busy, "Too many requests wait for changes at once. Try again later, or ask without waiting.")
	}
	defer leave()
	return next(ctx)
}

// limitImport bounds how many sheets are brought in at once. An outfit brings in one at
// a time, and the next one waits before anything of it is read. Their bodies are read
// while they are worked on, so they take nobody else's places.
func (s *Service) limitImport(ctx echo.Context, who asker, next echo.HandlerFunc) error {
	if who.stranger() {
		return leaveUnread(ctx, ErrSignedOut)
	}
	leave, err := s.importing.Enter(ctx.Request().Context(), importTurn, gate.Of(who.outfit.String(), 1), gate.Of(who.from, mostImports/2))
	switch {
	case err == gate.ErrFull:
		return leaveUnread(ctx, errOtherTurn)
	case err != nil:
		return leaveUnread(ctx, errOwnTurn)
	}
	defer leave()
	s.paceBody(ctx, s.Settings(ctx).MostBytes, s.ImportTimeout, importPace)
	// Where the connection cannot be given more time, it has what others have.
	_ = http.NewResponseController(ctx.Response()).SetWriteDeadline(time.Now().Add(s.ImportTimeout))
	return s.within(ctx, s.ImportTimeout, next)
}

var (
	errOwnTurn   = fault.New(fault.Busy, "The outfit is bringing in another sheet just now, and nothing of this one was read. Wait until that one is done, and send this one again.")
	errOtherTurn = fault.New(fault.Busy, "Many outfits are bringing in sheets just now, and nothing of this one was read. Send it again in a minute.")
)

const (
	// mostImports is how many outfits' files come in at once, onto the disk.
	mostImports = 16
	// importTurn is how long a sheet waits for its outfit's turn, and mostInLineToImport
	// how many of an outfit wait.
	importTurn         = 10 * time.Second
	mostInLineToImport = 4
)

// newImportGate has places for the outfits that bring sheets in.
func newImportGate() *gate.Gate {
	g := gate.New(mostImports)
	g.MostInLine = mostInLineToImport
	return g
}

// limitCertificate bounds how many certificates come in at once: each is in memory whole
// while it is stored. An outfit puts in one at a time, so that its bounds hold.
func (s *Service) limitCertificate(ctx echo.Context, who asker, next echo.HandlerFunc) error {
	most, size := s.Settings(ctx).MostBytes, ctx.Request().ContentLength
	switch {
	case who.stranger():
		return leaveUnread(ctx, ErrSignedOut)
	case size > mostDrained:
		return leaveUnread(ctx, tooLarge(ctx, size))
	}
	leave, err := s.filing.Enter(ctx.Request().Context(), importTurn, gate.Of(who.outfit.String(), 1), gate.Of(who.from, mostFiling/2))
	if err != nil {
		return leaveUnread(ctx, errFiling)
	}
	defer leave()
	s.paceBody(ctx, max(most, min(size, mostDrained)), mostFilingTime, importPace)
	if size > most {
		_, _ = io.Copy(io.Discard, ctx.Request().Body)
		return tooLarge(ctx, size)
	}
	// Where the connection cannot be given more time, it has what others have.
	_ = http.NewResponseController(ctx.Response()).SetWriteDeadline(time.Now().Add(mostFilingTime))
	return s.within(ctx, mostFilingTime, next)
}

// tooLarge is the fault of a form with a file of more than its route takes.
func tooLarge(ctx echo.Context, size int64) error {
	if ctx.Path() == PhotosPath {
		return document.PictureTooLarge(size)
	}
	return document.TooLarge(size)
}

var errFiling = fault.New(fault.Busy, "Another file is coming in just now, and nothing of this one was read. Send it again in a minute.")

const (
	// mostFiling is how many certificates come in at once.
	mostFiling = 8
	// mostDrained is how large a file that is too large may be for the service to take it in
	// and throw it away: a browser shows no answer that comes while it still sends.
	mostDrained = 32 << 20
	// mostFilingTime is how long one may take: a telephone at the edge of its network
	// sends 5 MiB in it.
	mostFilingTime = 5 * time.Minute
)

// newFilingGate has places for the outfits that put certificates in.
func newFilingGate() *gate.Gate {
	g := gate.New(mostFiling)
	g.MostInLine = mostInLineToImport
	return g
}
