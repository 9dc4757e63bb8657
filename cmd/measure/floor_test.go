package main

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/dbtest"
)

// What a floor stores is the row that the book stores of the same reading, under the same
// keys, so that the two are measured at the same work.
func TestAFloorStoresTheRowOfTheBook(t *testing.T) {
	t.Parallel()
	ctx, database := t.Context(), dbtest.New(t)
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(makeFloors(ctx, database))
	book, err := serveBook(ctx, dbtest.As(database, db.ServiceRole), time.Now)
	must(err)
	t.Cleanup(book.stop)
	operator, err := db.Open(ctx, database, db.OperatorRole, 2)
	must(err)
	t.Cleanup(operator.Close)
	houses, err := setUp(ctx, operator, book.url, 1)
	must(err)
	record := func(what sending) {
		t.Helper()
		_, err := load(ctx, 1, 0, func(int, int) sending { return what })
		must(err)
	}
	record(houses[0].reading(book.url))
	content, err := storedContent(ctx, database)
	must(err)
	floor, stop, err := serveFloor(ctx, database)
	must(err)
	t.Cleanup(stop)
	conn, err := pgx.Connect(ctx, database)
	must(err)
	t.Cleanup(func() { conn.Close(context.Background()) })
	told := func(sql, table string) (rows []string) {
		t.Helper()
		got, err := conn.Query(ctx, strings.ReplaceAll(sql, "TABLE", table))
		must(err)
		rows, err = pgx.CollectRows(got, pgx.RowTo[string])
		must(err)
		for i := range rows {
			// The book's check was added to a table that might have had entries.
			rows[i] = strings.TrimSuffix(strings.ReplaceAll(rows[i], "REFERENCES "+table+"(", "REFERENCES TABLE("), " NOT VALID")
		}
		return rows
	}
	const stored = `SELECT concat_ws('|', kind, recorded_by, replaces, reason, content, length(digest), pg_column_size(TABLE.*)) FROM TABLE WHERE kind = 'reading'`
	constraints := `SELECT contype::text || ' ' || pg_get_constraintdef(oid) FROM pg_constraint WHERE conrelid = 'TABLE'::regclass AND contype IN (%s) ORDER BY 1`
	const triggers = `SELECT tgname || ' ' || tgtype FROM pg_trigger WHERE tgrelid = 'TABLE'::regclass AND NOT tgisinternal ORDER BY 1`
	for table, same := range map[string][]string{
		bareFloor:    {stored, fmt.Sprintf(constraints, "'p', 'u', 'f'")},
		checkedFloor: {stored, fmt.Sprintf(constraints, "'p', 'u', 'f', 'c'"), triggers},
	} {
		record(floorRequest(floor, table, uuid.New(), content))
		for _, sql := range same {
			ours, theirs := told(sql, "entry"), told(sql, table)
			if len(ours) == 0 || fmt.Sprint(ours) != fmt.Sprint(theirs) {
				t.Errorf("%s\nis of the book %q\nand of the %s %q", sql, ours, table, theirs)
			}
		}
	}
}
