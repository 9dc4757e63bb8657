package reports

import (
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
	"pullbook/openapi"
)

// Tracer returns what follows honey through a book, made once for each state of the book.
func Tracer(s *request.Service, ctx echo.Context, o db.Outfit, b *ledger.Book) *trace.Tracer {
	return s.Tracers.Of(o.ID, b, !request.AsksEarlier(ctx))
}

// SubjectOf is what a request asks to be followed: a thing by its id or name, or a day.
func SubjectOf(b *ledger.Book, of string, pulled bool) (trace.Subject, error) {
	if _, err := time.Parse(time.DateOnly, of); err == nil {
		return trace.Subject{Day: ledger.Date(of), Pulled: pulled}, nil
	}
	asked := request.Asked{Pointer: "query:of", Sent: of}
	none := asked.Missing("Give the name or id of a yard, pull, run, tank, lot or container, or a day: 2026-08-21.")
	id, err := tracedBy(b, asked, none, ledger.KindYard, ledger.KindRun, ledger.KindTank, ledger.KindLot, ledger.KindFill)
	if err != nil {
		return trace.Subject{}, err
	}
	return trace.SubjectOf(b, id)
}

// tracedBy finds what is asked for by its id, or by what it is called among things of some
// kinds; none is the refusal where nothing is called so. It returns an id as it is: the
// tracer says what the outfit has not got.
func tracedBy(b *ledger.Book, asked request.Asked, none *fault.Error, kinds ...ledger.Kind) (ledger.ID, error) {
	id, noID := uuid.Parse(asked.Sent)
	if e, _ := b.Entry(id); noID == nil && e != nil {
		return id, nil
	}
	found, known := called(b, asked.Sent, kinds...)
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return id, asked.Fault("More than one thing of the outfit has this name: send the id of the one that you mean.")
	case noID == nil:
		return id, nil
	}
	request.Suggest(&none.Fields[0], request.Nearest(asked.Sent, known))
	return id, none
}

// GetTraceBack is where the honey of a container, lot, tank or dispatch came
// from.
func (s Handler) GetTraceBack(ctx echo.Context, params openapi.GetTraceBackParams) error {
	return s.Read(ctx, func(o db.Outfit, b *ledger.Book) (any, error) {
		asked := request.Asked{Pointer: "query:of", Sent: params.Of}
		id, err := tracedBy(b, asked, asked.Missing("Give the name or id of a tank, lot or container, or the id of a dispatch."), ledger.KindFill, ledger.KindLot, ledger.KindTank)
		if err != nil {
			return nil, err
		}
		back, err := Tracer(s.Service, ctx, o, b).Back(id)
		if err != nil {
			return nil, err
		}
		return backOut(back), nil
	})
}

func backOut(t *trace.Back) openapi.TraceBack {
	out := openapi.TraceBack{
		ID: t.Of.ID, Name: t.Name, ThroughEntry: t.Through, NetKg: wire.Kg(t.NetG),
		Yards: wire.Each(t.Yards, originOut), Pulls: wire.Each(t.Pulls, originOut), Runs: wire.Each(t.Runs, originOut), Unexplained: amountOut(t.Unexplained),
		Passed: make([]openapi.TracePassed, len(t.Passed)), Days: make([]openapi.TraceDay, len(t.Days)),
		Instruments: make([]openapi.TraceInstrument, len(t.Instruments)), People: make([]openapi.TracePerson, len(t.People)),
		Steps:             make([]openapi.TraceStep, len(t.Steps)),
		BoundsNotTightest: wire.OrNil(t.NotTightest),
	}
	for i, p := range t.Passed {
		out.Passed[i] = openapi.TracePassed{Place: tracePlace(p.Place, p.Name), MassKg: wire.Kg(p.Grams), FirstAt: p.First, LastAt: p.Last}
	}
	for i, d := range t.Days {
		out.Days[i] = openapi.TraceDay{Day: wire.DateOut(d.Day), Work: openapi.TraceDayWork(d.Work), MassKg: wire.Kg(d.Grams)}
	}
	for i, x := range t.Instruments {
		out.Instruments[i] = openapi.TraceInstrument{InstrumentID: x.ID, Name: x.Name, Readings: x.Readings}
	}
	for i, x := range t.People {
		out.People[i] = openapi.TracePerson{Name: x.Name, Entries: x.Entries}
	}
	for i, x := range t.Steps {
		out.Steps[i] = openapi.TraceStep{
			EntryNumber: x.Entry.Number, OccurredAt: x.Entry.OccurredAt, RecordedBy: x.Entry.RecordedBy,
			From: x.FromName, To: x.ToName, MassKg: wire.Kg(x.Grams), UnexplainedKg: wire.OrNil(wire.Kg(x.UnexplainedG)),
		}
	}
	return out
}

func originOut(o trace.Origin) openapi.TraceOrigin {
	return openapi.TraceOrigin{Place: tracePlace(o.Place, o.Name), At: wire.OrNil(o.At), Share: o.Share,
		MassKg: wire.Kg(o.Of.Grams), LeastKg: wire.Kg(o.Of.LeastG), MostKg: wire.Kg(o.Of.MostG), HeelOnly: o.Of.MostG == 0}
}

func amountOut(a trace.Amount) openapi.TraceAmount {
	return openapi.TraceAmount{MassKg: wire.Kg(a.Grams), LeastKg: wire.Kg(a.LeastG), MostKg: wire.Kg(a.MostG)}
}

func tracePlace(p ledger.Place, name string) openapi.Place {
	return openapi.Place{Kind: openapi.PlaceKind(p.Kind), ID: wire.OrNil(p.ID), Name: &name}
}
