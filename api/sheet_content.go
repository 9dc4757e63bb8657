package api

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

// endOfTime is later than anything a book takes.
var endOfTime = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// sheetReading is one figure read on a lot or on one of its containers.
type sheetReading struct {
	At                           time.Time
	On, Instrument, What, Figure string
	value                        float64
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
	add := func(what, figure string, value float64) {
		out = append(out, sheetReading{at, on, by, what, figure, value})
	}
	if m := r.Moisture; m != nil {
		add("moisture", fmt.Sprintf("%.1f %%%s", m.Pct, uncertain(m.StdUncertaintyPct)), m.Pct)
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
		add(plainWords(m.Quantity), figure, m.Value)
	}
	for _, o := range r.Observed {
		add(plainWords(o.What), o.Word, 0)
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
func checksOnSheet(b *ledger.Book, lot ledger.ID) ([]checkOnSheet, error) {
	latest := map[string]checkOnSheet{}
	entries := map[ledger.ID]bool{}
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
				latest[r.ID] = checkOnSheet{string(c.On), e.Number, b.Outdated(e.ID).String(), r}
				entries[e.ID] = true
			}
		}
		return true
	})
	changed := map[int64]string{}
	if len(entries) > 0 {
		superseded, err := trace.SupersededBy(b, entries)
		if err != nil {
			return nil, err
		}
		for _, x := range superseded {
			changed[x.By.Number] = changedSince(x)
		}
	}
	out := make([]checkOnSheet, len(order))
	for i, id := range order {
		out[i] = latest[id]
		if what := changed[out[i].Entry]; out[i].Outdated != "" && what != "" {
			out[i].Outdated += "; " + what
		} else {
			out[i].Outdated += what
		}
	}
	current := func(c checkOnSheet) int { return min(len(c.Outdated), 1) }
	slices.SortStableFunc(out, func(x, y checkOnSheet) int { return current(x) - current(y) })
	return out, nil
}

// changedSince says which figures changed of those that something rested on, and
// through which entries.
func changedSince(x trace.Superseding) string {
	figure := func(p *float64) string {
		if p == nil {
			return "none"
		}
		return strconv.FormatFloat(math.Round(*p*100)/100, 'f', -1, 64)
	}
	var changes, through []string
	for _, c := range x.Changes {
		name := c.Name
		if c.PartName != "" {
			name += " " + c.PartName
		}
		changes = append(changes, fmt.Sprintf("%s %s to %s %s", name, figure(c.From), figure(c.To), c.Unit))
	}
	for _, e := range x.Through {
		through = append(through, strconv.FormatInt(e.Number, 10))
	}
	return fmt.Sprintf("figures changed that it rested on: %s (by entry %s)", strings.Join(changes, ", "), strings.Join(through, ", "))
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
