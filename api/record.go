package api

import (
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/chance"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// record reads a request's body, makes it an entry and puts it in the book.
func record[T any, P interface {
	*T
	Shared() *openapi.NewEntry
}](s *Server, ctx echo.Context, entry func(P) (ledger.Body, error)) error {
	in := P(new(T))
	if err := s.contract.Bind(in, ctx); err != nil {
		return err
	}
	body, err := entry(in)
	if err != nil {
		return err
	}
	got, err := s.put(ctx, principal(ctx), sharedIn(in.Shared(), body))
	if err != nil {
		return err
	}
	status := http.StatusOK
	if !got.Again {
		status = http.StatusCreated
		ctx.Response().Header().Set("Location", "/v1/entries/"+got.Entry.ID.String())
	}
	return ctx.JSON(status, recordedOut(voiceOf(ctx), got))
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

// put brings an entry into the book if its role may, for programs and pages
// alike.
func (s *Server) put(ctx echo.Context, p db.Principal, e *ledger.Entry) (books.Recorded, error) {
	if err := mayBring(p.Role, e); err != nil {
		return books.Recorded{}, err
	}
	got, err := s.books.Append(ctx.Request().Context(), p, e)
	if err == nil && !got.Again {
		s.metrics.entries.WithLabelValues(string(e.Kind)).Inc()
		for _, f := range got.Reply.Flags {
			s.metrics.flags.WithLabelValues(string(f.Code)).Inc()
		}
	}
	return got, err
}

func recordedOut(v message.Voice, r books.Recorded) openapi.Recorded {
	e := r.Entry
	out := openapi.Recorded{
		Number: e.Number, ID: e.ID, Kind: string(e.Kind), RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy,
		Digest: hexText(e.Digest), Levels: []openapi.Level{}, Flags: []openapi.Flag{},
	}
	if reading, ok := e.Body.(*ledger.Reading); ok {
		out.MoistureAt20C = moistureOut(reading.Moisture)
	}
	for _, l := range r.Reply.Levels {
		level := openapi.Level{
			Place:    openapi.Place{Kind: openapi.PlaceKind(l.Place.Kind), ID: &l.Place.ID, Name: &l.Name},
			BeforeKg: wire.Kg(l.BeforeG), AfterKg: wire.Kg(l.AfterG),
		}
		if l.CapacityG > 0 {
			level.CapacityKg = new(wire.Kg(l.CapacityG))
			level.FullPct = new(percent(l.AfterG, l.CapacityG))
		}
		level.Expected = expectedOut(l.Expected)
		out.Levels = append(out.Levels, level)
	}
	for i, f := range r.Reply.Flags {
		out.Flags = append(out.Flags, flagOut(v, f, r.Reply.Odd[i], r.Reply.Why[i]))
	}
	out.Sentence = wire.OrNil(r.Reply.Sentence.In(v))
	return out
}

// mostListed is how many of the entries that a flag is also about are listed: a check
// of an instrument may put every reading of a book in doubt.
const mostListed = 100

func flagOut(v message.Voice, f ledger.Flag, sentence message.Text, why []message.Text) openapi.Flag {
	out := openapi.Flag{Code: string(f.Code), EntryID: f.Entry, Sentence: sentence.In(v)}
	if f.On.Kind != "" {
		out.Place = &openapi.Place{Kind: openapi.PlaceKind(f.On.Kind), ID: &f.On.ID}
	}
	if f.Unit != "" {
		out.Unit, out.Expected, out.Found = &f.Unit, &f.Expected, &f.Found
	}
	if f.MassG != 0 {
		out.MassKg = new(wire.Kg(f.MassG))
	}
	out.Probability, out.Chance = wire.OrNil(f.Unlikely), wire.OrNil(chance.InWords(f.Unlikely).In(v))
	if listed := slices.Clone(f.Entries[:min(len(f.Entries), mostListed)]); len(listed) > 0 {
		out.Entries, out.MoreEntries = &listed, wire.OrNil(len(f.Entries)-len(listed))
	}
	if len(f.Likely) > 0 {
		out.Explanations = new(explanationsOut(v, f.Likely, why))
	}
	return out
}

func explanationsOut(v message.Voice, likely []ledger.Explanation, why []message.Text) []openapi.Explanation {
	out := make([]openapi.Explanation, len(likely))
	for i, e := range likely {
		out[i] = openapi.Explanation{Code: string(e.Why), Sentence: why[i].In(v), Value: wire.OrNil(e.Value), EntryID: wire.OrNil(e.Entry)}
		if e.Place.Kind != "" {
			out[i].Place = &openapi.Place{Kind: openapi.PlaceKind(e.Place.Kind), ID: &e.Place.ID}
		}
	}
	return out
}

// expectedOut is what the book expects of honey: an estimate beside what was
// measured.
func expectedOut(b *ledger.Belief) *openapi.Expected {
	if b == nil {
		return nil
	}
	hmf, diastase := b.HMF(), b.Diastase()
	return &openapi.Expected{
		MoisturePct: b.Moisture.Mean, MoistureStdUncertaintyPct: b.Moisture.StandardDeviation(),
		HmfMgPerKg: hmf.Mean, HmfStdUncertaintyMgPerKg: hmf.StandardDeviation(),
		DiastaseGothe: diastase.Mean, DiastaseStdUncertaintyGothe: diastase.StandardDeviation(),
	}
}

func moistureOut(m *ledger.MoistureReading) *openapi.MoistureAt20C {
	if m == nil {
		return nil
	}
	return &openapi.MoistureAt20C{MoisturePct: m.Pct, StdUncertaintyPct: m.StdUncertaintyPct, Formula: m.Formula}
}

func percent(part, whole int64) float64 {
	return float64(part*1000/whole) / 10
}
