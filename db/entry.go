package db

import (
	"context"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// sqlAppend takes the outfit's next number, chains the digest and stores the
// entry, in one statement. It adds nothing, and returns no row, where the entry
// is in the book already or where a person or token of the outfit changed since
// the caller was let in.
const sqlAppend = sqlTakeNumber + sqlInsertEntry

// sqlAppendClaiming is sqlAppend for entries that claim names or codes.
const sqlAppendClaiming = sqlTakeNumber + `, claimed AS (
    INSERT INTO claim (outfit_id, noun, code, use_no, root_id)
    SELECT $1, c.noun, c.code, c.use_no, $15
      FROM head, unnest($12::text[], $13::text[], $14::int[]) AS c (noun, code, use_no)
     WHERE NOT EXISTS (SELECT FROM claim o
                        WHERE o.outfit_id = $1 AND o.noun = c.noun AND o.code = c.code
                          AND o.use_no = c.use_no AND o.root_id = $15)
)` + sqlInsertEntry

const (
	sqlTakeNumber = `
WITH head AS (
    UPDATE book
       SET number = number + 1,
           digest = sha256(digest || int8send(number + 1) || $4)
     WHERE outfit_id = $1
       AND access = $2
       AND NOT EXISTS (SELECT FROM entry WHERE outfit_id = $1 AND entry_id = $3)
    RETURNING number, digest
)`
	sqlInsertEntry = `
INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at,
                   recorded_by, replaces, reason, content, digest)
SELECT $1, head.number, $3, $5, $6, $7, $8, $9, $10, $11, head.digest
  FROM head
RETURNING number, digest`
)

// appendStatement is the statement that stores a draft, with its arguments.
func appendStatement(d *Draft, canonical, content []byte) (sql string, args []any) {
	e := d.Entry
	var replaces *[16]byte
	if e.Replaces != (ledger.ID{}) {
		replaces = (*[16]byte)(&e.Replaces)
	}
	// As bytes: as uuid.UUID each id would go by way of its text.
	args = []any{[16]byte(d.Principal.Outfit), d.Principal.Access, [16]byte(e.ID), canonical, string(e.Kind),
		e.OccurredAt, e.RecordedAt, e.RecordedBy, replaces, e.Reason, content}
	if len(d.Claims) == 0 {
		return sqlAppend, args
	}
	var nouns, codes []string
	var uses []int32
	for _, c := range d.Claims {
		nouns, codes, uses = append(nouns, string(c.Noun)), append(codes, c.Code), append(uses, int32(c.Use))
	}
	return sqlAppendClaiming, append(args, nouns, codes, uses, [16]byte(d.Claims[0].Root))
}

const sqlEntriesAfter = `
SELECT number, entry_id, kind, occurred_at, recorded_at, recorded_by,
       replaces, reason, content::text, digest
  FROM entry
 WHERE outfit_id = $1
   AND number > $2
 ORDER BY number`

// EntriesAfter reads the entries of an outfit's book after the one numbered
// after, in order.
func (d *DB) EntriesAfter(ctx context.Context, outfit uuid.UUID, after int64) (entries []*ledger.Entry, err error) {
	defer fault.Wrap(&err, "read the book after entry %d", after)
	err = d.inOutfit(ctx, outfit, pgx.TxOptions{AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, sqlEntriesAfter, outfit, after)
		if err != nil {
			return err
		}
		entries, err = scanEntries(rows)
		return err
	})
	return entries, err
}

// scanEntries reads rows of sqlEntriesAfter. Bodies are decoded beside the
// reading of the rows, since each takes about as long.
func scanEntries(rows pgx.Rows) ([]*ledger.Entry, error) {
	defer rows.Close()
	decode := newDecoder()
	var entries []*ledger.Entry
	known := words{}
	for rows.Next() {
		e := decode.next()
		var replaces pgtype.UUID
		var kind, by, content, digest pgtype.DriverBytes
		// Ids as bytes: as uuid.UUID each would go by way of its text.
		if err := rows.Scan(&e.Number, (*[16]byte)(&e.ID), &kind, (*instant)(&e.OccurredAt), (*instant)(&e.RecordedAt), &by,
			&replaces, &e.Reason, &content, &digest); err != nil {
			decode.wait()
			return nil, err
		}
		e.Kind, e.RecordedBy, e.Replaces = ledger.Kind(known.of(kind)), known.of(by), replaces.Bytes
		copy(e.Digest[:], digest)
		entries = append(entries, e)
		decode.add(content)
	}
	decode.wait()
	return entries, rows.Err()
}

// words keeps each word once: a book has few kinds and few people.
type words map[string]string

func (w words) of(b []byte) string {
	word, known := w[string(b)]
	if !known {
		word = string(b)
		w[word] = word
	}
	return word
}

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

// Head reads the end of an outfit's book: one cheap look.
func (d *DB) Head(ctx context.Context, outfit uuid.UUID) (h Head, err error) {
	defer fault.Wrap(&err, "look at the book's head")
	err = d.forOutfit(ctx, outfit, func(b *pgx.Batch) {
		b.Queue(sqlHead, outfit).QueryRow(func(row pgx.Row) error {
			return row.Scan(&h.Number, &h.Digest, &h.Access)
		})
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return h, fault.New(fault.NotFound, "There is no outfit %s.", outfit)
	}
	return h, err
}

// micro is the precision that the database keeps.
func micro(t time.Time) time.Time { return t.UTC().Truncate(time.Microsecond) }

// utc is a time as the book writes it; nil where there is none.
func utc(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	u := t.UTC()
	return &u
}
