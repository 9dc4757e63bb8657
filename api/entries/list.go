package entries

import (
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
)

// filter is what a list is narrowed to. KnownParameters has checked that the list
// has each parameter, and its form.
type filter struct {
	about    []ledger.ID
	from, to ledger.Date
	season   *ledger.Season
	after    int64
	limit    int
	all      bool
}

func (s Handler) filterOf(ctx echo.Context, b *ledger.Book) (filter, error) {
	f := filter{
		after: request.Number(ctx, "after", 0), limit: int(request.Number(ctx, "limit", request.DefaultLimit)), all: request.Flag(ctx, "all", false),
	}
	var err error
	if f.from, f.to, err = request.DatesOf(ctx); err != nil {
		return f, err
	}
	for _, kind := range []ledger.Kind{ledger.KindYard, ledger.KindTank, ledger.KindLot, ledger.KindRun, ledger.KindPull} {
		if text := ctx.QueryParam(string(kind)); text != "" {
			id, err := reports.Named(b, kind, text)
			if err != nil {
				return f, err
			}
			f.about = append(f.about, id)
		}
	}
	if text := ctx.QueryParam("season"); text != "" {
		id, err := reports.NamedSeason(s.Service, b, text)
		if err != nil {
			return f, err
		}
		f.season = ledger.Named[ledger.Season](b, id)
	}
	return f, nil
}

func (f filter) takes(b *ledger.Book, e *ledger.Entry) bool {
	day := ledger.Date(e.OccurredAt.In(b.Location()).Format(time.DateOnly))
	if f.from != "" && day < f.from || f.to != "" && day > f.to {
		return false
	}
	if f.season != nil && !f.season.Holds(e.OccurredAt, b.Location()) {
		return false
	}
	for _, id := range f.about {
		if !b.About(e, id) {
			return false
		}
	}
	return f.all || !b.Overtaken(e.ID) && !b.TakenBack(e.ID)
}

// list answers with the entries of a kind, in order of their numbers.
func (s Handler) list(ctx echo.Context, kind ledger.Kind) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		f, err := s.filterOf(ctx, b)
		if err != nil {
			return nil, err
		}
		out := []listed{}
		for e := range b.RecordedOf(kind, f.after) {
			if !f.takes(b, e) {
				continue
			}
			if len(out) == f.limit {
				request.NextPage(ctx, out[len(out)-1].added.Number)
				break
			}
			item, err := listedOut(b, e)
			if err != nil {
				return nil, err
			}
			out = append(out, item)
		}
		return out, markSuperseded(b, kind, out)
	})
}

// markSuperseded marks checks and dispatches that rest on figures which changed
// since.
func markSuperseded(b *ledger.Book, kind ledger.Kind, listed []listed) error {
	if kind != ledger.KindCheck && kind != ledger.KindDispatch {
		return nil
	}
	by := map[ledger.ID]bool{}
	for _, l := range listed {
		by[l.id] = true
	}
	found, err := reports.SupersededBy(b, by)
	for i, l := range listed {
		listed[i].added.Superseded = found[l.id]
	}
	return err
}
