package api

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// endOfTime is later than anything a book takes.
var endOfTime = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// sheetReading is one figure read on a lot or on one of its containers.
type sheetReading struct {
	At                           time.Time
	On, Instrument, What, Figure string
}

// sheetReadings are all figures read on a lot and its containers, earliest
// first.
func sheetReadings(b *ledger.Book, r *season.LotReport) []sheetReading {
	var out []sheetReading
	for _, id := range b.Basis(r.LotID, endOfTime).Readings {
		e, _ := b.Entry(id)
		out = append(out, figuresRead(b, e.OccurredAt, e.Body.(*ledger.Reading))...)
	}
	return out
}

func figuresRead(b *ledger.Book, at time.Time, r *ledger.Reading) []sheetReading {
	on, by := "the lot", r.Laboratory
	if r.On.Kind == ledger.PlaceContainer {
		on = b.Name(r.On.ID)
	}
	if by == "" {
		by = b.Name(r.InstrumentID)
	}
	var out []sheetReading
	add := func(what, figure string) { out = append(out, sheetReading{at, on, by, what, figure}) }
	if m := r.Moisture; m != nil {
		add("moisture", fmt.Sprintf("%.1f %%%s", m.Pct, uncertain(m.StdUncertaintyPct)))
	}
	for _, m := range r.Measured {
		figure := fmt.Sprintf("%g", m.Value)
		if m.LessThan {
			figure = "less than " + figure
		}
		figure += uncertain(m.StdUncertainty)
		if m.Method != "" {
			figure += ", " + m.Method
		}
		add(plainWords(m.Quantity), figure)
	}
	for _, o := range r.Observed {
		add(plainWords(o.What), o.Word)
	}
	return out
}

// uncertain is a standard uncertainty after its value; empty where none is known.
func uncertain(std float64) string {
	if std == 0 {
		return ""
	}
	return fmt.Sprintf(" (u %.2g)", std)
}

// checkOnSheet is what the last check of a lot by a rule set came to.
type checkOnSheet struct {
	On       string
	Entry    int64
	Outdated string
	Result   ledger.RuleSetResult
}

// checksOnSheet are the latest answers of each rule set that the lot was
// checked by, those that still speak of it first.
func checksOnSheet(b *ledger.Book, lot ledger.ID) []checkOnSheet {
	latest := map[string]checkOnSheet{}
	var order []string
	b.Of(ledger.KindCheck, func(_ ledger.ID, e *ledger.Entry) bool {
		c := e.Body.(*ledger.Check)
		if c.Found == nil || b.Root(c.LotID) != lot {
			return true
		}
		for _, r := range c.Found.Results {
			had, has := latest[r.ID]
			if !has {
				order = append(order, r.ID)
			}
			if !has || had.Entry < e.Number {
				latest[r.ID] = checkOnSheet{string(c.On), e.Number, b.Outdated(e.ID), r}
			}
		}
		return true
	})
	out := make([]checkOnSheet, len(order))
	for i, id := range order {
		out[i] = latest[id]
	}
	current := func(c checkOnSheet) int { return min(len(c.Outdated), 1) }
	slices.SortStableFunc(out, func(x, y checkOnSheet) int { return current(x) - current(y) })
	return out
}

// overrideOf is why a lot was released without a check that meets; empty where
// it was not.
func overrideOf(d ledger.Decided) string {
	if d.By == nil {
		return ""
	}
	if s := d.By.Body.(*ledger.LotStatus); s.Override && d.Status == ledger.StatusReleased {
		return s.Note
	}
	return ""
}

// plainWords is a parameter's name as people write it.
func plainWords(name string) string { return strings.ReplaceAll(name, "_", " ") }
