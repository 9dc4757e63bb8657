package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"pullbook/migrations"
)

// protected refuses a database of this program's version in which the books are
// not protected as the program protects them.
func protected(ctx context.Context, tx pgx.Tx) error {
	found, err := migrations.Differences(ctx, tx)
	if err != nil || len(found) == 0 {
		return err
	}
	return fmt.Errorf("somebody changed what protects the books in the database:\n%sFind out who and why. `pullbook migrate --mend` with the same settings puts it right and says what it runs; `pullbook audit` then checks the books", list(found))
}

// mostDifferences bounds how many differences are named.
const mostDifferences = 12

func list(found []migrations.Difference) string {
	var b strings.Builder
	for i, d := range found {
		if i == mostDifferences {
			fmt.Fprintf(&b, "- and %d more\n", len(found)-i)
			break
		}
		fmt.Fprintf(&b, "- %s\n", d.Says)
	}
	return b.String()
}

// mend puts right what protects the books, in a transaction of the tables' owner,
// and says what it ran. It fails where something is left.
func mend(ctx context.Context, term *terminal, tx pgx.Tx) error {
	mended, left, err := migrations.Mend(ctx, tx)
	switch {
	case err != nil:
		return fmt.Errorf("nothing was mended; the address has to sign in as the role that owns the tables, or as a superuser: %w", err)
	case len(left) > 0:
		return fmt.Errorf("nothing was mended, because this cannot be put right without a backup from before it was changed:\n%s", list(left))
	case len(mended) == 0:
		fmt.Fprintln(term.Out, "Everything that protects the books is as this program sets it up.")
	}
	for _, d := range mended {
		fmt.Fprintf(term.Out, "Mended: %s\n", d.Says)
		for _, sql := range d.Mend {
			fmt.Fprintf(term.Out, "  %s;\n", strings.ReplaceAll(strings.TrimSpace(sql), "\n", "\n  "))
		}
	}
	return nil
}
