package bringin

import (
	"context"
	"encoding/json"
	"errors"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/tables"
)

// Order is what is to be done with a file.
type Order struct {
	File *File
	Kind importing.Kind
	// Sheet is the one that is meant; empty for the first.
	Sheet string
	// Mapping says what the columns are; it is guessed where it is nil.
	Mapping *importing.Mapping
	// Before is the mapping of a file that was looked at just before; nil where none was.
	Before *importing.Mapping
	// Progress, where it is set, is told now and then how many rows were read.
	Progress func(rows int64)
}

// Check says what a file would come to, and lists all of its problems. Nothing is
// stored.
func Check(ctx context.Context, books *books.Books, p db.Principal, o Order) (*importing.Result, error) {
	table, err := o.table(ctx)
	if err != nil {
		return nil, err
	}
	defer books.SpareMemory()()
	outfit, book, err := books.Copy(ctx, p)
	if err != nil {
		return nil, err
	}
	look := newLook(book)
	result, err := o.take(ctx, books, outfit.ID, p, book, table, nil, look.each)
	if err != nil {
		return nil, err
	}
	return result, look.find(ctx, books.Now(), result)
}

// errProblems ends an import of a file that has problems.
var errProblems = errors.New("the file has problems")

// Store brings a file in, all of it or nothing, and gives the import as it is in
// the book: nil where the file has problems, which the result then lists, or where
// all of it was in the book before. id is that of the import.
func Store(ctx context.Context, books *books.Books, p db.Principal, id uuid.UUID, o Order) (result *importing.Result, made *ledger.Entry, err error) {
	table, err := o.table(ctx)
	if err != nil {
		return nil, nil, err
	}
	defer books.SpareMemory()()
	made, err = books.Import(ctx, p, id, func(ahead *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error) {
		if result, err = o.take(ctx, books, p.Outfit, p, ahead, table, emit, nil); err != nil {
			return nil, err
		}
		if result.AllProblems > 0 {
			return nil, errProblems
		}
		if result.New() == 0 {
			return nil, nil
		}
		return o.about(result)
	})
	if errors.Is(err, errProblems) {
		// The book was let go at the first problem: look for all, with nobody waiting.
		result, err = Check(ctx, books, p, o)
	}
	return result, made, err
}

// table is the sheet that is meant, which ends when nobody waits for it any more.
func (o Order) table(ctx context.Context) (*tables.Table, error) {
	t, err := o.File.Table(o.Sheet)
	if err != nil {
		return nil, err
	}
	return stopping(ctx, t), nil
}

func (o Order) take(ctx context.Context, books *books.Books, outfit uuid.UUID, p db.Principal, book *ledger.Book, table *tables.Table, emit func(*ledger.Entry) error, each func(importing.Taken)) (*importing.Result, error) {
	m, last, err := importing.Settle(book, table, o.Kind, importing.Sent{Mapping: o.Mapping, Before: o.Before, SHA256: o.File.SHA256})
	if err != nil {
		return nil, err
	}
	result, err := importing.Take(book, table, m, importing.Options{
		Outfit: outfit, By: p.Name, Now: books.Now(), Progress: o.Progress, Waiting: ctx.Err, File: o.File.Name, SHA256: o.File.SHA256, Last: last, Each: each,
	}, emit)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return result, err
}

// stopping is a table that ends when nobody waits for it any more.
func stopping(ctx context.Context, t *tables.Table) *tables.Table {
	out := *t
	out.Rows = func(yield func(int, []string) bool) error {
		err := t.Rows(func(row int, cells []string) bool {
			return ctx.Err() == nil && yield(row, cells)
		})
		return errors.Join(err, ctx.Err())
	}
	return &out
}

// about is what the book says of an import.
func (o Order) about(r *importing.Result) (*ledger.Import, error) {
	mapping, err := json.Marshal(r.Mapping)
	return &ledger.Import{
		Of: string(o.Kind), File: o.File.Name, Sheet: r.Mapping.Sheet, SHA256: o.File.SHA256, Entries: r.New(), Rows: r.Rows,
		HadRows: r.HadRows, LeftOut: r.LeftOut, Headings: importing.Headings(r.Mapping.Columns), Mapping: mapping,
	}, err
}
