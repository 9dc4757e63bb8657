package main

import (
	"fmt"

	"pullbook/domain/importing"
)

// notRead names the columns that are not read.
func (t *terminal) notRead(columns []importing.NotRead) {
	for _, c := range columns {
		name := c.Column
		if c.Heading != "" {
			name += " (" + brief(c.Heading) + ")"
		}
		if c.Sent == "" {
			fmt.Fprintf(t.Out, "Column %s is not read. It is empty.\n", name)
		} else {
			fmt.Fprintf(t.Out, "Column %s is not read. Row %d of it says: %s\n", name, c.Row, brief(c.Sent))
		}
	}
	if len(columns) > 0 {
		fmt.Fprintln(t.Out)
	}
}

// findings says what would be odd in the book with a sheet in it.
func (t *terminal) findings(r *importing.Result) {
	switch {
	case !r.Looked:
		fmt.Fprintf(t.Out, "What would be odd in the book with it was not looked for: together they have more than %d entries.\n", importing.MostLookedAt)
	case len(r.Findings) == 0:
		fmt.Fprintln(t.Out, "It would add no finding.")
	}
	for _, f := range r.Findings {
		fmt.Fprintf(t.Out, "It would add %d of the finding %s:\n", f.Count, f.Code)
		for _, at := range f.First {
			if at.Row > 0 {
				fmt.Fprintf(t.Out, "  row %d: %s\n", at.Row, at.Says)
			} else {
				fmt.Fprintf(t.Out, "  %s\n", at.Says)
			}
		}
		if more := f.Count - len(f.First); more > 0 {
			fmt.Fprintf(t.Out, "  and %d more\n", more)
		}
	}
}
