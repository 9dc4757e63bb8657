package entries

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// record reads a request's body, makes it an entry and puts it in the book.
func record[T any, P interface {
	*T
	Shared() *openapi.NewEntry
}](s *request.Service, ctx echo.Context, entry func(P) (ledger.Body, error)) error {
	in := P(new(T))
	if err := s.Contract.Bind(in, ctx); err != nil {
		return err
	}
	body, err := entry(in)
	if err != nil {
		return err
	}
	got, err := Put(s, ctx, request.Principal(ctx), sharedIn(in.Shared(), body))
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
		s.Metrics.Entries.WithLabelValues(string(e.Kind)).Inc()
		for _, f := range got.Reply.Flags {
			s.Metrics.Flags.WithLabelValues(string(f.Code)).Inc()
		}
	}
	return got, err
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
	return out
}
