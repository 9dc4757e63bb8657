package db

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

const sqlClaims = `
SELECT noun, code, use_no, root_id
  FROM claim
 WHERE outfit_id = $1
 ORDER BY noun, code, use_no`

// storedBook is an outfit's book as the database has it at one instant.
type storedBook struct {
	end     ledger.End
	entries []ledger.Sealed
	claims  []ledger.Claim
	// rows are how the outfit's tables stand, and archived is the last entry that
	// came with an archive.
	rows     []*ledger.Operator
	archived int64
}

// Audit holds an outfit's book against its digests and numbers, replays it and
// looks for grams that are not accounted for. It returns the book, or a
// *ledger.Break in the chain of its error.
func (d *DB) Audit(ctx context.Context, o Outfit) (book *ledger.Book, err error) {
	defer fault.Wrap(&err, "audit the book of %s", o.Name)
	stored, err := d.storedBook(ctx, o.ID)
	if err != nil {
		return nil, err
	}
	return stored.audit(o)
}

// AuditWithin is Audit for a transaction that acts as the operator.
func AuditWithin(ctx context.Context, tx pgx.Tx, o Outfit) (book *ledger.Book, err error) {
	defer fault.Wrap(&err, "audit the book of %s", o.Name)
	if _, err := tx.Exec(ctx, sqlThisOutfit, o.ID.String()); err != nil {
		return nil, fmt.Errorf("name the outfit: %w", err)
	}
	stored, err := storedWithin(ctx, tx, o.ID)
	if err != nil {
		return nil, err
	}
	return stored.audit(o)
}

func (stored storedBook) audit(o Outfit) (book *ledger.Book, err error) {
	loc, zoneErr := o.Location()
	if zoneErr != nil {
		loc = time.UTC // what the table says of the zone is no zone, and differs from the book
	}
	if book, err = ledger.Audit(loc, stored.end, stored.entries, stored.claims); err != nil {
		return nil, err
	}
	if differences := book.OperatorDifferences(stored.rows, stored.archived); len(differences) > 0 {
		return nil, &ledger.Break{What: strings.Join(differences, "; ")}
	}
	if zoneErr != nil {
		return nil, zoneErr
	}
	return book, auditSeasons(book)
}

// auditSeasons looks for a season whose honey does not add up.
func auditSeasons(book *ledger.Book) (err error) {
	book.Of(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
		report, reportErr := season.Of(book, root)
		switch name := e.Body.(*ledger.Season).Name; {
		case reportErr != nil:
			err = reportErr
		case !report.Balance.Balanced():
			err = &ledger.Break{Number: e.Number, What: fmt.Sprintf("is the season %s, whose honey does not balance: %+v", name, report.Balance)}
		}
		return err == nil
	})
	return err
}

// storedBook reads everything in one snapshot, so that entries recorded in the
// meantime are no break.
func (d *DB) storedBook(ctx context.Context, outfit uuid.UUID) (s storedBook, err error) {
	snapshot := pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
	err = d.inOutfit(ctx, outfit, snapshot, func(tx pgx.Tx) (err error) {
		s, err = storedWithin(ctx, tx, outfit)
		return err
	})
	return s, err
}

// storedWithin reads everything in a transaction that sees the outfit.
func storedWithin(ctx context.Context, tx pgx.Tx, outfit uuid.UUID) (s storedBook, err error) {
	var digest []byte
	var access int64
	err = tx.QueryRow(ctx, sqlHead, outfit).Scan(&s.end.Number, &digest, &access)
	if errors.Is(err, pgx.ErrNoRows) {
		return s, &ledger.Break{What: "the outfit's book has no head: the row that counts its entries is gone"}
	}
	if err != nil {
		return s, err
	}
	copy(s.end.Digest[:], digest)
	if err := tx.QueryRow(ctx, sqlArchivedUpTo, outfit).Scan(&s.archived); err != nil {
		return s, err
	}
	if s.rows, err = operatorRows(ctx, tx, outfit); err != nil {
		return s, err
	}
	rows, err := tx.Query(ctx, sqlEntriesAfter, outfit, 0)
	if err != nil {
		return s, err
	}
	if s.entries, err = pgx.CollectRows(rows, sealed); err != nil {
		return s, err
	}
	if rows, err = tx.Query(ctx, sqlClaims, outfit); err != nil {
		return s, err
	}
	s.claims, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (c ledger.Claim, err error) {
		err = row.Scan(&c.Noun, &c.Code, &c.Use, &c.Root)
		return c, err
	})
	return s, err
}

// sealed reads a row of sqlEntriesAfter without looking into its content.
func sealed(row pgx.CollectableRow) (ledger.Sealed, error) {
	s := ledger.Sealed{Entry: new(ledger.Entry)}
	e := s.Entry
	var replaces *uuid.UUID
	var digest []byte
	err := row.Scan(&e.Number, &e.ID, &e.Kind, (*instant)(&e.OccurredAt), (*instant)(&e.RecordedAt), &e.RecordedBy,
		&replaces, &e.Reason, &s.Content, &digest)
	if replaces != nil {
		e.Replaces = *replaces
	}
	copy(e.Digest[:], digest)
	return s, err
}
