package main

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// stocked is an outfit whose book was filled.
type stocked struct {
	db.Outfit
	// token reads the book, and last is the number of its last entry.
	token string
	last  int64
}

// stock makes an outfit whose book goes on with those entries, chained and with the
// names that they take, so that the book passes its audit.
func stock(ctx context.Context, conn *pgx.Conn, operator *db.DB, name string, entries []*ledger.Entry) (s stocked, err error) {
	s.Outfit = db.Outfit{ID: uuid.New(), Name: name, TimeZone: "America/Winnipeg", Units: "metric"}
	if err := operator.CreateOutfit(ctx, s.Outfit); err != nil {
		return s, err
	}
	if err := operator.CreatePerson(ctx, s.ID, db.Person{ID: uuid.New(), Name: "Mirren", Role: db.Manager}); err != nil {
		return s, err
	}
	// Each of these is an entry of the operator's, and stands before those that follow.
	if s.token, err = operator.CreateToken(ctx, s.ID, "Mirren", "measure"); err != nil {
		return s, err
	}
	head, err := operator.Head(ctx, s.ID)
	if err != nil {
		return s, err
	}
	s.last = head.Number + int64(len(entries))
	digest, err := copyEntries(ctx, conn, s.ID, head, entries)
	if err != nil {
		return s, err
	}
	if err := copyClaims(ctx, conn, s.Outfit, entries); err != nil {
		return s, err
	}
	if _, err := conn.Exec(ctx, "UPDATE book SET number = $2, digest = $3 WHERE outfit_id = $1", s.ID, s.last, digest[:]); err != nil {
		return s, err
	}
	_, err = conn.Exec(ctx, "VACUUM ANALYZE entry")
	return s, err
}

// copyEntries numbers the entries after the head of the book, chains and stores them,
// and gives the last one's digest.
func copyEntries(ctx context.Context, conn *pgx.Conn, outfit uuid.UUID, head db.Head, entries []*ledger.Entry) (digest [32]byte, err error) {
	copy(digest[:], head.Digest)
	_, err = conn.CopyFrom(ctx, pgx.Identifier{"entry"},
		[]string{"outfit_id", "number", "entry_id", "kind", "occurred_at", "recorded_at", "recorded_by", "replaces", "reason", "content", "digest"},
		pgx.CopyFromSlice(len(entries), func(i int) ([]any, error) {
			e := entries[i]
			e.Number, e.RecordedBy = head.Number+int64(i)+1, "Mirren"
			// The database keeps microseconds.
			e.OccurredAt, e.RecordedAt = e.OccurredAt.Truncate(time.Microsecond), e.RecordedAt.Truncate(time.Microsecond)
			content, err := e.Content()
			digest = ledger.Chain(digest, e.Number, e.Canonical(content))
			e.Digest = digest
			var replaces *uuid.UUID
			if e.Replaces != (uuid.UUID{}) {
				replaces = &e.Replaces
			}
			return []any{outfit, e.Number, e.ID, string(e.Kind), e.OccurredAt, e.RecordedAt, e.RecordedBy, replaces, e.Reason, content, e.Digest[:]}, err
		}))
	return digest, err
}

// copyClaims stores the names that the entries take.
func copyClaims(ctx context.Context, conn *pgx.Conn, o db.Outfit, entries []*ledger.Entry) error {
	loc, err := o.Location()
	if err != nil {
		return err
	}
	// A book of its own, for which the entries are numbered from 1.
	numbered := make([]*ledger.Entry, len(entries))
	for i, e := range entries {
		one := *e
		one.Number = int64(i) + 1
		numbered[i] = &one
	}
	book, err := ledger.Open(loc, numbered)
	if err != nil {
		return err
	}
	var claims [][]any
	had := map[ledger.Claim]bool{}
	for e := range book.Entries {
		for _, c := range book.Claims(e) {
			if !had[c] {
				had[c] = true
				claims = append(claims, []any{o.ID, string(c.Noun), c.Code, int32(c.Use), c.Root})
			}
		}
	}
	_, err = conn.CopyFrom(ctx, pgx.Identifier{"claim"}, []string{"outfit_id", "noun", "code", "use_no", "root_id"}, pgx.CopyFromRows(claims))
	return err
}
