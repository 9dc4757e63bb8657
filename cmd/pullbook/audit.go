package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/progress"
	"pullbook/domain/ledger"
)

type auditCommand struct {
	Outfit string `name:"outfit" env:"PULLBOOK_OUTFIT" placeholder:"NAME" help:"Name or id of the one outfit to audit. Without it: all of them."`
	operatorSettings
}

func (c *auditCommand) Help() string {
	return `Recomputes every digest and number, replays each book from its first entry, and looks for a gram that is not accounted for. Compares the functions, policies, triggers, grants and roles that protect the books with those that this program sets up. The exit status is 0 if every book is whole and protected. It is 1 if one is broken or unprotected; the audit names the first break of each book. It is 3 if none is broken and some entries cannot be read; the audit names each of them. The rest of such a book works as always, and a manager corrects or withdraws each of those entries on its page in the journal.

Write down the digest that it prints, and keep it somewhere else. Somebody with the database's own password could rewrite a book together with all of its digests. Only a digest kept elsewhere would show it.`
}

func (c *auditCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		outfits, err := c.outfits(ctx, d)
		if err != nil {
			return err
		}
		unprotected := pgx.BeginFunc(ctx, d.Pool, func(tx pgx.Tx) error { return protected(ctx, tx) })
		books := auditAll(ctx, term, d, outfits)
		if unprotected != nil && books != nil {
			return fmt.Errorf("%w\n%v", unprotected, books) // which is the graver, and says the status
		}
		return errors.Join(unprotected, books)
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
	broken, unread := 0, 0
	for _, o := range outfits {
		watched, done := term.watch(ctx, "Auditing "+brief(o.Name), progress.Audit)
		book, err := books.Audit(watched, d, o)
		done()
		var found *ledger.Break
		switch {
		case errors.As(err, &found):
			broken++
			fmt.Fprintf(term.Out, "%s: BROKEN: %v\n", o.Name, found)
		case err != nil:
			return err
		case book.Len() > 0 && tellUnread(term, o, book) > 0:
			unread++
		default:
			fmt.Fprintln(term.Out, wholeBook(o, book))
		}
	}
	if broken > 0 {
		return fmt.Errorf("%d of %d books broken", broken, len(outfits))
	}
	if unread > 0 {
		return &unreadBooks{unread, len(outfits)}
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

// unreadBooks are books that are whole, and have entries that cannot be read.
type unreadBooks struct{ books, of int }

func (u *unreadBooks) Error() string {
	return fmt.Sprintf("%d of %d books have entries that cannot be read", u.books, u.of)
}

// tellUnread names the entries of a book that cannot be read, and counts those that
// nobody has corrected or withdrawn.
func tellUnread(term *terminal, o db.Outfit, book *ledger.Book) (open int) {
	for e, by := range book.Unreadable() {
		u, since := e.Body.(*ledger.Unreadable), "it has no effect until it is corrected or withdrawn"
		if by != nil {
			since = fmt.Sprintf("entry %d takes its place", by.Number)
		} else {
			open++
		}
		fmt.Fprintf(term.Out, "%s: entry %d (%s, %s of %s) CANNOT BE READ: %s; its digest is right, and %s\n",
			o.Name, e.Number, e.ID, u.Was, e.OccurredAt.UTC().Format(time.RFC3339), u.Why, since)
	}
	if open > 0 {
		last := book.Numbered(book.Len())
		fmt.Fprintf(term.Out, "%s: unaltered, but not all of it can be read; %d entries, last digest %x\n", o.Name, last.Number, last.Digest)
	}
	return open
}
