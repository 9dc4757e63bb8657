package pages

import (
	"math"
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db/books"
	"pullbook/db/progress"
	"pullbook/domain/message"
)

// openingView is the page for whoever comes while the book is opened.
type openingView struct {
	// Says is how far it is, and Left about how long it takes still; empty where nobody
	// knows yet.
	Says, Left string
	// Percent is how much of it is done.
	Percent int
	// Again is the page that was asked for.
	Again string
}

const (
	// waitForOpening is how long a page waits for a book that is opened: most are open sooner.
	waitForOpening = time.Second
	// askAgainAfter is when a browser asks again by itself, in seconds.
	askAgainAfter = 2
)

// patient has a page wait for a book that is opened, and then say how far that is. Whatever is
// no page, or records something, waits to the end.
func patient(ctx echo.Context) echo.Context {
	r := ctx.Request()
	if r.Method == http.MethodGet && forPeople(r) {
		ctx.SetRequest(r.WithContext(books.WithPatience(r.Context(), waitForOpening)))
	}
	return ctx
}

// openingPage says how far the opening of the book is. The browser asks again by itself, by a
// header that needs no script.
func (p *pages) openingPage(ctx echo.Context, f locale.Voice, s progress.State) error {
	ctx.Response().Header().Set("Refresh", strconv.Itoa(askAgainAfter))
	ctx.Response().Header().Set("Retry-After", strconv.Itoa(askAgainAfter))
	return p.page(ctx, http.StatusServiceUnavailable, "opening.html", viewOfOpening(f, s, ctx.Request().URL.RequestURI()))
}

func viewOfOpening(f locale.Voice, s progress.State, again string) openingView {
	v := openingView{Percent: int(100 * s.Share), Again: again}
	if s.Of > 0 {
		v.Says = f.Say("%s of %s entries are read.", s.Done, s.Of)
		if s.Step == progress.Replayed {
			v.Says = f.Say("All entries are read, and %s of %s are in the book.", s.Done, s.Of)
		}
	}
	if s.Left > 0 {
		v.Left = f.Say("It takes about %s more.", message.Plural{N: math.Ceil(s.Left.Seconds()), One: "%s second", Other: "%s seconds"})
	}
	return v
}
