package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/mattn/go-isatty"

	"pullbook/api/feeds"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/progress"
	"pullbook/domain/archive"
	"pullbook/domain/ledger"
)

type exportCommand struct {
	Tables feeds.Tables `enum:"auto,always,never" default:"auto" help:"Whether the archive has tables for people to read: auto, always or never. With auto, a book of more than 100,000 entries has none, nor has a book that cannot be opened."`
	outfitCommand
}

func (c *exportCommand) Help() string {
	return `Writes a zip to standard output. The zip holds every entry with its digest, the set-up, the rule sets, the people without their secrets, and tables for people to read. The entries go out one by one, so a book of any size takes the same memory. On another installation import-archive makes the very same book of it. A spreadsheet reads the tables.`
}

func (c *exportCommand) Run(ctx context.Context, term *terminal) error {
	if out, ok := term.Out.(*os.File); ok && isatty.IsTerminal(out.Fd()) {
		return errors.New("the archive would go to the screen: send it to a file, as pullbook export > book.zip")
	}
	return c.serveBooks(ctx, term, func(operator *db.DB, books *books.Books) error {
		o, err := c.find(ctx, operator)
		if err != nil {
			return err
		}
		head, err := operator.Head(ctx, o.ID)
		if err != nil {
			return err
		}
		p := db.Principal{Outfit: o.ID, Name: "operator", Role: db.Manager, Access: head.Access}
		plan := progress.Export
		if c.Tables.Fit(head.Number) {
			plan = progress.TabledExport
		}
		watched, done := term.watch(ctx, "Exporting "+brief(o.Name), plan)
		m, err := feeds.WriteArchive(watched, operator, books, p, term.Out, func() error { return ctx.Err() }, c.Tables)
		done()
		if err != nil {
			return err
		}
		if m.NoTables != "" && c.Tables != feeds.TablesNever {
			fmt.Fprintf(term.Err, "Without tables for people to read: %s.\n", m.NoTables)
		}
		fmt.Fprintf(term.Err, "Wrote the book of %s: %d entries, last digest %s.\n", o.Name, m.Entries, m.Digest)
		return nil
	})
}

type importArchiveCommand struct {
	File string `arg:"" type:"existingfile" help:"An archive that pullbook export or GET /v1/archive wrote."`
	operatorSettings
}

func (c *importArchiveCommand) Help() string {
	return `Compares every file with its checksum and every entry with its digest, and then stores an outfit's whole book, or nothing. If the outfit is here already, its book must be the beginning of the archive's, and the archive continues it. An older archive of the same book changes nothing. Another book is refused. Tokens do not travel: make new ones with token add.`
}

func (c *importArchiveCommand) Run(ctx context.Context, term *terminal) error {
	file, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer file.Close()
	size, err := file.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	a, err := archive.Open(file, size)
	if err != nil {
		return fmt.Errorf("nothing was stored: %w", err)
	}
	return c.act(ctx, term, func(d *db.DB) error {
		watched, done := term.watch(ctx, "Bringing in "+brief(a.Manifest.Outfit.Name), progress.ImportArchive)
		r, err := d.RestoreArchive(watched, a)
		done()
		if unsound, broken := new(archive.Error), new(ledger.Break); errors.As(err, &unsound) || errors.As(err, &broken) {
			return fmt.Errorf("nothing was stored: %w", err)
		}
		if err != nil {
			return err
		}
		switch {
		case r.Before == r.After:
			fmt.Fprintf(term.Out, "Nothing new: the book of %s has all of the archive's %d entries.\n", r.Outfit.Name, a.Manifest.Entries)
		default:
			fmt.Fprintf(term.Out, "%s has its book here now: %d entries, %d of them new.\n", r.Outfit.Name, r.After, r.After-r.Before)
		}
		return auditAll(ctx, term, d, []db.Outfit{r.Outfit})
	})
}
