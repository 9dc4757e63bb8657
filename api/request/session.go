package request

import (
	"context"
	"encoding/base64"
	"net/http"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/fault"
)

// sessions remembers in the database which browsers are signed in. A cookie's
// value is the outfit's id and random text, so that no look goes across outfits;
// the database has the text's hash. A session says who it stands for and no more:
// whether the person may still be here is looked up for each page.
type sessions struct{ manager *scs.SessionManager }

const (
	SessionCookie = "pullbook_session"
	// WorkingDay is how long one stays signed in; KeptSession where one asked to
	// be kept, and TabletSession for a shed's tablet: a season, and some.
	WorkingDay    = 12 * time.Hour
	KeptSession   = 30 * 24 * time.Hour
	TabletSession = 300 * 24 * time.Hour
)

func newSessions(d *db.DB) sessions {
	manager := scs.New()
	manager.Store = db.Sessions{DB: d}
	manager.HashTokenInStore = true
	return sessions{manager}
}

// Start opens a session, which may last so long, and gives its cookie's value.
func (s sessions) Start(ctx context.Context, who db.Session, lasts time.Duration) (string, error) {
	ctx, err := s.manager.Load(db.WithOutfit(ctx, who.Outfit), "")
	if err != nil {
		return "", err
	}
	s.manager.SetDeadline(ctx, time.Now().Add(lasts))
	return s.keep(ctx, who)
}

func (s sessions) keep(ctx context.Context, who db.Session) (string, error) {
	s.manager.Put(ctx, "person", who.Person.String())
	s.manager.Put(ctx, "generation", who.Generation)
	s.manager.Put(ctx, "tablet", who.Tablet.String())
	token, _, err := s.manager.Commit(ctx)
	return base64.RawURLEncoding.EncodeToString(who.Outfit[:]) + "." + token, err
}

// load finds a cookie's session, with which the context then goes.
func (s sessions) load(ctx context.Context, cookie string) (context.Context, db.Session, bool, error) {
	var who db.Session
	outfit, token, _ := strings.Cut(cookie, ".")
	raw, err := base64.RawURLEncoding.DecodeString(outfit)
	if err != nil || len(raw) != len(who.Outfit) || token == "" {
		return ctx, who, false, nil
	}
	copy(who.Outfit[:], raw)
	ctx, err = s.manager.Load(db.WithOutfit(ctx, who.Outfit), token)
	if err != nil || !s.manager.Exists(ctx, "person") {
		return ctx, who, false, err
	}
	who.Generation = s.manager.GetInt(ctx, "generation")
	if who.Person, err = uuid.Parse(s.manager.GetString(ctx, "person")); err != nil {
		return ctx, who, false, err
	}
	who.Tablet, err = uuid.Parse(s.manager.GetString(ctx, "tablet"))
	return ctx, who, err == nil, err
}

// Change puts somebody else at the session of a cookie, under a new random text,
// and gives the cookie's new value. Its end stays.
func (s sessions) Change(ctx context.Context, cookie string, who db.Session) (string, error) {
	ctx, _, ok, err := s.load(ctx, cookie)
	if err != nil || !ok {
		return "", err
	}
	until := s.manager.Deadline(ctx)
	if err := s.manager.RenewToken(ctx); err != nil {
		return "", err
	}
	s.manager.SetDeadline(ctx, until)
	return s.keep(ctx, who)
}

// End forgets a session.
func (s sessions) End(ctx context.Context, cookie string) error {
	ctx, _, ok, err := s.load(ctx, cookie)
	if err != nil || !ok {
		return err
	}
	return s.manager.Destroy(ctx)
}

const sessionKey = "session"

// CookieName is a cookie's name on the way by which the browser came. A browser lets
// plain HTTP change no cookie that HTTPS has set, so that each has its own: who signed in
// by one way can also sign in by the other. No other name of the same site, and no
// other port, can set one that begins with __Host-.
func CookieName(ctx echo.Context, name string) string {
	if ctx.Scheme() == "https" {
		return "__Host-" + name
	}
	return name
}

// Session is the request's session.
func (s *Service) Session(ctx echo.Context) (db.Session, bool, error) {
	if had, ok := ctx.Get(sessionKey).(db.Session); ok {
		return had, true, nil
	}
	cookie, err := ctx.Cookie(CookieName(ctx, SessionCookie))
	if err != nil {
		return db.Session{}, false, nil
	}
	_, who, ok, err := s.Sessions.load(ctx.Request().Context(), cookie.Value)
	if err == nil && ok && who.Tablet != uuid.Nil {
		err = s.lockIdle(ctx, &who)
	}
	if err == nil && ok {
		ctx.Set(sessionKey, who)
	}
	return who, ok, err
}

// tabletHeader tells the pages' scripts that the device is a shed's tablet, and
// whether it is open or locked.
const tabletHeader = "Pullbook-Tablet"

// lockIdle takes the person off a tablet at which nothing was done for a while. What
// scripts ask for by themselves keeps no tablet open.
func (s *Service) lockIdle(ctx echo.Context, who *db.Session) error {
	state := "locked"
	if who.Person != uuid.Nil {
		r := ctx.Request()
		byItself := r.Method == http.MethodGet && strings.HasPrefix(ctx.Path(), "/v1/")
		open, err := s.DB.TabletUsed(r.Context(), *who, !byItself)
		if err != nil {
			return err
		}
		if open {
			state = "open"
		} else {
			who.Person, who.Generation = uuid.Nil, 0
		}
	}
	ctx.Response().Header().Set(tabletHeader, state)
	return nil
}

// Visitor is who the request's session speaks for.
func (s *Service) Visitor(ctx echo.Context) (db.Principal, error) {
	who, ok, err := s.Session(ctx)
	if err != nil {
		return db.Principal{}, err
	}
	if !ok {
		return db.Principal{}, ErrSignedOut
	}
	return s.Books.Resume(ctx.Request().Context(), who)
}

// ErrSignedOut sends a visitor to the sign-in page.
var ErrSignedOut = fault.New(fault.SignIn, "Please sign in to see this page.")

// Cookie ends with the browser where lasts is zero. No script can read it and
// no other site can make the browser send it.
func (s *Service) Cookie(ctx echo.Context, value string, lasts time.Duration) *http.Cookie {
	c := &http.Cookie{
		Name: CookieName(ctx, SessionCookie), Value: value, Path: "/", MaxAge: int(lasts.Seconds()),
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: ctx.Scheme() == "https",
	}
	if value == "" {
		c.MaxAge = -1
	}
	return c
}

// SignInPath is the page on which people sign in.
const SignInPath = "/sign-in"
