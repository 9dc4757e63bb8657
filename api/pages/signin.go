package pages

import (
	"errors"
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	"golang.org/x/text/unicode/norm"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
)

// Passwords may be tried so often: for one person from one network, for one person
// from wherever, for anybody from one network; and for a person on a device on which
// she signed in before, which no stranger's guesses keep waiting. Right ones do not
// count. A password has ten characters at least: at this pace it is not found.
var (
	passwordFromNetwork = request.Pace{Tries: 10, Each: 30 * time.Second}
	passwordOfPerson    = request.Pace{Tries: 100, Each: 10 * time.Second}
	passwordsOfNetwork  = request.Pace{Tries: 60, Each: 2 * time.Second}
	passwordOnDevice    = request.Pace{Tries: 10, Each: 30 * time.Second}
)

// passwordCounts are what a password's tries are counted by. Whoever is meant counts
// as the one person that the database finds, however the name is written; a name that
// means nobody counts as it would be looked up.
func (p *pages) passwordCounts(ctx echo.Context, outfit, name string, named []db.Named) ([]request.Count, error) {
	from := request.ClientNetwork(ctx.Request())
	who := "nobody " + plainName(outfit) + "\x01" + plainName(name)
	for i, n := range named {
		if known, err := p.KnownDevice(ctx, n.Session); err != nil || known != "" {
			return []request.Count{request.CountBy(passwordOnDevice, "password on", known, n.Person.String())}, err
		}
		if i == 0 {
			who = ""
		}
		who += n.Outfit.String() + n.Person.String()
	}
	return []request.Count{
		request.CountBy(passwordsOfNetwork, "passwords from", from),
		request.CountBy(passwordFromNetwork, "password of", who, from),
		request.CountBy(passwordOfPerson, "password of", who),
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

// outfitCookie remembers on a device which outfit signs in there.
const outfitCookie = "pullbook_outfit"

func (p *pages) signInPage(ctx echo.Context, status int, why string) error {
	v := signInView{Why: why, Outfit: ctx.FormValue("outfit"), Name: ctx.FormValue("name"), Next: request.PlaceHere(ctx.FormValue("next"))}
	if ctx.Request().Method == http.MethodGet {
		v.Next = request.PlaceHere(ctx.Request().URL.RequestURI())
	}
	if cookie, err := ctx.Cookie(request.CookieName(ctx, outfitCookie)); err == nil && v.Outfit == "" {
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
	named, err := p.DB.Named(c, outfit, name)
	if err != nil {
		return err
	}
	counts, err := p.passwordCounts(ctx, outfit, name, named)
	if err != nil {
		return err
	}
	if wait := p.Guesses.Take(counts...); wait > 0 {
		return request.TooOften(ctx, wait)
	}
	who, err := p.DB.SignInByPassword(c, named, password)
	if fault.CodeOf(err) != fault.SignIn {
		p.Guesses.GiveBack(counts...)
	}
	if err != nil {
		return err
	}
	if err := p.RememberDevice(ctx, who); err != nil {
		return err
	}
	lasts, shown := request.WorkingDay, time.Duration(0)
	if ctx.FormValue("stay") != "" {
		lasts, shown = request.KeptSession, request.KeptSession
	}
	if err := p.begin(ctx, who, lasts, shown); err != nil {
		return err
	}
	ctx.SetCookie(&http.Cookie{
		Name: request.CookieName(ctx, outfitCookie), Value: escaped(outfit), Path: "/", MaxAge: int(request.TabletSession.Seconds()),
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: ctx.Scheme() == "https",
	})
	return ctx.Redirect(http.StatusSeeOther, request.PlaceHere(ctx.FormValue("next")))
}

// begin ends the session that the browser had and opens another; the cookie
// lasts as shown, or as long as the browser is open.
func (p *pages) begin(ctx echo.Context, who db.Session, lasts, shown time.Duration) error {
	if err := p.endSession(ctx); err != nil {
		return err
	}
	value, err := p.Sessions.Start(ctx.Request().Context(), who, lasts)
	if err != nil {
		return err
	}
	ctx.SetCookie(p.Cookie(ctx, value, shown))
	return nil
}

func (p *pages) signOut(ctx echo.Context) error {
	ending(ctx)
	if err := p.endSession(ctx); err != nil {
		return err
	}
	ctx.SetCookie(p.Cookie(ctx, "", 0))
	return ctx.Redirect(http.StatusSeeOther, "/")
}

func ending(ctx echo.Context) {
	ctx.SetRequest(ctx.Request().WithContext(db.Ending(ctx.Request().Context())))
}

func (p *pages) endSession(ctx echo.Context) error {
	cookie, err := ctx.Cookie(request.CookieName(ctx, request.SessionCookie))
	if err != nil {
		return nil // there was none
	}
	return p.Sessions.End(ctx.Request().Context(), cookie.Value)
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
	if err := p.DB.TabletGood(ctx.Request().Context(), tablet.Outfit, tablet.Tablet); err != nil {
		if f := (*fault.Error)(nil); errors.As(err, &f) && f.Code == fault.SignIn {
			return p.signInPage(ctx, http.StatusUnauthorized, f.Message.In(locale.NewVoice(request.LanguageOf(ctx), "", time.UTC)))
		}
		return err
	}
	people, err := p.DB.Lockers(ctx.Request().Context(), tablet.Outfit)
	if err != nil {
		return err
	}
	v := unlockView{Why: why, People: people, Chosen: ctx.FormValue("person"), Next: request.PlaceHere(ctx.FormValue("next"))}
	if ctx.Request().Method == http.MethodGet {
		v.Next = request.PlaceHere(ctx.Request().URL.RequestURI())
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
	who, err := p.DB.Unlock(ctx.Request().Context(), tablet, person, ctx.FormValue("code"))
	if wait := (db.Wait{}); errors.As(err, &wait) {
		return request.TooOften(ctx, wait.For)
	}
	if err != nil {
		return err
	}
	return p.goOn(ctx, who, request.PlaceHere(ctx.FormValue("next")))
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
	who, ok, err := p.Session(ctx)
	if err == nil && (!ok || who.Tablet == uuid.Nil) {
		err = request.ErrSignedOut
	}
	return who, err
}

// goOn keeps a tablet's session with somebody else at it.
func (p *pages) goOn(ctx echo.Context, who db.Session, next string) error {
	cookie, err := ctx.Cookie(request.CookieName(ctx, request.SessionCookie))
	if err != nil {
		return request.ErrSignedOut
	}
	value, err := p.Sessions.Change(ctx.Request().Context(), cookie.Value, who)
	if err != nil {
		return err
	}
	ctx.SetCookie(p.Cookie(ctx, value, request.TabletSession))
	return ctx.Redirect(http.StatusSeeOther, next)
}
