package api

import (
	"context"
	"io"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/archive"
	"pullbook/domain/ledger"
)

// GetArchive is everything of an outfit in one file, for another installation.
func (s *Server) GetArchive(ctx echo.Context) error {
	p, err := s.current(ctx)
	if err != nil {
		return err
	}
	header := ctx.Response().Header()
	header.Set("Content-Type", archiveMIME)
	header.Set("Content-Disposition", `attachment; filename="pullbook-`+s.Now().UTC().Format(time.DateOnly)+`.zip"`)
	header.Set("Cache-Control", "no-store")
	patience := s.patience(ctx)
	_, err = WriteArchive(context.WithoutCancel(ctx.Request().Context()), s.db, s.books, p, ctx.Response(), patience)
	if err != nil && ctx.Response().Committed {
		s.Log.Warn("an archive broke off", "request_id", requestIDOf(ctx), "error", err)
		panic(http.ErrAbortHandler)
	}
	return err
}

const archiveMIME = "application/zip"

// WriteArchive writes everything of an outfit to w: its entries with their digests,
// its people without their secrets, and the feeds as tables. between is called
// after each part that was written; it may end the writing.
func WriteArchive(ctx context.Context, d *db.DB, books *db.Books, p db.Principal, w io.Writer, between func() error) (archive.Manifest, error) {
	steps, err := books.Steps(ctx, p)
	if err != nil {
		return archive.Manifest{}, err
	}
	return d.WriteArchive(ctx, steps.Outfit, &stepping{w, between}, func(out *archive.Writer) error {
		for _, name := range feedNames() {
			if name == journalFeed.title() {
				continue // the entries themselves say more
			}
			if err := archiveTable(steps, feedTables[name], out); err != nil {
				return err
			}
		}
		return nil
	})
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
func archiveTable(steps *db.Steps, table feedTable, out *archive.Writer) error {
	to, err := out.Create(archive.TablesFolder + table.title() + ".csv")
	if err != nil {
		return err
	}
	rows := &feedRun{steps: steps, table: table, view: feedView{outfit: steps.Outfit, number: steps.Number}}
	err = steps.Look(func(b *ledger.Book) (err error) {
		rows.loc = b.Location()
		rows.next, err = table.begin(&feedQuery{}, rows.at(b))
		return err
	})
	if err != nil {
		return err
	}
	cells := newCSV(rows.loc, rows.names(), true)
	return rows.each(cells, func() error { return cells.flush(to) })
}
