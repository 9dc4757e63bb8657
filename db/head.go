package db

import (
	"bytes"
	"context"
	"errors"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

const sqlHead = `
SELECT number, digest, access
  FROM book
 WHERE outfit_id = $1`

// Head is the end of an outfit's book.
type Head struct {
	Number int64
	Digest []byte
	// Access counts the changes to the outfit's people and tokens.
	Access int64
}

// Head reads the end of an outfit's book, which is cheap.
func (d *DB) Head(ctx context.Context, outfit uuid.UUID) (h Head, err error) {
	defer fault.Wrap(&err, "look at the book's head")
	err = d.row(ctx, outfit, []any{&h.Number, &h.Digest, &h.Access}, sqlHead)
	if errors.Is(err, pgx.ErrNoRows) {
		return h, fault.New(fault.NotFound, "There is no outfit %s.", outfit)
	}
	return h, err
}

const (
	sqlHoldHead = sqlHead + `
   FOR UPDATE`
	// An import waits for the entries that are on their way, and for another import.
	sqlWaitLonger = `SET LOCAL lock_timeout = '30s'`
	sqlMoveHead   = `
UPDATE book
   SET number = $2, digest = $3
 WHERE outfit_id = $1`
)

// hold locks the end of an outfit's book until the transaction ends.
func (d *DB) hold(ctx context.Context, tx pgx.Tx, outfit uuid.UUID) (h Head, err error) {
	if _, err := tx.Exec(ctx, sqlWaitLonger); err != nil {
		return h, err
	}
	err = tx.QueryRow(ctx, sqlHoldHead, outfit).Scan(&h.Number, &h.Digest, &h.Access)
	if errors.Is(err, pgx.ErrNoRows) {
		return h, fault.New(fault.NotFound, "There is no outfit %s.", outfit.String())
	}
	return h, err
}

const sqlHeads = `
SELECT outfit_id, number, digest, access
  FROM book`

// HeadsWithin reads the end of each outfit's book. Who asks has to see every outfit's rows, as
// a superuser does.
func HeadsWithin(ctx context.Context, tx pgx.Tx) (heads map[uuid.UUID]Head, err error) {
	defer fault.Wrap(&err, "look at the books' heads")
	rows, err := tx.Query(ctx, sqlHeads)
	if err != nil {
		return nil, err
	}
	heads = map[uuid.UUID]Head{}
	var outfit uuid.UUID
	var h Head
	_, err = pgx.ForEachRow(rows, []any{&outfit, &h.Number, &h.Digest, &h.Access}, func() error {
		heads[outfit] = Head{h.Number, bytes.Clone(h.Digest), h.Access}
		return nil
	})
	return heads, err
}
