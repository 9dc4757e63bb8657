package db

import (
	"context"
	"crypto/sha256"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"pullbook/domain/ledger"
)

// sqlInsertEntries stores many entries in one statement, column by column. (COPY
// FROM is not to be had on a table with row-level security.)
const sqlInsertEntries = `
INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at,
                   recorded_by, replaces, reason, content, digest)
SELECT $1, $2 + x.place - 1, x.entry_id, x.kind, x.occurred_at, x.recorded_at,
       x.recorded_by, x.replaces, x.reason, x.content::json, x.digest
  FROM unnest($3::uuid[], $4::text[], $5::timestamptz[], $6::timestamptz[], $7::text[], $8::uuid[], $9::text[], $10::text[], $11::bytea[])
       WITH ORDINALITY AS x (entry_id, kind, occurred_at, recorded_at, recorded_by, replaces, reason, content, digest, place)`

// sqlInsertClaims stores the names that entries take.
const sqlInsertClaims = `
INSERT INTO claim (outfit_id, noun, code, use_no, root_id)
SELECT $1, x.* FROM unnest($2::text[], $3::text[], $4::int[], $5::uuid[]) AS x`

// page is entries as columns, with numbers from first on.
type page struct {
	first             int64
	ids               [][16]byte
	kinds             []string
	occurred          []time.Time
	recorded          []time.Time
	by                []string
	replaces          []pgtype.UUID
	reasons, contents []string
	digests           [][]byte
}

// pageRows is how many entries are stored by one statement.
const pageRows = 1024

func newPage(first int64) *page {
	return &page{
		first: first, ids: make([][16]byte, 0, pageRows), kinds: make([]string, 0, pageRows),
		occurred: make([]time.Time, 0, pageRows), recorded: make([]time.Time, 0, pageRows), by: make([]string, 0, pageRows),
		replaces: make([]pgtype.UUID, 0, pageRows), reasons: make([]string, 0, pageRows), contents: make([]string, 0, pageRows),
		digests: make([][]byte, 0, pageRows),
	}
}

func (p *page) add(e *ledger.Entry, content []byte) {
	p.ids, p.kinds = append(p.ids, e.ID), append(p.kinds, string(e.Kind))
	p.occurred, p.recorded = append(p.occurred, e.OccurredAt), append(p.recorded, e.RecordedAt)
	p.by, p.reasons = append(p.by, e.RecordedBy), append(p.reasons, e.Reason)
	p.replaces = append(p.replaces, pgtype.UUID{Bytes: e.Replaces, Valid: e.Replaces != ledger.ID{}})
	p.contents, p.digests = append(p.contents, string(content)), append(p.digests, e.Digest[:])
}

func (p *page) store(ctx context.Context, tx pgx.Tx, outfit uuid.UUID) error {
	_, err := tx.Exec(ctx, sqlInsertEntries, outfit, p.first, p.ids, p.kinds, p.occurred, p.recorded, p.by, p.replaces, p.reasons, p.contents, p.digests)
	return err
}

// storeClaims stores the names that entries took.
func storeClaims(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, claims []ledger.Claim) error {
	for len(claims) > 0 {
		n := min(len(claims), 4*pageRows)
		var nouns, codes []string
		var uses []int32
		var roots [][16]byte
		for _, c := range claims[:n] {
			nouns, codes = append(nouns, string(c.Noun)), append(codes, c.Code)
			uses, roots = append(uses, int32(c.Use)), append(roots, c.Root)
		}
		if _, err := tx.Exec(ctx, sqlInsertClaims, outfit, nouns, codes, uses, roots); err != nil {
			return err
		}
		claims = claims[n:]
	}
	return nil
}

// chain gives entries their numbers and digests. It does in Go what sqlAppend does
// in the database.
type chain struct {
	by     string
	now    time.Time
	number int64
	digest [sha256.Size]byte
	page   *page
}

// link makes an entry the next one, and gives the page once it is full.
func (c *chain) link(e *ledger.Entry) (full *page, err error) {
	e.RecordedAt, e.RecordedBy = c.now, c.by
	if e.Kind == ledger.KindImport {
		e.OccurredAt = c.now
	}
	_, content, err := ledger.ReadBack(e)
	if err != nil {
		return nil, err
	}
	c.number++
	c.digest = ledger.Chain(c.digest, c.number, e.Canonical(content))
	e.Number, e.Digest = c.number, c.digest
	if c.page == nil {
		c.page = newPage(c.number)
	}
	c.page.add(e, content)
	if len(c.page.ids) < pageRows {
		return nil, nil
	}
	full, c.page = c.page, nil
	return full, nil
}
