package api

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

// feedQuery is what a feed is narrowed to.
type feedQuery struct {
	season    *ledger.Season
	seasonID  ledger.ID
	yard, lot ledger.ID
	from, to  ledger.Date
	since     *int64
	// goneOnly asks a feed of entries for what was taken back, and no more.
	goneOnly bool
}

// latestSeason asks for the latest season that has begun.
const latestSeason = "latest"

// feedQueryOf reads a request's filters. A season, yard or lot may be named as
// well as given by its id: an address in a spreadsheet is read by people.
// knownParameters has checked the form of the rest.
func (s *Server) feedQueryOf(ctx echo.Context, b *ledger.Book) (q feedQuery, err error) {
	if q.from, q.to, err = datesOf(ctx); err != nil {
		return q, err
	}
	if text := ctx.QueryParam("since"); text != "" {
		n, _ := strconv.ParseInt(text, 10, 64)
		if n > b.Len() {
			return q, parameterFault("since", text, "The book ends with entry %s; nothing can be asked for beyond it.", b.Len())
		}
		q.since = &n
	}
	if text := ctx.QueryParam("season"); text != "" {
		q.seasonID, err = s.namedSeason(b, text)
	}
	if err == nil {
		q.season = ledger.Named[ledger.Season](b, q.seasonID)
	}
	if text := ctx.QueryParam("yard"); err == nil && text != "" {
		q.yard, err = named(b, ledger.KindYard, text)
	}
	if text := ctx.QueryParam("lot"); err == nil && text != "" {
		q.lot, err = named(b, ledger.KindLot, text)
	}
	return q, err
}

// datesOf are the days that a request narrows its answer to; each may be empty.
func datesOf(ctx echo.Context) (from, to ledger.Date, err error) {
	from, to = ledger.Date(ctx.QueryParam("from")), ledger.Date(ctx.QueryParam("to"))
	if from != "" && to != "" && to < from {
		err = parameterFault("to", string(to), "This is earlier than from, %s. Send them the other way round.", string(from))
	}
	return from, to, err
}

// named finds a thing of a kind by its id, its name or its code. What is written like an
// id and is none may still be a name. A name in other case will do where it means one thing.
func named(b *ledger.Book, kind ledger.Kind, text string) (ledger.ID, error) {
	id, noID := uuid.Parse(text)
	if e, _ := b.Entry(b.Root(id)); noID == nil && e != nil && e.Kind == kind {
		return b.Root(id), nil
	}
	var exact, alike []ledger.ID
	var known []string
	b.InForceOf(kind, func(root ledger.ID, _ *ledger.Entry) bool {
		name := b.Name(root)
		if name == text {
			exact = append(exact, root)
		}
		if strings.EqualFold(name, strings.TrimSpace(text)) {
			alike = append(alike, root)
		}
		known = append(known, name)
		return true
	})
	word := string(kind)
	switch {
	case len(exact) == 1:
		return exact[0], nil
	case len(alike) == 1:
		return alike[0], nil
	case len(alike) > 1:
		return ledger.ID{}, parameterFault(word, text, "The outfit has more than one %s of this name: send the id of the one that is meant.", word)
	case noID == nil:
		return ledger.ID{}, parameterFault(word, text, "The outfit has no %s with this id.", word)
	case len(known) == 0:
		return ledger.ID{}, parameterFault(word, text, "The outfit has no %s yet.", word)
	}
	f := fault.Field{Pointer: "query:" + word, Sent: text,
		Message: message.F("The outfit has no such %s. It has %s: send one of these, or its id.", word, strings.Join(known[:min(len(known), mostNamed)], ", "))}
	suggest(&f, nearest(text, known))
	return ledger.ID{}, &fault.Error{Code: fault.Invalid, Message: message.F("A part of the address cannot be used."), Fields: []fault.Field{f}}
}

// namedSeason is named for a season, which may also be asked for as the latest.
func (s *Server) namedSeason(b *ledger.Book, text string) (ledger.ID, error) {
	if text == latestSeason {
		return s.seasonOf(nil, b)
	}
	return named(b, ledger.KindSeason, text)
}

// reported is named for what a report is about. The report itself says of an id that the
// outfit has not got that there is nothing.
func reported(b *ledger.Book, kind ledger.Kind, text string) (ledger.ID, error) {
	found, err := named(b, kind, text)
	if id, noID := uuid.Parse(text); err != nil && noID == nil {
		return id, nil
	}
	return found, err
}

// mostNamed is how many names a refusal lists.
const mostNamed = 12

// holds reports whether an instant is within the dates asked for.
func (q *feedQuery) holds(at time.Time, loc *time.Location) bool {
	if q.season == nil && q.from == "" && q.to == "" {
		return true
	}
	day := ledger.Date(at.In(loc).Format(time.DateOnly))
	return (q.season == nil || q.season.First <= day && day <= q.season.Last) &&
		(q.from == "" || q.from <= day) && (q.to == "" || day <= q.to)
}

// about reports whether an entry is about the yard and lot asked for.
func (q *feedQuery) about(b *ledger.Book, e *ledger.Entry) bool {
	return (q.yard == ledger.ID{} || b.About(e, q.yard)) && (q.lot == ledger.ID{} || b.About(e, q.lot))
}

func (q *feedQuery) isYard(id ledger.ID) bool { return q.yard == ledger.ID{} || q.yard == id }

// isFrom reports whether honey of the yard asked for is in what is made up so.
func (q *feedQuery) isFrom(of []season.Source) bool {
	return q.yard == ledger.ID{} || slices.ContainsFunc(of, func(s season.Source) bool { return s.From.Kind == ledger.PlaceYard && s.From.ID == q.yard })
}

func (q *feedQuery) isLot(id ledger.ID) bool { return q.lot == ledger.ID{} || q.lot == id }
