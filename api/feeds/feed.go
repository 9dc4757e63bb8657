package feeds

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

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// The headers of an answer that are the feeds' own.
const (
	// headerEntry is the last entry that an answer goes up to: what to send as
	// since next time.
	headerEntry = "Pullbook-Entry"
	// headerTimeZone is the zone that the times of CSV and XLSX are in.
	headerTimeZone = "Pullbook-Time-Zone"
)

// mimeOf is what each form of feed is sent as.
var mimeOf = map[string]string{
	"csv":   "text/csv; charset=utf-8",
	"jsonl": "application/jsonl; charset=utf-8",
	"xlsx":  "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}

// Route serves the feeds, each of which is an operation of the contract, and what the
// contract has no operation for: the OPTIONS that spreadsheet programs send without
// credentials before they load an address, and feeds that there are not.
func Route(s *request.Service, e *echo.Echo) {
	for name := range allTables {
		e.GET(request.FeedsPrefix+name+".:format", func(ctx echo.Context) error { return Handler{s}.feed(ctx, name) })
	}
	e.OPTIONS(request.FeedsPrefix+"*", func(ctx echo.Context) error {
		ctx.Response().Header().Set("Allow", "GET, HEAD, OPTIONS")
		return ctx.NoContent(http.StatusNoContent)
	})
	e.GET(request.FeedsPrefix+"*", func(ctx echo.Context) error {
		return fault.New(fault.NotFound, "There is no feed %s. There are %s, each as .csv, .jsonl and .xlsx, and season.xlsx and calendar.ics.",
			strings.TrimPrefix(ctx.Request().URL.Path, request.FeedsPrefix), strings.Join(tableNames(), ", "))
	})
}

// Compress compresses what is text where the client takes it.
func Compress(s *request.Service) echo.MiddlewareFunc {
	return middleware.GzipWithConfig(middleware.GzipConfig{
		Level: 1, // most of what can be had, and quickly
		Skipper: func(ctx echo.Context) bool {
			return !s.Settings(ctx).Feed || strings.HasSuffix(ctx.Request().URL.Path, ".xlsx")
		},
	})
}

// feed answers with a table, as csv, jsonl or xlsx.
func (s Handler) feed(ctx echo.Context, name string) error {
	form, table := ctx.Param("format"), allTables[name]
	if mimeOf[form] == "" {
		return fault.New(fault.NotFound, "Feeds come as csv, jsonl and xlsx, not as %s.", form)
	}
	a, err := s.answer(ctx, name, form, hangsOnDay[name] || ctx.QueryParam("season") == reports.LatestSeason, string(request.Principal(ctx).Role))
	if err != nil || a == nil {
		return err
	}
	if form != "jsonl" && ctx.QueryParam("ids") == "no" {
		table = table.without(isID)
	}
	us := wantsUS(ctx, a.steps.Outfit)
	rows := &run{steps: a.steps, table: table, view: view{outfit: a.steps.Outfit, number: a.steps.Number, us: us, role: request.Principal(ctx).Role}}
	defer rows.close()
	err = a.steps.StepBack(ctx.Request().Context(), func(b *ledger.Book) error {
		q, err := s.queryOf(ctx, b)
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
		return s.workbook(ctx, a, rows)
	}
	a.head(ctx)
	if request.HeadAsked(ctx) {
		return ctx.NoContent(http.StatusOK)
	}
	return s.stream(ctx, rows, form, csvForm{mark: request.Flag(ctx, "byte_order_mark", true), comma: ctx.QueryParam("decimal") == "comma"})
}

// hangsOnDay names the feeds that say how likely honey is to ferment, which may be more or
// less another day without any entry.
var hangsOnDay = map[string]bool{"lots": true, "containers": true}

// answer is an answer about to be given.
type answer struct {
	steps *books.Cursor
	tag   string
	mime  string
	file  string
}

// answer looks who asks and whether anything is new; where nothing is, it
// says so and gives no answer to be written. variant is what the answer hangs on
// besides the address.
func (s Handler) answer(ctx echo.Context, name, form string, byDay bool, variant string) (*answer, error) {
	if only, _ := ctx.Get(request.KeyFeed).(string); only != "" && only != name {
		return nil, fault.New(fault.NotYours, "This feed key reads the feed %s and no other.", only)
	}
	steps, err := s.Books.Cursor(ctx.Request().Context(), request.Principal(ctx))
	if err != nil {
		return nil, err
	}
	loc, err := steps.Outfit.Location()
	if err != nil {
		return nil, err
	}
	a := &answer{steps: steps, mime: mimeOf[form]}
	day := s.Now().In(loc).Format("20060102")
	a.file = fmt.Sprintf("pullbook-%s-%d.%s", name, steps.Number, form)
	if !byDay {
		day = ""
	}
	a.tag = tagOf(steps, ctx.Request().URL, day+variant)
	if request.SameTag(ctx.Request().Header.Get("If-None-Match"), a.tag) {
		a.cached(ctx)
		return nil, ctx.NoContent(http.StatusNotModified)
	}
	return a, nil
}

// tagOf names what an answer holds: the end of the book, what was asked, and
// the day where the answer hangs on it. It is weak: the same rows may come
// compressed, or in other bytes from another version of the program.
func tagOf(steps *books.Cursor, u *url.URL, day string) string {
	query := u.Query()
	query.Del("key")
	h := fnv.New64a()
	_, _ = io.WriteString(h, u.Path+"?"+query.Encode()+steps.Outfit.Units)
	return fmt.Sprintf(`W/"%s-%d-%x-%s"`, steps.Outfit.ID.String()[:8], steps.Number, h.Sum64(), day)
}

// cached says how an answer may be kept.
func (a *answer) cached(ctx echo.Context) {
	header := ctx.Response().Header()
	header.Set("ETag", a.tag)
	header.Set("Cache-Control", "private, no-cache")
	// A feed's address may hold its key, which goes nowhere.
	header.Set(echo.HeaderReferrerPolicy, "no-referrer")
	header.Add("Vary", "Authorization")
	header.Set(headerEntry, strconv.FormatInt(a.steps.Number, 10))
}

// head says what an answer is, before its first row.
func (a *answer) head(ctx echo.Context) {
	a.cached(ctx)
	header := ctx.Response().Header()
	header.Set("Content-Type", a.mime)
	header.Set("Content-Disposition", `inline; filename="`+a.file+`"`)
	header.Set(headerTimeZone, a.steps.Outfit.TimeZone)
}

// wantsUS says which units an answer is in: metric unless asked otherwise.
func wantsUS(ctx echo.Context, o db.Outfit) bool {
	asked := ctx.QueryParam("units")
	return asked == "us" || asked == "outfit" && o.Units == "us"
}

// run is an answer at work.
type run struct {
	steps *books.Cursor
	table table
	view  view
	loc   *time.Location
	rowSteps
}

// begin starts the rows; close ends them.
func (r *run) begin(q *query, b *ledger.Book) (err error) {
	r.rowSteps, err = r.table.begin(q, r.at(b))
	return err
}

func (r *run) close() {
	if r.kept != nil {
		r.kept.close()
	}
}

// at is what rows are written from at a step.
func (r *run) at(b *ledger.Book) *view {
	r.view.book = b
	return &r.view
}

func (r *run) names() []string { return r.table.columnNames(r.view.us) }

// stepRows is how many rows are looked for while the book is held, and
// stepBytes about how many bytes of them are written down.
const (
	stepRows  = 500
	stepBytes = 64 << 10
)

// each writes all rows, step by step, and calls between after each step, when
// the book is free.
func (r *run) each(out cells, between func() error) error {
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
func (s Handler) stream(ctx echo.Context, rows *run, form string, asked csvForm) error {
	patience := s.Patience(ctx)
	if err := patience(); err != nil {
		return err
	}
	var out interface {
		cells
		flush(io.Writer) error
	}
	if form == "csv" {
		out = newCSV(rows.loc, rows.names(), asked)
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
		s.Log.Warn("a feed broke off", "request_id", request.RequestIDOf(ctx), "route", ctx.Path(), "error", err)
		panic(http.ErrAbortHandler)
	}
	return err
}
