package db

import (
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db/progress"
	"pullbook/domain/ledger"
)

// StoredBook is an outfit's book as the database has it at one instant.
type StoredBook struct {
	End     ledger.End
	Entries []ledger.Sealed
	Claims  []ledger.Claim
	// Rows are how the outfit's tables stand, and Archived is the last entry that
	// came with an archive.
	Rows     []*ledger.Operator
	Archived int64
	// Files are those of laboratories' certificates, in order of their digests.
	Files []StoredFile
}

// StoredBook reads everything in one snapshot, so that entries recorded in the
// meantime are no break. It fails with a *ledger.Break where the book has no head.
func (d *DB) StoredBook(ctx context.Context, outfit uuid.UUID) (s StoredBook, err error) {
	snapshot := pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
	err = d.inOutfit(ctx, outfit, snapshot, func(tx pgx.Tx) (err error) {
		s, err = storedBookWithin(ctx, tx, outfit)
		return err
	})
	return s, err
}

// StoredBookWithin is StoredBook for a transaction that acts as the operator.
func StoredBookWithin(ctx context.Context, tx pgx.Tx, outfit uuid.UUID) (s StoredBook, err error) {
	if _, err := tx.Exec(ctx, sqlThisOutfit, outfit.String()); err != nil {
		return s, fmt.Errorf("name the outfit: %w", err)
	}
	return storedBookWithin(ctx, tx, outfit)
}

// storedBookWithin reads everything in a transaction that sees the outfit.
func storedBookWithin(ctx context.Context, tx pgx.Tx, outfit uuid.UUID) (s StoredBook, err error) {
	var digest []byte
	var access int64
	err = tx.QueryRow(ctx, sqlHead, outfit).Scan(&s.End.Number, &digest, &access)
	if errors.Is(err, pgx.ErrNoRows) {
		return s, &ledger.Break{What: "the outfit's book has no head: the row that counts its entries is gone"}
	}
	if err != nil {
		return s, err
	}
	copy(s.End.Digest[:], digest)
	if err := tx.QueryRow(ctx, sqlArchivedUpTo, outfit).Scan(&s.Archived); err != nil {
		return s, err
	}
	if s.Rows, err = operatorRows(ctx, tx, outfit); err != nil {
		return s, err
	}
	rows, err := tx.Query(ctx, sqlEntriesAfter, outfit, 0)
	if err != nil {
		return s, err
	}
	tell := progress.From(ctx)
	s.Entries, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (ledger.Sealed, error) {
		e, err := sealed(row)
		if err == nil && e.Number%progress.Every == 0 {
			tell(progress.Read, e.Number, s.End.Number)
		}
		return e, err
	})
	if err != nil {
		return s, err
	}
	if rows, err = tx.Query(ctx, sqlClaims, outfit); err != nil {
		return s, err
	}
	if s.Claims, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.Claim]); err != nil {
		return s, err
	}
	if rows, err = tx.Query(ctx, sqlCertificateFiles, outfit); err != nil {
		return s, err
	}
	s.Files, err = pgx.CollectRows(rows, storedFile)
	return s, err
}
