package feeds

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/progress"
	"pullbook/domain/archive"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

// GetArchive is everything of an outfit in one file, for another installation.
func (s Handler) GetArchive(ctx echo.Context, params openapi.GetArchiveParams) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	leave, err := s.Large.Enter(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	defer leave()
	header := ctx.Response().Header()
	header.Set("Content-Type", archiveMIME)
	header.Set("Content-Disposition", `attachment; filename="pullbook-`+s.Now().UTC().Format(time.DateOnly)+`.zip"`)
	header.Set("Cache-Control", "no-store")
	tables := Tables(wire.OrDefault(params.Tables, openapi.GetArchiveParamsTables(TablesAuto)))
	_, err = WriteArchive(context.WithoutCancel(ctx.Request().Context()), s.DB, s.Books, p, ctx.Response(), s.Patience(ctx), tables)
	if err != nil && ctx.Response().Committed {
		s.Log.Warn("an archive broke off", "request_id", request.RequestIDOf(ctx), "error", err)
		panic(http.ErrAbortHandler)
	}
	return err
}

const archiveMIME = "application/zip"

// Tables says whether an archive has tables for people to read beside the entries.
type Tables string

// TablesAuto has them where the book can be opened and has no more entries than
// mostTabled.
const (
	TablesAuto   Tables = "auto"
	TablesAlways Tables = "always"
	TablesNever  Tables = "never"
)

// mostTabled is up to how many entries a book is opened for tables that nobody asked
// for: some decades of an outfit. It bounds the memory that an archive takes.
const mostTabled = 100_000

// Fit reports whether an archive of a book of so many entries has tables.
func (t Tables) Fit(entries int64) bool {
	return t == TablesAlways || t == TablesAuto && entries <= mostTabled
}

// WriteArchive writes everything of an outfit to w: its entries with their digests,
// its people without their secrets, and the feeds as tables. between is called
// after each part that was written; it may end the writing.
//
// Any book can be written: the entries need no open book, and a book that cannot be
// opened goes without tables.
func WriteArchive(ctx context.Context, d *db.DB, books *books.Books, p db.Principal, w io.Writer, between func() error, tables Tables) (archive.Manifest, error) {
	o, err := d.Outfit(ctx, p.Outfit)
	if err != nil {
		return archive.Manifest{}, err
	}
	steps, without, err := stepsForTables(ctx, d, books, p, tables)
	if err != nil {
		return archive.Manifest{}, err
	}
	return d.WriteArchive(ctx, o, &stepping{w, between}, func(out *archive.Writer) (string, error) {
		if steps == nil {
			return without, nil
		}
		tell, names := progress.From(ctx), tableNames()
		for i, name := range names {
			tell(progress.Tabled, int64(i), int64(len(names)))
			if name == journalFeed.title() {
				continue // the entries themselves say more
			}
			if err := archiveTable(steps, allTables[name], out); err != nil {
				return "", err
			}
		}
		return "", nil
	})
}

// stepsForTables opens the book for its tables. Where there are to be none, it says
// why.
func stepsForTables(ctx context.Context, d *db.DB, books *books.Books, p db.Principal, tables Tables) (steps *books.Cursor, without string, err error) {
	if tables == TablesNever {
		return nil, "none were asked for", nil
	}
	head, err := d.Head(ctx, p.Outfit)
	if err != nil {
		return nil, "", err
	}
	if !tables.Fit(head.Number) {
		return nil, fmt.Sprintf("the book has %d entries, and one of more than %d is read into memory for tables only where they are asked for", head.Number, mostTabled), nil
	}
	steps, err = books.Cursor(ctx, p)
	if err != nil && tables == TablesAuto && fault.CodeOf(err) != fault.NotYours {
		return nil, fmt.Sprintf("the book cannot be opened: %v", err), nil
	}
	return steps, "", err
}

// stepping calls something after each part that it has written.
type stepping struct {
	io.Writer
	between func() error
}

func (s *stepping) Write(p []byte) (int, error) {
	n, err := s.Writer.Write(p)
	if err == nil {
		err = s.between()
	}
	return n, err
}

// archiveTable writes a feed as CSV.
func archiveTable(steps *books.Cursor, table table, out *archive.Writer) error {
	to, err := out.Create(archive.TablesFolder + table.title() + ".csv")
	if err != nil {
		return err
	}
	rows := &run{steps: steps, table: table, view: view{outfit: steps.Outfit, number: steps.Number}}
	defer rows.close()
	err = steps.Step(func(b *ledger.Book) error {
		rows.loc = b.Location()
		return rows.begin(&query{on: lastDay(b)}, b)
	})
	if err != nil {
		return err
	}
	cells := newCSV(rows.loc, rows.names(), csvForm{mark: true})
	return rows.each(cells, func() error { return cells.flush(to) })
}

// lastDay is the day on which the book learned of its last entry: tables of one book are the
// same whenever they are made.
func lastDay(b *ledger.Book) standard.Date {
	if b.Len() == 0 {
		return ""
	}
	return standard.Date(b.Numbered(b.Len()).RecordedAt.In(b.Location()).Format(time.DateOnly))
}
