package api

import (
	"crypto/rand"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
)

// sessions remembers which browsers are signed in, in this process's memory: a
// restart signs everybody out, and a second copy of the service knows none of
// them. A session stands for the token that opened it and no more: the token
// is checked at every page, so revoking it ends the session.
type sessions struct {
	now func() time.Time

	mu   sync.Mutex
	open map[string]*session
}

type session struct {
	token string
	until time.Time
}

const (
	sessionCookie = "pullbook_session"
	// sessionLasts is since the last page: a working day, and not the night.
	sessionLasts = 12 * time.Hour
	mostSessions = 4096
)

func newSessions(now func() time.Time) *sessions {
	return &sessions{now: now, open: map[string]*session{}}
}

// start opens a session and gives its id, which is random and says nothing.
func (s *sessions) start(token string) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now()
	var first string
	for id, one := range s.open {
		switch {
		case one.until.Before(now):
			delete(s.open, id)
		case first == "" || one.until.Before(s.open[first].until):
			first = id
		}
	}
	if len(s.open) >= mostSessions {
		delete(s.open, first)
	}
	id := rand.Text()
	s.open[id] = &session{token: token, until: now.Add(sessionLasts)}
	return id
}

// token is what the session was opened with; looking keeps it open.
func (s *sessions) token(id string) (string, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	one := s.open[id]
	now := s.now()
	if one == nil || one.until.Before(now) {
		return "", false
	}
	one.until = now.Add(sessionLasts)
	return one.token, true
}

func (s *sessions) end(id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.open, id)
}

// secret is the token of the request's session.
func (s *sessions) secret(ctx echo.Context) (string, bool) {
	cookie, err := ctx.Cookie(sessionCookie)
	if err != nil {
		return "", false
	}
	return s.token(cookie.Value)
}

// fromHere refuses a form that another site sent.
var fromHere = http.NewCrossOriginProtection()

func (p *pages) signIn(ctx echo.Context) error {
	if err := fromHere.Check(ctx.Request()); err != nil {
		return errElsewhere
	}
	token := strings.TrimSpace(ctx.FormValue("token"))
	if token == "" {
		return fault.New(fault.SignIn, "The token was empty: paste the one that a manager gave you.")
	}
	if _, err := p.books.SignIn(ctx.Request().Context(), token); err != nil {
		return err
	}
	p.endSession(ctx)
	ctx.SetCookie(p.cookie(ctx, p.sessions.start(token), 0))
	return ctx.Redirect(http.StatusSeeOther, "/")
}

func (p *pages) signOut(ctx echo.Context) error {
	if err := fromHere.Check(ctx.Request()); err != nil {
		return errElsewhere
	}
	p.endSession(ctx)
	ctx.SetCookie(p.cookie(ctx, "", -1))
	return ctx.Redirect(http.StatusSeeOther, "/")
}

var errElsewhere = fault.New(fault.NotYours, "This form was sent from another site; it has to be sent from this one.")

func (p *pages) endSession(ctx echo.Context) {
	if cookie, err := ctx.Cookie(sessionCookie); err == nil {
		p.sessions.end(cookie.Value)
	}
}

// cookie ends with the browser; no script can read it and no other site can
// make the browser send it.
func (p *pages) cookie(ctx echo.Context, value string, maxAge int) *http.Cookie {
	return &http.Cookie{
		Name: sessionCookie, Value: value, Path: "/", MaxAge: maxAge,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: ctx.Scheme() == "https",
	}
}
