package main

import (
	"context"
	"fmt"
	"os"
	"testing"

	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/migrations"
)

func TestMain(m *testing.M) {
	os.Exit(dbtest.Main(m, func(_ context.Context, url string) error { return migrations.Up(url) }))
}

// A book that was filled goes on after the entries of the operator's, and passes its
// audit: what is measured on it is measured on a book as there is one.
func TestAFilledBookPassesItsAudit(t *testing.T) {
	t.Parallel()
	ctx, url := t.Context(), dbtest.New(t)
	operator, err := db.Open(ctx, url, db.OperatorRole, 2)
	if err != nil {
		t.Fatal(err)
	}
	defer operator.Close()
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	for i, entries := range []int{1_000, 2_000} {
		s, err := stock(ctx, conn, operator, fmt.Sprint("Season ", i), ledgertest.Large(entries, uint64(i+1)))
		if err != nil {
			t.Fatal(err)
		}
		book, err := books.Audit(ctx, operator, s.Outfit)
		if err != nil {
			t.Fatal(err)
		}
		if book.Len() != s.last || s.last < int64(entries) {
			t.Errorf("the book has %d entries; %d and those of the operator's were to be there, up to %d", book.Len(), entries, s.last)
		}
	}
	s, err := stock(ctx, conn, operator, "Readings", manyReadings(100))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := books.Audit(ctx, operator, s.Outfit); err != nil {
		t.Error(err)
	}
}
