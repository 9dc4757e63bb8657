package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/domain/ledger"
)

type auditCommand struct {
	Outfit string `name:"outfit" env:"PULLBOOK_OUTFIT" placeholder:"NAME" help:"Name or id of the one outfit to audit; left out, all are."`
	operatorSettings
}

func (c *auditCommand) Help() string {
	return `Recomputes every digest and number, replays each book from its first entry, and looks for a gram that is not accounted for. Compares the functions, policies, triggers, grants and roles that protect the books with those that this program sets up. The exit status is 0 where every book is whole and protected; else it is 1, and the first break of each book is named.

Write the digest it prints down somewhere else. Somebody with the database's own password could rewrite a book together with all of its digests, and only a digest kept elsewhere would show it.`
}

func (c *auditCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		outfits, err := c.outfits(ctx, d)
		if err != nil {
			return err
		}
		return errors.Join(pgx.BeginFunc(ctx, d.Pool, func(tx pgx.Tx) error { return protected(ctx, tx) }), auditAll(ctx, term, d, outfits))
	})
}

func (c *auditCommand) outfits(ctx context.Context, d *db.DB) ([]db.Outfit, error) {
	if c.Outfit == "" {
		return d.Outfits(ctx)
	}
	o, err := outfitSettings{c.Outfit}.find(ctx, d)
	return []db.Outfit{o}, err
}

// auditAll audits books one after the other, and fails where one is broken.
func auditAll(ctx context.Context, term *terminal, d *db.DB, outfits []db.Outfit) error {
	broken := 0
	for _, o := range outfits {
		book, err := d.Audit(ctx, o)
		var found *ledger.Break
		switch {
		case errors.As(err, &found):
			broken++
			fmt.Fprintf(term.Out, "%s: BROKEN: %v\n", o.Name, found)
		case err != nil:
			return err
		default:
			fmt.Fprintln(term.Out, wholeBook(o, book))
		}
	}
	if broken > 0 {
		return fmt.Errorf("%d of %d books broken", broken, len(outfits))
	}
	return nil
}

// wholeBook says that a book passed its audit.
func wholeBook(o db.Outfit, book *ledger.Book) string {
	if book.Len() == 0 {
		return fmt.Sprintf("%s: whole; it has no entries yet", o.Name)
	}
	last := book.Numbered(book.Len())
	return fmt.Sprintf("%s: whole; %d entries, every gram accounted for, last digest %x", o.Name, last.Number, last.Digest)
}
