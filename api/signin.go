package api

import (
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"
	"golang.org/x/time/rate"

	"pullbook/db"
	"pullbook/domain/fault"
)

// tries bounds how often a password or a code may be tried: by whom it is for,
// so that nobody guesses one person's, and by where it comes from, so that
// nobody goes through the names. Right ones count too.
type tries struct{ byName, byAddress middleware.RateLimiterStore }

// A name has ten tries and then one in half a minute: a code of six
// digits is found in years.
const (
	triesByName    = 10
	triesByAddress = 60
	nextTry        = 30 * time.Second
)

func newTries() tries {
	limiter := func(each time.Duration, burst int) middleware.RateLimiterStore {
		return middleware.NewRateLimiterMemoryStoreWithConfig(middleware.RateLimiterMemoryStoreConfig{
			Rate: rate.Every(each), Burst: burst, ExpiresIn: time.Hour,
		})
	}
	return tries{limiter(nextTry, triesByName), limiter(2*time.Second, triesByAddress)}
}

func (t tries) take(ctx echo.Context, name string) error {
	for _, of := range []struct {
		store middleware.RateLimiterStore
		id    string
	}{{t.byAddress, echo.ExtractIPDirect()(ctx.Request())}, {t.byName, strings.ToLower(name)}} {
		ok, err := of.store.Allow(of.id)
		if err != nil {
			return fmt.Errorf("count the tries of %q: %w", of.id, err)
		}
		if !ok {
			ctx.Response().Header().Set("Retry-After", fmt.Sprint(int(nextTry.Seconds())))
			return fault.New(fault.TooOften, "Too many tries. Please wait half a minute, then try again.")
		}
	}
	return nil
}

// signInView is the form for people.
type signInView struct {
	// Why says what was wrong; empty at first.
	Why                string
	Outfit, Name, Next string
}

// outfitCookie remembers on a device which outfit signs in there.
const outfitCookie = "pullbook_outfit"

func (p *pages) signInPage(ctx echo.Context, status int, why string) error {
	v := signInView{Why: why, Outfit: ctx.FormValue("outfit"), Name: ctx.FormValue("name"), Next: placeHere(ctx.FormValue("next"))}
	if ctx.Request().Method == http.MethodGet {
		v.Next = placeHere(ctx.Request().URL.RequestURI())
	}
	if cookie, err := ctx.Cookie(cookieName(ctx, outfitCookie)); err == nil && v.Outfit == "" {
		v.Outfit = unescaped(cookie.Value)
	}
	return p.page(ctx, status, "sign-in.html", v)
}

func (p *pages) signIn(ctx echo.Context) error {
	outfit, name, password := ctx.FormValue("outfit"), ctx.FormValue("name"), ctx.FormValue("password")
	if outfit == "" || name == "" || password == "" {
		return fault.New(fault.SignIn, "Signing in needs the outfit's name, your name and your password.")
	}
	if err := p.tries.take(ctx, outfit+"\x00"+name); err != nil {
		return err
	}
	who, err := p.db.SignInByPassword(ctx.Request().Context(), outfit, name, password)
	if err != nil {
		return err
	}
	lasts, shown := workingDay, time.Duration(0)
	if ctx.FormValue("stay") != "" {
		lasts, shown = keptSession, keptSession
	}
	if err := p.begin(ctx, who, lasts, shown); err != nil {
		return err
	}
	ctx.SetCookie(&http.Cookie{
		Name: cookieName(ctx, outfitCookie), Value: escaped(outfit), Path: "/", MaxAge: int(tabletSession.Seconds()),
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: ctx.Scheme() == "https",
	})
	return ctx.Redirect(http.StatusSeeOther, placeHere(ctx.FormValue("next")))
}

// begin ends the session that the browser had and opens another; the cookie
// lasts as shown, or as long as the browser is open.
func (p *pages) begin(ctx echo.Context, who db.Session, lasts, shown time.Duration) error {
	if err := p.endSession(ctx); err != nil {
		return err
	}
	value, err := p.sessions.start(ctx.Request().Context(), who, lasts)
	if err != nil {
		return err
	}
	ctx.SetCookie(p.cookie(ctx, value, shown))
	return nil
}

func (p *pages) signOut(ctx echo.Context) error {
	if err := p.endSession(ctx); err != nil {
		return err
	}
	ctx.SetCookie(p.cookie(ctx, "", 0))
	return ctx.Redirect(http.StatusSeeOther, "/")
}

func (p *pages) endSession(ctx echo.Context) error {
	cookie, err := ctx.Cookie(cookieName(ctx, sessionCookie))
	if err != nil {
		return nil // there was none
	}
	return p.sessions.end(ctx.Request().Context(), cookie.Value)
}

// unlockView is a locked tablet's page.
type unlockView struct {
	Why, Next string
	People    []db.Locker
	// Chosen is the id of the name that was chosen.
	Chosen string
}

// unlockPage asks who stands at the tablet.
func (p *pages) unlockPage(ctx echo.Context, status int, tablet db.Session, why string) error {
	if err := p.db.TabletGood(ctx.Request().Context(), tablet.Outfit, tablet.Tablet); err != nil {
		if f := (*fault.Error)(nil); errors.As(err, &f) && f.Code == fault.SignIn {
			return p.signInPage(ctx, http.StatusUnauthorized, f.Message.In(figuresFor(tongueOf(ctx), db.Outfit{}, time.UTC)))
		}
		return err
	}
	people, err := p.db.Lockers(ctx.Request().Context(), tablet.Outfit)
	if err != nil {
		return err
	}
	v := unlockView{Why: why, People: people, Chosen: ctx.FormValue("person"), Next: placeHere(ctx.FormValue("next"))}
	if ctx.Request().Method == http.MethodGet {
		v.Next = placeHere(ctx.Request().URL.RequestURI())
	}
	return p.page(ctx, status, "unlock.html", v)
}

// unlock puts the person whose code was typed at the tablet.
func (p *pages) unlock(ctx echo.Context) error {
	tablet, err := p.tablet(ctx)
	if err != nil {
		return err
	}
	person, err := uuid.Parse(ctx.FormValue("person"))
	if err != nil {
		return fault.New(fault.SignIn, "Please choose your name, then type your code.")
	}
	if err := p.tries.take(ctx, "unlock "+person.String()); err != nil {
		return err
	}
	who, err := p.db.Unlock(ctx.Request().Context(), tablet, person, ctx.FormValue("code"))
	if err != nil {
		return err
	}
	return p.goOn(ctx, who, placeHere(ctx.FormValue("next")))
}

// lock leaves the tablet signed in, with nobody at it.
func (p *pages) lock(ctx echo.Context) error {
	tablet, err := p.tablet(ctx)
	if err != nil {
		return err
	}
	tablet.Person, tablet.Generation = uuid.Nil, 0
	return p.goOn(ctx, tablet, "/")
}

// tablet is the request's session where it is a tablet's.
func (p *pages) tablet(ctx echo.Context) (db.Session, error) {
	who, ok, err := p.session(ctx)
	if err == nil && (!ok || who.Tablet == uuid.Nil) {
		err = errSignedOut
	}
	return who, err
}

// goOn keeps a tablet's session with somebody else at it.
func (p *pages) goOn(ctx echo.Context, who db.Session, next string) error {
	cookie, err := ctx.Cookie(cookieName(ctx, sessionCookie))
	if err != nil {
		return errSignedOut
	}
	value, err := p.sessions.change(ctx.Request().Context(), cookie.Value, who)
	if err != nil {
		return err
	}
	ctx.SetCookie(p.cookie(ctx, value, tabletSession))
	return ctx.Redirect(http.StatusSeeOther, next)
}
