package pages

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/plans"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// chooseLanguage keeps the reader's choice on this device and goes back to where
// it was made.
func (p *pages) chooseLanguage(ctx echo.Context) error {
	ctx.SetCookie(&http.Cookie{
		Name: request.CookieName(ctx, request.LanguageCookie), Value: locale.LanguageFor(ctx.FormValue("language")).Lang, Path: "/",
		Expires: p.Now().Add(365 * 24 * time.Hour), HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: ctx.Scheme() == "https",
	})
	return ctx.Redirect(http.StatusSeeOther, request.PlaceHere(ctx.FormValue("back")))
}

// pages is what people look at: the service's answers as HTML.
//
// Another page joins in four steps: a template in web/pages that defines
// "title" and "content"; a method on *pages that makes its view, which is
// plain strings, and ends in p.page(ctx, http.StatusOK, "name.html", view); a
// line in RoutePage; and a line in nav. A page about an outfit's book is given by
// p.kept, which refuses who is not signed in and makes it anew only where
// something was recorded since. It looks at the book in a viewOf, which has no words.
type pages struct {
	*request.Service
	*files
	plans plans.Handler
	// made keeps the pages that are the same for everybody, by name.
	made sync.Map
	// recorded is how entries of each kind come over the contract.
	recorded map[ledger.Kind]request.Recorded
	// served are the routes of pages that there are.
	served map[string]bool
}

const docsPath = "/docs"

// RoutePage serves what people look at.
func RoutePage(s *request.Service, h plans.Handler, e *echo.Echo) {
	p := newPages(s, h)
	problem := e.HTTPErrorHandler
	e.HTTPErrorHandler = func(err error, ctx echo.Context) {
		if !forPeople(ctx.Request()) {
			problem(err, ctx)
			return
		}
		p.problemPage(err, ctx)
	}
	squeezed := middleware.Gzip()
	e.GET("/", p.today, squeezed)
	e.GET(seasonPath, p.season, squeezed)
	p.routeYards(e, squeezed)
	e.GET(tanksPath, p.tanks, squeezed)
	e.GET(tanksDayPath, p.tanksDayChart, squeezed)
	e.GET(tankRoute, p.tank, squeezed)
	e.GET(tankChartRoute, p.tankChart, squeezed)
	e.GET(findingsPath, p.findings, squeezed)
	e.POST(acceptPath, p.acceptFinding)
	e.GET(balancePath, p.balancePage, squeezed)
	e.GET(dryingPath, p.dryingPage, squeezed)
	e.GET(instrumentsPath, p.instrumentsPage, squeezed)
	p.routeSeasonPictures(e, squeezed)
	e.GET(calculatorsPath, p.calculatorsPage, squeezed)
	e.GET(heatChartPath, p.heatChart, squeezed)
	p.routePlans(e, squeezed)
	p.routeRecall(e, squeezed)
	p.routeSheet(e, squeezed)
	p.routeLots(e, squeezed)
	p.routeDispatches(e, squeezed)
	p.routePrint(e, squeezed)
	e.GET(recordPath, p.recordPage, squeezed)
	e.GET(recordSignInPath, p.recordSignIn)
	e.GET(workerPath, p.worker, squeezed)
	e.GET(manifestPath, p.manifest)
	e.POST(request.LanguagePath, p.chooseLanguage)
	e.POST(request.SignInPath, p.signIn)
	e.POST("/sign-out", p.signOut)
	e.POST("/unlock", p.unlock)
	e.POST("/lock", p.lock)
	p.routeTrust(e, squeezed)
	p.routePeople(e, squeezed)
	p.routeFeeds(e, squeezed)
	p.routeDeliveries(e, squeezed)
	p.routeEntries(e, squeezed)
	p.routeLimits(e, squeezed)
	p.routeImport(e, squeezed)
	e.GET(settingsPath, p.settings, squeezed)
	e.GET(docsPath, p.contractFront, squeezed)
	e.GET(docsPath+"/:resource", p.contractResource, squeezed)
	e.GET("/openapi.yaml", p.contractYAML, squeezed)
	e.GET("/problems/:code", p.problemType)
	e.GET("/robots.txt", func(ctx echo.Context) error {
		return ctx.String(http.StatusOK, "User-agent: *\nDisallow: /\n")
	})
	e.GET("/assets/:name", p.asset, squeezed)
	for _, r := range e.Routes() {
		if r.Method == http.MethodGet {
			p.served[r.Path] = true
		}
	}
}

func newPages(s *request.Service, h plans.Handler) *pages {
	p := &pages{Service: s, files: readFiles(), plans: h, served: map[string]bool{}}
	var err error
	if p.recorded, err = request.RecordedBy(); err != nil {
		panic(err) // the contract is part of the program
	}
	return p
}

// PageKey is where a page's answer is kept: by who asks, in which language.
func (p *pages) pageKey(ctx echo.Context, who db.Principal, address string) request.AnswerKey {
	return request.AnswerKey{Outfit: who.Outfit, Name: who.Name, Uri: request.LanguageOf(ctx).Tag() + " " + address}
}

func (p *pages) asset(ctx echo.Context) error {
	a, ok := p.assets[ctx.Request().URL.Path]
	if !ok {
		return echo.ErrNotFound
	}
	ctx.Response().Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	return ctx.Blob(http.StatusOK, a.mime, a.body)
}

// screen is what the layout needs around a page's own view.
type screen struct {
	Ways ways
	// Outfit and Person are empty where nobody is signed in.
	Outfit, Person string
	// Room is of the disk that keeps the book.
	Room request.Room
	// AsKnown is as of when the page shows the book, while the database is away.
	AsKnown string
	// Version is the program's.
	Version string
	// Tablet: the page is on a shed's tablet, which is locked and not signed out.
	Tablet bool
	// Tag is the page's language for browsers; Languages the others to choose.
	Tag       string
	Languages []request.LanguageChoice
	// Back is the page's own address.
	Back string
	View any
}

// page answers with a page.
func (p *pages) page(ctx echo.Context, status int, name string, view any) error {
	body, err := p.render(ctx, name, view)
	if err != nil {
		return err
	}
	return sendPage(ctx, status, body)
}

func (p *pages) render(ctx echo.Context, name string, view any) ([]byte, error) {
	t := request.LanguageOf(ctx)
	out := screen{View: view, Tag: t.Tag(), Languages: request.LanguageChoices(t), Back: ctx.Request().URL.RequestURI(), Room: p.DiskRoom()}
	var role db.Role
	if at, known := request.KnownAt(ctx); known {
		out.AsKnown = locale.NewVoice(t, "", at.Location()).Minute(at)
	}
	if c, ok := ctx.Get(callerKey).(caller); ok {
		out.Outfit, out.Person, out.Tablet, out.Version, role = c.outfit, c.person, c.tablet, p.Version, c.role
	}
	out.Ways = p.waysFrom(ctx, role)
	var body bytes.Buffer
	if err := p.templates[t.Lang][name].ExecuteTemplate(&body, "layout.html", out); err != nil {
		return nil, fmt.Errorf("page %s: %w", name, err)
	}
	return body.Bytes(), nil
}

// viewOf takes what a page shows from a book. It has no reader's voice: while a book is looked
// at, nothing is put into words.
type viewOf func(db.Principal, *ledger.Book) (wording, error)

// wording makes a page's view of what was taken from a book that is free again.
type wording func(locale.Voice) any

// kept answers with a page about the outfit's book. While nothing was recorded
// and the day is the same, the page that was made before is given again.
func (p *pages) kept(ctx echo.Context, name string, view viewOf) error {
	return p.keptPage(ctx, name, request.AsItIs, view)
}

// keptAsOf is kept of the book as it was known when the request asks for.
func (p *pages) keptAsOf(ctx echo.Context, name string, view viewOf) error {
	return p.keptPage(ctx, name, request.AsOf, view)
}

func (p *pages) keptPage(ctx echo.Context, name string, as request.AsOfWhen, view viewOf) error {
	return p.keptAs(ctx, as, func(who db.Principal, b *ledger.Book) (written, error) {
		words, err := view(who, b)
		return func(f locale.Voice) ([]byte, error) { return p.render(ctx, name, words(f)) }, err
	}, func(body []byte) error { return sendPage(ctx, http.StatusOK, body) })
}

// written writes an answer from what was taken from a book that is free again.
type written func(locale.Voice) ([]byte, error)

// keptChart is kept for a drawing.
func (p *pages) keptChart(ctx echo.Context, view func(*ledger.Book) (written, error)) error {
	return p.keptAs(ctx, request.AsItIs, func(_ db.Principal, b *ledger.Book) (written, error) {
		return view(b)
	}, func(svg []byte) error { return sendChart(ctx, svg) })
}

// keptAs looks at the book in view, and has what it gives written once the book
// is free again.
func (p *pages) keptAs(ctx echo.Context, as request.AsOfWhen, view func(db.Principal, *ledger.Book) (written, error), send func([]byte) error) error {
	var out request.Answer
	var had bool
	var key request.AnswerKey
	var f locale.Voice
	var toWrite written
	err := p.lookWhen(ctx, func(who db.Principal, b *ledger.Book) (int64, error) {
		// What a page and its frame offer hangs on the role and on whose device
		// it is.
		known, _ := request.KnownAt(ctx)
		key = p.pageKey(ctx, who, fmt.Sprint(who.Role, ctx.Get(callerKey).(caller).tablet, p.DiskRoom().Sign(), p.backupsSign(), known.Unix(), ctx.Request().URL.RequestURI()))
		at := request.Moment{Entry: b.Len(), Day: p.Now().In(b.Location()).Format("20060102")}
		if out, had = p.Answers.Get(key, at); had {
			return b.Len(), nil
		}
		out.At = at
		return as(ctx, b)
	}, func(who db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		if !had {
			f = request.VoiceFor(ctx, o, b)
			toWrite, err = view(who, b)
		}
		return err
	})
	if err != nil {
		return err
	}
	if toWrite != nil {
		if out.Body, err = toWrite(f); err != nil {
			return err
		}
		p.Answers.Put(key, out)
	}
	return send(out.Body)
}

// sendPage answers with a page that no cache keeps: on a shared tablet, going
// back after signing out must show nothing.
func sendPage(ctx echo.Context, status int, body []byte) error {
	ctx.Response().Header().Set("Cache-Control", "no-store")
	ctx.Response().Header().Set("X-Robots-Tag", "noindex")
	ctx.Response().Header().Set("Content-Language", request.LanguageOf(ctx).Lang)
	return ctx.HTMLBlob(status, body)
}

// caller is who a page is for, as its frame shows it.
type caller struct {
	outfit, person string
	role           db.Role
	tablet         bool
}

const callerKey = "caller"

// look lets f look at the book of the outfit that the visitor is signed in to.
func (p *pages) look(ctx echo.Context, f func(db.Principal, db.Outfit, *ledger.Book) error) error {
	return p.lookWhen(ctx, func(_ db.Principal, b *ledger.Book) (int64, error) { return b.Len(), nil }, f)
}

// lookAsOf is look at the book as it was known when the request asks for.
func (p *pages) lookAsOf(ctx echo.Context, f func(db.Principal, db.Outfit, *ledger.Book) error) error {
	return p.lookWhen(ctx, func(_ db.Principal, b *ledger.Book) (int64, error) { return request.AsOf(ctx, b) }, f)
}

// lookWhen is look at the book as it was when its last entry was the one whose number
// when gives.
func (p *pages) lookWhen(ctx echo.Context, when func(db.Principal, *ledger.Book) (int64, error), f func(db.Principal, db.Outfit, *ledger.Book) error) error {
	who, err := p.Visitor(ctx)
	if err != nil {
		return err
	}
	session, _, err := p.Session(ctx)
	if err != nil {
		return err
	}
	return p.Books.ReadAsKnown(patient(ctx).Request().Context(), who, func(o db.Outfit, b *ledger.Book) (int64, error) {
		ctx.Set(callerKey, caller{o.Name, who.Name, who.Role, session.Tablet != uuid.Nil})
		return when(who, b)
	}, func(o db.Outfit, b *ledger.Book) error { return f(who, o, b) })
}

// manage is look for a manager.
func (p *pages) manage(ctx echo.Context, f func(db.Principal, db.Outfit, *ledger.Book) error) error {
	return p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) error {
		if who.Role != db.Manager {
			return errManagers
		}
		return f(who, o, b)
	})
}

var errManagers = fault.New(fault.NotYours, "Only a manager may see this page.")

// forPeople reports whether a failed request gets a page rather than problem
// details: it was a browser's, and not for the API.
func forPeople(r *http.Request) bool {
	return !strings.HasPrefix(r.URL.Path, "/v1/") && strings.Contains(r.Header.Get("Accept"), "text/html")
}

const problemTime = 5 * time.Second

// problemPage says on a page what went wrong. Who has to sign in is offered to.
func (p *pages) problemPage(err error, ctx echo.Context) {
	if ctx.Response().Committed {
		return
	}
	f := p.FaultOf(err, ctx)
	status := request.ProblemOf[f.Code].Status
	request.SayWhenAgain(f.Code, ctx.Response().Header())
	// The request's time is over once its handler is; looking up whose page this
	// is has a little of its own.
	c, done := context.WithTimeout(context.WithoutCancel(ctx.Request().Context()), problemTime)
	defer done()
	ctx.SetRequest(ctx.Request().WithContext(c))
	voice := locale.NewVoice(request.LanguageOf(ctx), "", time.UTC)
	text := f.Message.In(voice)
	opening := new(books.StillOpening)
	switch session, ok, _ := p.Session(ctx); {
	case errors.As(err, &opening):
		err = p.openingPage(ctx, voice, opening.State)
	case askedToSignIn(f.Code, ctx) && ok && session.Tablet != uuid.Nil:
		err = p.unlockPage(ctx, status, session, text)
	case askedToSignIn(f.Code, ctx):
		err = p.signInPage(ctx, status, text)
	default:
		view := problemView{Title: voice.Say(request.ProblemOf[f.Code].Title), Message: text, RequestID: request.RequestIDOf(ctx)}
		for _, field := range f.Fields[:min(len(f.Fields), request.MostComplaints)] {
			pointer, asked := strings.CutPrefix(field.Pointer, "query:")
			if asked {
				view.Title, view.Without = voice.Say("The page cannot be shown as it was asked for"), ctx.Request().URL.Path
			}
			view.Fields = append(view.Fields, problemField{message.Shortened(pointer, 500), field.Message.In(voice)})
		}
		err = p.page(ctx, status, "problem.html", view)
	}
	if err != nil {
		p.Service.Problem(errors.Join(err, f), ctx)
	}
}

// askedToSignIn reports whether a fault is answered with the form to sign in by:
// it was one of signing in, or of trying to too often.
func askedToSignIn(code fault.Code, ctx echo.Context) bool {
	return code == fault.SignIn || code == fault.TooOften && ctx.Request().Method == http.MethodPost
}

type problemView struct {
	Title, Message string
	Fields         []problemField
	RequestID      string
	// Without is the page without what was asked of it; empty where that is not what is wrong.
	Without string
}

type problemField struct{ Pointer, Message string }

var codeSpan = regexp.MustCompile("`([^`]*)`")

// prose writes text with `code` and blank lines between paragraphs as HTML.
func prose(text string) template.HTML {
	var out strings.Builder
	for paragraph := range strings.SplitSeq(strings.TrimSpace(text), "\n\n") {
		safe := template.HTMLEscapeString(paragraph)
		out.WriteString("<p>" + codeSpan.ReplaceAllString(safe, "<code>$1</code>") + "</p>")
	}
	return template.HTML(out.String())
}

var betweenNames = strings.NewReplacer("/", "/<wbr>", ".", "<wbr>.")

// address writes the path of an operation as HTML that a narrow column breaks between its
// names, and not within them.
func address(path string) template.HTML {
	return template.HTML(betweenNames.Replace(template.HTMLEscapeString(path)))
}

// verify answers anybody who holds a sheet. It takes a place among the requests
// served at once, as all do; and a book is read at an earlier entry only for
// a seal that is genuine, and once until the book moves on.
func (p *pages) verify(ctx echo.Context) error {
	answered, err := p.verified(ctx)
	if err != nil {
		return err
	}
	if forPeople(ctx.Request()) {
		return p.page(ctx, http.StatusOK, "verify.html", answered)
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	return ctx.String(http.StatusOK, answered+"\n")
}

func (p *pages) verified(ctx echo.Context) (string, error) {
	token := ctx.Param("token")
	s, ok := certificate.ParseSeal(token)
	if !ok {
		return certificate.Unknown, nil
	}
	key := request.AnswerKey{Outfit: s.Outfit, Uri: certificate.VerifyPath + token}
	var at request.Moment
	var had request.Answer
	var known bool
	var standing certificate.Standing
	err := p.Books.Verify(ctx.Request().Context(), s.Outfit, func(b *ledger.Book) (err error) {
		at = request.Moment{Entry: b.Len()}
		if had, known = p.Answers.Get(key, at); !known {
			standing, err = s.StandingOf(b)
		}
		return err
	})
	if f := (*fault.Error)(nil); errors.As(err, &f) && f.Code == fault.NotFound {
		return certificate.Unknown, nil
	}
	if err != nil || known {
		return string(had.Body), err
	}
	result, err := standing()
	if err == nil && result != certificate.Unknown {
		p.Answers.Put(key, request.Answer{At: at, Body: []byte(result)})
	}
	return result, err
}
