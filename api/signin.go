package api

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	"golang.org/x/text/unicode/norm"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// Passwords may be tried so often: for one person from one network, for one person
// from wherever, for anybody from one network; and for a person on a device on which
// she signed in before, which no stranger's guesses keep waiting. Right ones do not
// count. A password has ten characters at least: at this pace it is not found.
var (
	passwordFromNetwork = pace{tries: 10, each: 30 * time.Second}
	passwordOfPerson    = pace{tries: 100, each: 10 * time.Second}
	passwordsOfNetwork  = pace{tries: 60, each: 2 * time.Second}
	passwordOnDevice    = pace{tries: 10, each: 30 * time.Second}
)

// tooOften says how long there is nothing to try.
func tooOften(ctx echo.Context, wait time.Duration) error {
	seconds := math.Ceil(wait.Seconds())
	ctx.Response().Header().Set("Retry-After", fmt.Sprint(int(seconds)))
	if seconds > 90 {
		minutes := math.Ceil(seconds / 60)
		return fault.New(fault.TooOften, "Too many tries. Try again in %s.", message.Plural{N: minutes, One: "%s minute", Other: "%s minutes"})
	}
	return fault.New(fault.TooOften, "Too many tries. Try again in %s.", message.Plural{N: seconds, One: "%s second", Other: "%s seconds"})
}

// passwordCounts are what a password's tries are counted by. Whoever is meant counts
// as the one person that the database finds, however the name is written; a name that
// means nobody counts as it would be looked up.
func (p *pages) passwordCounts(ctx echo.Context, outfit, name string, named []db.Named) ([]count, error) {
	from := networkOf(ctx.Request())
	who := "nobody " + plainName(outfit) + "\x01" + plainName(name)
	for i, n := range named {
		if known, err := p.knownDevice(ctx, n.Session); err != nil || known != "" {
			return []count{countBy(passwordOnDevice, "password on", known, n.Person.String())}, err
		}
		if i == 0 {
			who = ""
		}
		who += n.Outfit.String() + n.Person.String()
	}
	return []count{
		countBy(passwordsOfNetwork, "passwords from", from),
		countBy(passwordFromNetwork, "password of", who, from),
		countBy(passwordOfPerson, "password of", who),
	}, nil
}

// plainName is a name without what the database does not look at: case and blanks
// around it. It folds more than that, so that no way of writing gives more tries.
func plainName(name string) string {
	return strings.ToLower(norm.NFKC.String(strings.Join(strings.Fields(name), " ")))
}

// signInView is the form for people.
type signInView struct {
	// Why says what was wrong; empty at first.
	Why                string
	Outfit, Name, Next string
}

const signInPath = "/sign-in"

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
	for _, text := range []string{outfit, name, password} {
		if n := utf8.RuneCountInString(text); n > db.LongestPassword {
			return fault.New(fault.Invalid, "One of the three has %s characters; names and passwords have %s at most.", n, db.LongestPassword)
		}
	}
	c := ctx.Request().Context()
	named, err := p.db.Named(c, outfit, name)
	if err != nil {
		return err
	}
	counts, err := p.passwordCounts(ctx, outfit, name, named)
	if err != nil {
		return err
	}
	if wait := p.guesses.take(counts...); wait > 0 {
		return tooOften(ctx, wait)
	}
	who, err := p.db.SignInByPassword(c, named, password)
	if fault.CodeOf(err) != fault.SignIn {
		p.guesses.giveBack(counts...)
	}
	if err != nil {
		return err
	}
	if err := p.rememberDevice(ctx, who); err != nil {
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
	ending(ctx)
	if err := p.endSession(ctx); err != nil {
		return err
	}
	ctx.SetCookie(p.cookie(ctx, "", 0))
	return ctx.Redirect(http.StatusSeeOther, "/")
}

func ending(ctx echo.Context) {
	ctx.SetRequest(ctx.Request().WithContext(db.Ending(ctx.Request().Context())))
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
			return p.signInPage(ctx, http.StatusUnauthorized, f.Message.In(locale.NewVoice(languageOf(ctx), "", time.UTC)))
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
	who, err := p.db.Unlock(ctx.Request().Context(), tablet, person, ctx.FormValue("code"))
	if wait := (db.Wait{}); errors.As(err, &wait) {
		return tooOften(ctx, wait.For)
	}
	if err != nil {
		return err
	}
	return p.goOn(ctx, who, placeHere(ctx.FormValue("next")))
}

// lock leaves the tablet signed in, with nobody at it.
func (p *pages) lock(ctx echo.Context) error {
	ending(ctx)
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
