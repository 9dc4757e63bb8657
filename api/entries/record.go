package entries

import (
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/openapi"
)

// record reads a request's body, makes it an entry of a kind and puts it in the book.
func (s Handler) record(ctx echo.Context, kind ledger.Kind) error {
	e, err := taken(kind, func(in any) error { return s.Contract.Bind(in, ctx) })
	if err != nil {
		return err
	}
	got, err := Put(s.Service, ctx, request.Principal(ctx), e)
	if err != nil {
		return err
	}
	status := http.StatusOK
	if !got.Again {
		status = http.StatusCreated
		ctx.Response().Header().Set("Location", "/v1/entries/"+got.Entry.ID.String())
	}
	return ctx.JSON(status, recordedOut(request.VoiceOf(ctx), got))
}

// Record puts an entry in the book that somebody filled in on a page. value is what a
// program would send, so that a page can record nothing that the contract does not allow.
func Record(s *request.Service, ctx echo.Context, p db.Principal, kind ledger.Kind, value map[string]any) error {
	ways, err := request.RecordedBy()
	if err != nil {
		return err
	}
	content, err := json.Marshal(value)
	if err != nil {
		return fmt.Errorf("an entry from a form: %w", err)
	}
	e, err := taken(kind, func(in any) error { return s.Contract.BindBody(in, ways[kind].Schema, content) })
	if err != nil {
		return err
	}
	_, err = Put(s, ctx, p, e)
	return err
}

// taken makes an entry of what was sent. bind reads that into the contract's type for the
// kind.
func taken(kind ledger.Kind, bind func(any) error) (*ledger.Entry, error) {
	in, body := forms[kind]()
	if err := bind(in); err != nil {
		return nil, err
	}
	if err := takeIn(body, in); err != nil {
		return nil, err
	}
	return sharedIn(in.Shared(), body), nil
}

// sharedIn makes an entry of a body and of what every entry brings with it.
func sharedIn(in *openapi.NewEntry, body ledger.Body) *ledger.Entry {
	return &ledger.Entry{
		ID: in.ID, Kind: body.Kind(), OccurredAt: in.OccurredAt, Replaces: wire.OrZero(in.Replaces), Reason: wire.OrZero(in.Reason),
		AsEntered: wire.OrZero(in.AsEntered), Via: ledger.Via(wire.OrZero(in.Via)), Body: body,
	}
}

// sharedOut is what a client sends of an entry whatever its kind.
func sharedOut(e *ledger.Entry) openapi.NewEntry {
	out := openapi.NewEntry{
		ID: e.ID, OccurredAt: e.OccurredAt, Replaces: wire.OrNil(e.Replaces), Reason: wire.OrNil(e.Reason), Via: wire.OrNil(openapi.Via(e.Via)),
	}
	if len(e.AsEntered) > 0 {
		out.AsEntered = &e.AsEntered
	}
	return out
}

// Put brings an entry into the book if its role may, for programs and pages
// alike.
func Put(s *request.Service, ctx echo.Context, p db.Principal, e *ledger.Entry) (books.Recorded, error) {
	if err := request.MayBring(p.Role, e); err != nil {
		return books.Recorded{}, err
	}
	got, err := s.Books.Append(ctx.Request().Context(), p, e)
	if err == nil && !got.Again {
		count(s, got)
	}
	return got, err
}

// count counts an entry that came into the book, and what is odd about it.
func count(s *request.Service, r books.Recorded) {
	s.Metrics.Entries.WithLabelValues(string(r.Entry.Kind)).Inc()
	for _, f := range r.Reply.Flags {
		s.Metrics.Flags.WithLabelValues(string(f.Code)).Inc()
	}
}

func recordedOut(v message.Voice, r books.Recorded) openapi.Recorded {
	e := r.Entry
	out := openapi.Recorded{
		Number: e.Number, ID: e.ID, Kind: string(e.Kind), RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy,
		Digest: request.Hex(e.Digest), Levels: []openapi.Level{}, Flags: []openapi.Flag{},
	}
	if reading, ok := e.Body.(*ledger.Reading); ok {
		out.MoistureAt20C = reports.MoistureOut(reading.Moisture)
	}
	for _, l := range r.Reply.Levels {
		level := openapi.Level{
			Place:    openapi.Place{Kind: openapi.PlaceKind(l.Place.Kind), ID: &l.Place.ID, Name: &l.Name},
			BeforeKg: wire.Kg(l.BeforeG), AfterKg: wire.Kg(l.AfterG),
		}
		if l.CapacityG > 0 {
			level.CapacityKg = new(wire.Kg(l.CapacityG))
			level.FullPct = new(reports.Percent(l.AfterG, l.CapacityG))
		}
		level.Expected = reports.ExpectedOut(l.Expected)
		out.Levels = append(out.Levels, level)
	}
	for i, f := range r.Reply.Flags {
		out.Flags = append(out.Flags, reports.FlagOut(v, f, r.Reply.Odd[i], r.Reply.Why[i]))
	}
	out.Sentence = wire.OrNil(r.Reply.Sentence.In(v))
	elsewhereOut(v, &out, r.Reply)
	return out
}

// elsewhereOut says what an entry changed beside what it is about.
func elsewhereOut(v message.Voice, out *openapi.Recorded, r books.Reply) {
	flags := func(found []season.OddElsewhere) *[]openapi.Flag {
		if len(found) == 0 {
			return nil
		}
		return new(wire.Each(found, func(x season.OddElsewhere) openapi.Flag {
			x.Flag.Likely = nil // the report of findings has what may lie behind it
			return reports.FlagOut(v, x.Flag, x.Says, nil)
		}))
	}
	out.Opened, out.MoreOpened = flags(r.Opened), wire.OrNil(r.MoreOpened)
	out.Closed, out.MoreClosed = flags(r.Closed), wire.OrNil(r.MoreClosed)
	if len(r.Outdated) > 0 {
		out.OutdatedChecks = new(wire.Each(r.Outdated, func(x season.OutdatedLot) openapi.OutdatedCheck {
			return openapi.OutdatedCheck{EntryID: x.Check.ID, Outdated: x.Why.In(v), Place: openapi.Place{Kind: openapi.PlaceKindLot, ID: &x.Lot, Name: &x.Code}}
		}))
	}
	out.MoreOutdatedChecks = wire.OrNil(r.MoreOutdated)
	if len(r.Superseded) > 0 {
		out.Superseded = new(wire.Each(r.Superseded, reports.SupersededOut))
	}
	if r.Last > 0 {
		out.Together = &openapi.Together{First: r.First, Last: r.Last}
	}
	out.MoreSuperseded, out.SupersededUnfinished = wire.OrNil(r.MoreSuperseded), wire.OrNil(r.SupersededUnfinished)
}
