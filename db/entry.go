package db

import (
	"context"
	"encoding/binary"
	"errors"
	"math"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"pullbook/db/progress"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// sqlAppend takes the outfit's next number, chains the digest and stores the
// entry, in one statement. It adds nothing and returns no row where the book has the entry
// already, where a person or token of the outfit changed since the caller was let in, or
// where the entry may not follow the book's last one.
const sqlAppend = sqlTakeNumber + sqlInsertEntry

// sqlAppendClaiming is sqlAppend for entries that claim names or codes.
const sqlAppendClaiming = sqlTakeNumber + `, claimed AS (
    INSERT INTO claim (outfit_id, noun, code, use_no, root_id)
    SELECT $1, c.noun, c.code, c.use_no, $16
      FROM head, unnest($13::text[], $14::text[], $15::int[]) AS c (noun, code, use_no)
     WHERE NOT EXISTS (SELECT FROM claim o
                        WHERE o.outfit_id = $1 AND o.noun = c.noun AND o.code = c.code
                          AND o.use_no = c.use_no AND o.root_id = $16)
)` + sqlInsertEntry

const (
	sqlTakeNumber = `
WITH head AS (
    UPDATE book
       SET number = number + 1,
           digest = sha256(digest || int8send(number + 1) || $4)
     WHERE outfit_id = $1
       AND access = $2
       AND ($12::bigint IS NULL OR number = $12)
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

// Draft is an entry on its way into the database.
type Draft struct {
	Outfit uuid.UUID
	// Access is the outfit's access count by which the author may record.
	Access int64
	// Entry gets its number and its digest when it is stored. It has its time of recording.
	Entry *ledger.Entry
	// Content is the entry's content as it is stored.
	Content []byte
	// Claims are the names and codes that the entry takes.
	Claims []ledger.Claim
	// After is the number of the last entry by which this one was checked, where it may be
	// stored right after that one alone; zero for nearly all.
	After int64
	// Chained says that the entry has its number and its digest already. It needs After.
	Chained bool
	// File is the file that the entry names; nil for nearly all. Such an entry claims
	// nothing.
	File *CertificateFile
}

// Append stores drafts in one transaction, in one round trip, and reports which were
// stored. A draft is not stored where its entry is in the book already, where the
// outfit's access count has moved on, or where the book has more entries than After. The
// drafts of an outfit have to stand together.
func (d *DB) Append(ctx context.Context, drafts []*Draft) (stored []bool, err error) {
	stored = make([]bool, len(drafts))
	batch := &pgx.Batch{}
	var outfit uuid.UUID
	place := 0
	for _, r := range runs(drafts) {
		if place == 0 || r[0].Outfit != outfit {
			outfit = r[0].Outfit
			batch.Queue(sqlThisOutfit, outfit.String())
		}
		r.queue(batch, stored[place:place+len(r)])
		place += len(r)
	}
	err = d.Pool.SendBatch(ctx, batch).Close()
	if len(drafts) == 1 && constraint(err) == "entry_id_once" {
		err = nil // another process stored the same entry at the same moment
	}
	return stored, err
}

// statement returns the statement that stores a draft, with its arguments.
func (d *Draft) statement() (sql string, args []any) {
	e := d.Entry
	var replaces *[16]byte
	if e.Replaces != (ledger.ID{}) {
		replaces = (*[16]byte)(&e.Replaces)
	}
	// As bytes: as uuid.UUID each id would go by way of its text.
	args = []any{[16]byte(d.Outfit), d.Access, [16]byte(e.ID), e.Canonical(d.Content), string(e.Kind),
		e.OccurredAt, e.RecordedAt, e.RecordedBy, replaces, e.Reason, d.Content}
	if args = append(args, nil); d.After != 0 {
		args[len(args)-1] = d.After
	}
	if d.File != nil {
		return sqlAppendFiling, append(args, d.File.SHA256[:], string(d.File.MediaType), d.File.Content)
	}
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
       replaces, reason, content, digest
  FROM entry
 WHERE outfit_id = $1
   AND number > $2
 ORDER BY number`

// inBinary has the rows of a statement come as the database keeps them: a book is read in a
// fraction of the time that their texts take.
var inBinary = pgx.QueryResultFormats{pgx.BinaryFormatCode}

// EntriesAfter reads the entries of an outfit's book after the one numbered
// after, in order.
func (d *DB) EntriesAfter(ctx context.Context, outfit uuid.UUID, after int64) (entries []*ledger.Entry, err error) {
	defer fault.Wrap(&err, "read the book after entry %d", after)
	err = d.inOutfit(ctx, outfit, pgx.TxOptions{AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, sqlEntriesAfter, inBinary, outfit, after)
		if err != nil {
			return err
		}
		entries, err = scanEntries(rows, progress.From(ctx))
		return err
	})
	return entries, err
}

// scanEntries reads rows of sqlEntriesAfter that come in binary, and tells how many were read.
// Bodies are decoded on goroutines beside it, since decoding takes about as long as reading
// the rows.
func scanEntries(rows pgx.Rows, tell progress.Tell) ([]*ledger.Entry, error) {
	defer rows.Close()
	decode := newDecoder()
	var entries []*ledger.Entry
	known := interned{}
	for rows.Next() {
		if n := len(entries); n%progress.Every == 0 {
			tell(progress.Read, int64(n), 0)
		}
		e, row := decode.next(), rows.RawValues()
		if err := readHead(e, row, known); err != nil {
			decode.wait()
			return nil, err
		}
		entries = append(entries, e)
		decode.add(row[columnContent])
	}
	decode.wait()
	return entries, rows.Err()
}

// The columns of sqlEntriesAfter.
const (
	columnNumber = iota
	columnID
	columnKind
	columnOccurredAt
	columnRecordedAt
	columnRecordedBy
	columnReplaces
	columnReason
	columnContent
	columnDigest
	columnsOfEntry
)

// readHead reads all of an entry except its content from a row of sqlEntriesAfter in binary.
func readHead(e *ledger.Entry, row [][]byte, known interned) error {
	if len(row) != columnsOfEntry || len(row[columnNumber]) != 8 || len(row[columnID]) != len(e.ID) || len(row[columnOccurredAt]) != 8 ||
		len(row[columnRecordedAt]) != 8 || row[columnReplaces] != nil && len(row[columnReplaces]) != len(e.Replaces) {
		return errors.New("the database sends an entry in another form than this program reads")
	}
	e.Number = int64(binary.BigEndian.Uint64(row[columnNumber]))
	e.Kind, e.RecordedBy, e.Reason = ledger.Kind(known.of(row[columnKind])), known.of(row[columnRecordedBy]), string(row[columnReason])
	e.OccurredAt, e.RecordedAt = instantIn(row[columnOccurredAt]), instantIn(row[columnRecordedAt])
	copy(e.ID[:], row[columnID])
	copy(e.Replaces[:], row[columnReplaces])
	copy(e.Digest[:], row[columnDigest])
	return nil
}

// interned has each word once: a book has few kinds and few people.
type interned map[string]string

func (w interned) of(b []byte) string {
	word, known := w[string(b)]
	if !known {
		word = string(b)
		w[word] = word
	}
	return word
}

// sealed reads a row of sqlEntriesAfter without decoding its content.
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

// microsecondsTo2000 is from 1970 to 2000, from when the database counts microseconds.
const microsecondsTo2000 = 946_684_800_000_000

// instantIn is a timestamptz in binary.
func instantIn(raw []byte) time.Time {
	switch n := int64(binary.BigEndian.Uint64(raw)); n {
	case math.MaxInt64:
		return ledger.Forever
	case math.MinInt64:
		return ledger.SinceEver
	default:
		return time.UnixMicro(n + microsecondsTo2000).UTC()
	}
}

// instant reads an entry's time, also an infinite one: such a time makes its entry
// unreadable, and must not end the reading of the book.
type instant time.Time

func (i *instant) ScanTimestamptz(v pgtype.Timestamptz) error {
	if !v.Valid {
		return errors.New("an entry has no time")
	}
	switch v.InfinityModifier {
	case pgtype.Infinity:
		*i = instant(ledger.Forever)
	case pgtype.NegativeInfinity:
		*i = instant(ledger.SinceEver)
	default:
		*i = instant(v.Time.UTC())
	}
	return nil
}
