package api

import (
	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
	"pullbook/openapi"
)

// GetChanges is which figures of the book changed between two of its entries.
func (s *Server) GetChanges(ctx echo.Context, params openapi.GetChangesParams) error {
	return s.read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		from, to := params.FromEntry, b.Len()
		if params.ToEntry != nil {
			to = *params.ToEntry
		}
		switch {
		case from > b.Len():
			return nil, parameterFault("from_entry", ctx.QueryParam("from_entry"), "The book has entries 1 to %s.", b.Len())
		case to > b.Len() || to < from:
			return nil, parameterFault("to_entry", ctx.QueryParam("to_entry"), "An entry from %s to %s is needed.", from, b.Len())
		}
		changed, err := trace.Changes(b, from, to)
		if err != nil {
			return nil, err
		}
		out := openapi.Changes{FromEntry: from, ToEntry: to, Figures: make([]openapi.ChangedFigure, len(changed))}
		for i, c := range changed {
			f := changeOut(c.Change)
			spans := make([]openapi.EntrySpan, len(c.Through))
			for k, span := range c.Through {
				spans[k] = openapi.EntrySpan{First: span.First, Last: span.Last}
			}
			f.Through = &spans
			out.Figures[i] = f
		}
		return out, nil
	})
}

func changeOut(c trace.Change) openapi.ChangedFigure {
	out := openapi.ChangedFigure{Figure: c.Name, Part: orNil(c.PartName), Unit: c.Unit, From: c.From, To: c.To}
	if c.Of.Kind != "" {
		out.Place = ptr(tracePlace(c.Of, c.OfName))
	}
	return out
}

// GetSuperseded is which dispatches, checks and printed sheets rest on figures
// that are not so any more.
func (s *Server) GetSuperseded(ctx echo.Context, params openapi.GetSupersededParams) error {
	return s.read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		var sheets []trace.Sheet
		if params.Lot != nil || params.SheetEntry != nil {
			if params.Lot == nil || params.SheetEntry == nil {
				return nil, parameterFault("sheet_entry", ctx.QueryParam("sheet_entry"), "A printed sheet is known by both: lot, and sheet_entry as it stands on it.")
			}
			if ledger.Named[ledger.Lot](b, *params.Lot) == nil {
				return nil, parameterFault("lot", params.Lot.String(), "The outfit has no lot with this id.")
			}
			if *params.SheetEntry > b.Len() {
				return nil, parameterFault("sheet_entry", ctx.QueryParam("sheet_entry"), "The book has entries 1 to %s.", b.Len())
			}
			sheets = append(sheets, trace.Sheet{Lot: *params.Lot, Entry: *params.SheetEntry})
		}
		found, err := trace.Superseded(b, sheets...)
		if err != nil {
			return nil, err
		}
		out := make([]openapi.Superseded, len(found))
		for i, x := range found {
			out[i] = supersededOut(x)
		}
		return out, nil
	})
}

func supersededOut(x trace.Superseding) openapi.Superseded {
	out := openapi.Superseded{
		What: openapi.SupersededWhatSheet, Place: tracePlace(x.On, x.OnName), KnewEntry: x.Entry,
		Figures: make([]openapi.ChangedFigure, len(x.Changes)), Through: make([]openapi.SupersedingEntry, len(x.Through)),
	}
	if x.By != nil {
		out.What, out.EntryID, out.OccurredAt = openapi.SupersededWhat(x.By.Kind), &x.By.ID, &x.By.OccurredAt
	}
	for i, c := range x.Changes {
		out.Figures[i] = changeOut(c)
	}
	for i, e := range x.Through {
		out.Through[i] = openapi.SupersedingEntry{EntryID: e.ID, EntryNumber: e.Number, Kind: string(e.Kind), OccurredAt: e.OccurredAt,
			RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy, Replaces: orNil(e.Replaces), Reason: orNil(e.Reason)}
	}
	return out
}
