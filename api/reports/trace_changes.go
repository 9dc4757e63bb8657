package reports

import (
	"cmp"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
	"pullbook/openapi"
)

// GetChangedFiguresReport is which figures of the book changed between two of its entries, or
// two moments.
func (s Handler) GetChangedFiguresReport(ctx echo.Context, params openapi.GetChangedFiguresReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		from, err := pointOf(b, params.FromEntry, params.FromKnownAt, "from_entry", "from_known_at")
		if err != nil {
			return nil, err
		}
		if from == nil {
			return nil, request.ParameterFault("from_entry", "", "Give the entry after which changes count, or the moment (from_known_at).")
		}
		to, err := pointOf(b, params.ToEntry, params.ToKnownAt, "to_entry", "to_known_at")
		if err != nil {
			return nil, err
		}
		return changesOut(b, *from, *cmp.Or(to, new(b.Len())))
	})
}

// pointOf is the last entry that the book had at a point, which is named by the
// entry or by a moment; nil where it is named by neither.
func pointOf(b *ledger.Book, entry *int64, moment *time.Time, entryName, momentName string) (*int64, error) {
	switch {
	case entry != nil && moment != nil:
		return nil, request.ParameterFault(momentName, moment.Format(time.RFC3339), "Either %s or %s, not both.", entryName, momentName)
	case moment != nil:
		return new(b.KnownAt(*moment)), nil
	case entry != nil && *entry > b.Len():
		return nil, request.ParameterFault(entryName, strconv.FormatInt(*entry, 10), "The book has entries 1 to %s.", b.Len())
	}
	return entry, nil
}

func changesOut(b *ledger.Book, from, to int64) (any, error) {
	if to < from {
		return nil, request.ParameterFault("to_entry", strconv.FormatInt(to, 10), "Give an entry from %s to %s.", from, b.Len())
	}
	changed, err := trace.Changes(b, from, to)
	return openapi.ChangedFigures{FromEntry: from, ToEntry: to, Figures: wire.Each(changed, changedOut)}, err
}

func changedOut(c trace.ChangedFigure) openapi.ChangedFigure {
	out := changeOut(c.Change)
	out.Through = new(wire.Each(c.Through, func(s trace.Span) openapi.EntrySpan { return openapi.EntrySpan{First: s.First, Last: s.Last} }))
	return out
}

func changeOut(c trace.Change) openapi.ChangedFigure {
	out := openapi.ChangedFigure{Figure: c.Name, Part: wire.OrNil(c.PartName), Unit: c.Unit, From: c.From, To: c.To}
	if c.Of.Kind != "" {
		out.Place = new(tracePlace(c.Of, c.OfName))
	}
	return out
}

// GetSupersededReport is which dispatches, checks and printed sheets rest on figures
// that are not so any more.
func (s Handler) GetSupersededReport(ctx echo.Context, params openapi.GetSupersededReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		var sheets []trace.Sheet
		if params.Lot != nil || params.CertificateEntry != nil {
			if params.Lot == nil || params.CertificateEntry == nil {
				return nil, request.ParameterFault("certificate_entry", ctx.QueryParam("certificate_entry"), "Name a printed sheet by both: its lot, and certificate_entry, the entry number printed on it.")
			}
			lot, err := Named(b, ledger.KindLot, *params.Lot)
			if err != nil {
				return nil, err
			}
			if *params.CertificateEntry > b.Len() {
				return nil, request.ParameterFault("certificate_entry", ctx.QueryParam("certificate_entry"), "The book has entries 1 to %s.", b.Len())
			}
			sheets = append(sheets, trace.Sheet{Lot: lot, Entry: *params.CertificateEntry})
		}
		found, err := trace.Superseded(b, sheets...)
		return wire.Each(found, SupersededOut), err
	})
}

// SupersededOut returns in the contract's form what rested on figures that changed.
func SupersededOut(x trace.Superseding) openapi.Superseded {
	out := openapi.Superseded{
		What: openapi.SupersededWhatCertificate, Place: tracePlace(x.On, x.OnName), ThroughEntry: x.Entry,
		Figures: wire.Each(x.Changes, changeOut), Through: make([]openapi.SupersedingEntry, len(x.Through)),
	}
	if x.By != nil {
		out.What, out.EntryID, out.OccurredAt = openapi.SupersededWhat(x.By.Kind), &x.By.ID, &x.By.OccurredAt
	}
	for i, e := range x.Through {
		out.Through[i] = openapi.SupersedingEntry{EntryID: e.ID, EntryNumber: e.Number, Kind: string(e.Kind), OccurredAt: e.OccurredAt,
			RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy, Replaces: wire.OrNil(e.Replaces), Reason: wire.OrNil(e.Reason)}
	}
	return out
}
