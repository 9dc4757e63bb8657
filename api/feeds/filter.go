package feeds

import (
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// query is what a feed is narrowed to.
type query struct {
	season    *ledger.Season
	seasonID  ledger.ID
	yard, lot ledger.ID
	from, to  ledger.Date
	since     *int64
	// on is the day of what hangs on a day, such as how likely a lot is to ferment.
	on standard.Date
	// goneOnly asks a feed of entries for what was taken back, and no more.
	goneOnly bool
	// yardsOnly leaves out of the feed of yards the honey of no known pull.
	yardsOnly bool
}

// queryOf reads a request's filters. A season, yard or lot may be named as
// well as given by its id: an address in a spreadsheet is read by people.
// KnownParameters has checked the form of the rest.
func (s Handler) queryOf(ctx echo.Context, b *ledger.Book) (q query, err error) {
	q.on = reports.OnDay(s.Service, b, nil)
	if q.from, q.to, err = request.DatesOf(ctx); err != nil {
		return q, err
	}
	if text := ctx.QueryParam("since"); text != "" {
		q.since = new(request.Number(ctx, "since", 0))
		if *q.since > b.Len() {
			return q, request.BeyondEnd("since", text, b)
		}
	}
	if text := ctx.QueryParam("season"); text != "" {
		q.seasonID, err = reports.NamedSeason(s.Service, b, text)
	}
	if err == nil {
		q.season = ledger.Named[ledger.Season](b, q.seasonID)
	}
	if text := ctx.QueryParam("yard"); err == nil && text != "" {
		q.yard, err = reports.Named(b, ledger.KindYard, text)
	}
	if text := ctx.QueryParam("lot"); err == nil && text != "" {
		q.lot, err = reports.Named(b, ledger.KindLot, text)
	}
	return q, err
}

// holds reports whether an instant is within the dates asked for.
func (q *query) holds(at time.Time, loc *time.Location) bool {
	return q.season == nil && q.from == "" && q.to == "" || q.holdsDay(ledger.Date(at.In(loc).Format(time.DateOnly)))
}

// holdsDay is holds for a day.
func (q *query) holdsDay(day ledger.Date) bool {
	return (q.season == nil || q.season.First <= day && day <= q.season.Last) && (q.from == "" || q.from <= day) && (q.to == "" || day <= q.to)
}

// about reports whether an entry is about the yard and lot asked for.
func (q *query) about(b *ledger.Book, e *ledger.Entry) bool {
	return (q.yard == ledger.ID{} || b.About(e, q.yard)) && (q.lot == ledger.ID{} || b.About(e, q.lot))
}

func (q *query) isYard(id ledger.ID) bool { return q.yard == ledger.ID{} || q.yard == id }

// isFrom reports whether honey of the yard asked for is in what is made up so.
func (q *query) isFrom(of []season.Source) bool {
	return q.yard == ledger.ID{} || slices.ContainsFunc(of, func(s season.Source) bool { return s.From.Kind == ledger.PlaceYard && s.From.ID == q.yard })
}

// isOfLot reports whether a place is the lot asked for, or a container of it.
func (q *query) isOfLot(v *view, place ledger.Place) bool {
	if q.lot == (ledger.ID{}) || v.book.Root(place.ID) == q.lot {
		return true
	}
	fill := ledger.NamedAsKnown[ledger.Fill](v.book, place.ID, v.number)
	return fill != nil && v.book.Root(fill.LotID) == q.lot
}

func (q *query) isLot(id ledger.ID) bool { return q.lot == ledger.ID{} || q.lot == id }
