package books_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// BenchmarkOpenFromTheDatabase reads an outfit's book out of PostgreSQL and
// replays it, as the first request after a start does.
func BenchmarkOpenFromTheDatabase(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 500_000, 1_000_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			url := dbtest.New(b)
			outfit := storeLarge(b, url, n)
			service, err := db.Open(b.Context(), dbtest.As(url, db.ServiceRole), db.ServiceRole, 4)
			if err != nil {
				b.Fatal(err)
			}
			defer service.Close()
			for b.Loop() {
				books := books.Open(service, 1)
				err := books.Verify(b.Context(), outfit, func(book *ledger.Book) error {
					if book.Len() <= int64(n) {
						b.Errorf("the book has %d entries", book.Len())
					}
					return nil
				})
				books.Close()
				if err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s/open")
		})
	}
}

// storeLarge puts a large book into a database as it would stand there.
func storeLarge(tb testing.TB, url string, n int) uuid.UUID {
	tb.Helper()
	ctx := tb.Context()
	operator, err := db.Open(ctx, url, db.OperatorRole, 1)
	if err != nil {
		tb.Fatal(err)
	}
	defer operator.Close()
	outfit := db.Outfit{ID: uuid.New(), Name: "Fern Gully Honey", TimeZone: "UTC", Units: "metric"}
	if err := operator.CreateOutfit(ctx, outfit); err != nil {
		tb.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		tb.Fatal(err)
	}
	defer conn.Close(context.Background())
	entries := ledgertest.Large(n, 1)
	var digest [sha256.Size]byte
	head, err := operator.Head(ctx, outfit.ID) // that the outfit was made is an entry itself
	if err != nil {
		tb.Fatal(err)
	}
	copy(digest[:], head.Digest)
	_, err = conn.CopyFrom(ctx, pgx.Identifier{"entry"}, []string{"outfit_id", "number", "entry_id", "kind", "occurred_at", "recorded_at",
		"recorded_by", "replaces", "reason", "content", "digest"}, pgx.CopyFromSlice(n, func(i int) ([]any, error) {
		e := *entries[i]
		e.Number += head.Number
		content, err := e.Content()
		digest = ledger.Chain(digest, e.Number, e.Canonical(content))
		var replaces *[16]byte
		if e.Replaces != (ledger.ID{}) {
			replaces = (*[16]byte)(&e.Replaces)
		}
		return []any{[16]byte(outfit.ID), e.Number, [16]byte(e.ID), string(e.Kind), e.OccurredAt, e.RecordedAt,
			e.RecordedBy, replaces, e.Reason, content, append([]byte(nil), digest[:]...)}, err
	}))
	if err != nil {
		tb.Fatal(err)
	}
	if _, err := conn.Exec(ctx, "UPDATE book SET number = $2, digest = $3 WHERE outfit_id = $1", outfit.ID, head.Number+int64(n), digest[:]); err != nil {
		tb.Fatal(err)
	}
	if _, err := conn.Exec(ctx, "VACUUM ANALYZE entry"); err != nil {
		tb.Fatal(err)
	}
	return outfit.ID
}
