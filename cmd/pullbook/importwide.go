package main

import (
	"fmt"
	"strings"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// wide says how a wide sheet is read, and what the first of its cells come to.
func (t *terminal) wide(r *importing.Result) error {
	w := r.Mapping.Wide
	if !r.Mapping.IsWide() || w.Across == "" {
		return nil
	}
	row := w.Row
	if row == 0 {
		row = r.Mapping.HeadingRow
	}
	fmt.Fprintf(t.Out, "The sheet is wide: %s across, in row %d. Each filled cell becomes an entry.\n", w.Across, row)
	if what := strings.Join(strings.Fields(strings.Join([]string{string(w.Cells), w.Of, string(w.Unit)}, " ")), " "); what != "" {
		fmt.Fprintf(t.Out, "The cells are: %s.\n", what)
	}
	if r.Cells > 0 {
		fmt.Fprintf(t.Out, "Filled cells that were read: %d. New of them: %d %s.\n", r.Cells, r.Entries[importing.EntryOf(r.Mapping.Of)], strings.ReplaceAll(string(importing.EntryOf(r.Mapping.Of)), "_", " "))
	}
	if r.Zeros > 0 {
		fmt.Fprintf(t.Out, "Cells that say 0 are no pull, and were left out: %d.\n", r.Zeros)
	}
	fmt.Fprintln(t.Out)
	rows := [][]string{{"cell", "of", "day", "comes to"}}
	for _, e := range r.First {
		if e.Cell != "" {
			rows = append(rows, []string{e.Cell, brief(e.Of), e.Entry.OccurredAt.Format(time.DateOnly), comesTo(e.Entry)})
		}
	}
	if len(rows) == 1 {
		return nil
	}
	if err := t.table(rows); err != nil {
		return err
	}
	fmt.Fprintln(t.Out)
	return nil
}

// comesTo is what an entry says in a few words.
func comesTo(e *ledger.Entry) string {
	const gramsPerKg = 1000
	switch b := e.Body.(type) {
	case *ledger.Pull:
		supers := 0
		for _, s := range b.Supers {
			supers += s.Supers
		}
		out := fmt.Sprintf("pull, %d supers", supers)
		if b.GrossG > 0 {
			out += fmt.Sprintf(", %g kg", float64(b.GrossG)/gramsPerKg)
		}
		return out
	case *ledger.Reading:
		if b.Moisture != nil {
			return fmt.Sprintf("reading, %s %g", strings.ReplaceAll(b.Moisture.Scale, "_", " "), b.Moisture.AsRead)
		}
		for _, m := range b.Measured {
			return fmt.Sprintf("reading, %s %g", strings.ReplaceAll(m.Quantity, "_", " "), m.Value)
		}
	case *ledger.TemperatureLog:
		return fmt.Sprintf("temperatures of a day, %d", len(b.Points))
	}
	return strings.ReplaceAll(string(e.Kind), "_", " ")
}
