package api

import (
	"fmt"
	"hash/fnv"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// feedsPrefix begins the addresses that spreadsheets refresh from.
const feedsPrefix = "/feeds/"

// The headers of an answer that are the feeds' own.
const (
	// headerEntry is the last entry that an answer goes up to: what to send as
	// since next time.
	headerEntry = "Pullbook-Entry"
	// headerTimeZone is the zone that the times of CSV and XLSX are in.
	headerTimeZone = "Pullbook-Time-Zone"
)

// feedMIME is what each form of feed is sent as.
var feedMIME = map[string]string{
	"csv":   "text/csv; charset=utf-8",
	"jsonl": "application/jsonl; charset=utf-8",
	"xlsx":  "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}

// routeFeeds answers what the contract has no operation for: the OPTIONS that
// spreadsheet programs send without credentials before they load an address,
// and feeds that there are not.
func (s *Server) routeFeeds(e *echo.Echo) {
	e.OPTIONS(feedsPrefix+"*", func(ctx echo.Context) error {
		ctx.Response().Header().Set("Allow", "GET, HEAD, OPTIONS")
		return ctx.NoContent(http.StatusNoContent)
	})
	e.GET(feedsPrefix+"*", func(ctx echo.Context) error {
		return fault.New(fault.NotFound, "There is no feed %s. There are %s, each as .csv, .jsonl and .xlsx, and season.xlsx.",
			strings.TrimPrefix(ctx.Request().URL.Path, feedsPrefix), strings.Join(feedNames(), ", "))
	})
}

// compressFeeds compresses what is text where the client takes it.
func (s *Server) compressFeeds() echo.MiddlewareFunc {
	return middleware.GzipWithConfig(middleware.GzipConfig{
		Level: 1, // most of what can be had, and quickly
		Skipper: func(ctx echo.Context) bool {
			return !s.settings(ctx).feed || strings.HasSuffix(ctx.Request().URL.Path, ".xlsx")
		},
	})
}

// feed answers with a table, as csv, jsonl or xlsx.
func (s *Server) feed(ctx echo.Context, name string) error {
	form, table := ctx.Param("format"), feedTables[name]
	if feedMIME[form] == "" {
		return fault.New(fault.NotFound, "Feeds come as csv, jsonl and xlsx, not as %s.", form)
	}
	a, err := s.feedAnswer(ctx, name, form, ctx.QueryParam("season") == latestSeason, string(principal(ctx).Role))
	if err != nil || a == nil {
		return err
	}
	us, err := wantsUS(ctx, a.steps.Outfit)
	if err != nil {
		return err
	}
	rows := &feedRun{steps: a.steps, table: table, view: feedView{outfit: a.steps.Outfit, number: a.steps.Number, us: us, role: principal(ctx).Role}}
	defer rows.close()
	err = a.steps.StepBack(ctx.Request().Context(), func(b *ledger.Book) error {
		q, err := s.feedQueryOf(ctx, b)
		if err != nil {
			return err
		}
		rows.loc = b.Location()
		return rows.begin(&q, b)
	})
	if err != nil {
		return err
	}
	if form == "xlsx" {
		return s.feedWorkbook(ctx, a, rows)
	}
	a.head(ctx)
	if headAsked(ctx) {
		return ctx.NoContent(http.StatusOK)
	}
	bom, err := strconv.ParseBool(ctx.QueryParam("byte_order_mark"))
	return s.stream(ctx, rows, form, bom || err != nil)
}

// feedAnswer is an answer about to be given.
type feedAnswer struct {
	steps *books.Cursor
	tag   string
	mime  string
	file  string
}

// feedAnswer looks who asks and whether anything is new; where nothing is, it
// says so and gives no answer to be written. variant is what the answer hangs on
// besides the address.
func (s *Server) feedAnswer(ctx echo.Context, name, form string, byDay bool, variant string) (*feedAnswer, error) {
	if only, _ := ctx.Get(keyFeed).(string); only != "" && only != name {
		return nil, fault.New(fault.NotYours, "This feed key reads the feed %s and no other.", only)
	}
	steps, err := s.books.Cursor(ctx.Request().Context(), principal(ctx))
	if err != nil {
		return nil, err
	}
	loc, err := steps.Outfit.Location()
	if err != nil {
		return nil, err
	}
	a := &feedAnswer{steps: steps, mime: feedMIME[form]}
	day := s.Now().In(loc).Format("20060102")
	a.file = fmt.Sprintf("pullbook-%s-%d.%s", name, steps.Number, form)
	if !byDay {
		day = ""
	}
	a.tag = feedTag(steps, ctx.Request().URL, day+variant)
	if sameTag(ctx.Request().Header.Get("If-None-Match"), a.tag) {
		a.cached(ctx)
		return nil, ctx.NoContent(http.StatusNotModified)
	}
	return a, nil
}

// feedTag names what an answer holds: the end of the book, what was asked, and
// the day where the answer hangs on it. It is weak: the same rows may come
// compressed, or in other bytes from another version of the program.
func feedTag(steps *books.Cursor, u *url.URL, day string) string {
	query := u.Query()
	query.Del("key")
	h := fnv.New64a()
	_, _ = io.WriteString(h, u.Path+"?"+query.Encode()+steps.Outfit.Units)
	return fmt.Sprintf(`W/"%s-%d-%x-%s"`, steps.Outfit.ID.String()[:8], steps.Number, h.Sum64(), day)
}

// cached says how an answer may be kept.
func (a *feedAnswer) cached(ctx echo.Context) {
	header := ctx.Response().Header()
	header.Set("ETag", a.tag)
	header.Set("Cache-Control", "private, no-cache")
	// A feed's address may hold its key, which goes nowhere.
	header.Set(echo.HeaderReferrerPolicy, "no-referrer")
	header.Add("Vary", "Authorization")
	header.Set(headerEntry, strconv.FormatInt(a.steps.Number, 10))
}

// head says what an answer is, before its first row.
func (a *feedAnswer) head(ctx echo.Context) {
	a.cached(ctx)
	header := ctx.Response().Header()
	header.Set("Content-Type", a.mime)
	header.Set("Content-Disposition", `inline; filename="`+a.file+`"`)
	header.Set(headerTimeZone, a.steps.Outfit.TimeZone)
}

// wantsUS says which units an answer is in: metric unless asked otherwise.
func wantsUS(ctx echo.Context, o db.Outfit) (bool, error) {
	switch units := ctx.QueryParam("units"); units {
	case "", "metric":
		return false, nil
	case "us":
		return true, nil
	case "outfit":
		return o.Units == "us", nil
	default:
		return false, parameterFault("units", units, "Units are metric, us, or outfit for the outfit's own.")
	}
}

// feedRun is an answer at work.
type feedRun struct {
	steps *books.Cursor
	table feedTable
	view  feedView
	loc   *time.Location
	feedSteps
}

// begin starts the rows; close ends them.
func (r *feedRun) begin(q *feedQuery, b *ledger.Book) (err error) {
	r.feedSteps, err = r.table.begin(q, r.at(b))
	return err
}

func (r *feedRun) close() {
	if r.kept != nil {
		r.kept.close()
	}
}

// at is what rows are written from at a step.
func (r *feedRun) at(b *ledger.Book) *feedView {
	r.view.book = b
	return &r.view
}

func (r *feedRun) names() []string { return r.table.columnNames(r.view.us) }

// stepRows is how many rows are looked for while the book is held, and
// stepBytes about how many bytes of them are written down.
const (
	stepRows  = 500
	stepBytes = 64 << 10
)

// each writes all rows, step by step, and calls between after each step, when
// the book is free.
func (r *feedRun) each(out cells, between func() error) error {
	for more := true; more; {
		err := r.steps.Step(func(b *ledger.Book) (err error) {
			more, err = r.next(r.at(b), out, stepRows)
			return err
		})
		if err == nil {
			err = between()
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// stream writes a feed as it goes along. What fails once a part is sent can
// only be told by breaking off: the client sees an answer that did not end.
func (s *Server) stream(ctx echo.Context, rows *feedRun, form string, bom bool) error {
	patience := s.patience(ctx)
	if err := patience(); err != nil {
		return err
	}
	var out interface {
		cells
		flush(io.Writer) error
	}
	if form == "csv" {
		out = newCSV(rows.loc, rows.names(), bom)
	} else {
		out = newJSONL(rows.loc, rows.names())
	}
	err := rows.each(out, func() error {
		if err := out.flush(ctx.Response()); err != nil {
			return err
		}
		return patience()
	})
	if err != nil && ctx.Response().Committed {
		s.Log.Warn("a feed broke off", "request_id", requestIDOf(ctx), "route", ctx.Path(), "error", err)
		panic(http.ErrAbortHandler)
	}
	return err
}

// patience lets an answer go on for as long as its reader takes some of it
// within the time that a request may take. It is called after each part.
func (s *Server) patience(ctx echo.Context) func() error {
	controller := http.NewResponseController(ctx.Response())
	return func() error {
		until := time.Now().Add(s.RequestTimeout)
		if err := controller.SetWriteDeadline(until); err != nil {
			return err
		}
		return controller.SetReadDeadline(time.Time{})
	}
}

type headKey struct{}

// headAsked reports whether only the head of an answer was asked for.
func headAsked(ctx echo.Context) bool {
	asked, _ := ctx.Request().Context().Value(headKey{}).(bool)
	return asked
}
