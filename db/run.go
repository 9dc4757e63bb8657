package db

import (
	"bytes"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"
)

// run is drafts of one outfit that one statement stores, one behind the other. It costs the
// database little more than one draft does.
type run []*Draft

// runs parts drafts into those that one statement can store.
func runs(drafts []*Draft) (all []run) {
	for i, d := range drafts {
		if n := len(all) - 1; i > 0 && all[n].canGoOn(d) {
			all[n] = append(all[n], d)
			continue
		}
		all = append(all, run{d})
	}
	return all
}

// canGoOn reports whether a run can have one more draft. What claims names, names a file
// or rests on the entry before it has a statement of its own, and so has an entry that
// comes a second time.
func (r run) canGoOn(d *Draft) bool {
	last := r[len(r)-1]
	if !last.plain() || !d.plain() || d.Outfit != last.Outfit || d.Access != last.Access || d.Chained != last.Chained {
		return false
	}
	if d.Chained && d.After != last.Entry.Number {
		return false
	}
	return !slices.ContainsFunc(r, func(had *Draft) bool { return had.Entry.ID == d.Entry.ID })
}

func (d *Draft) plain() bool {
	return len(d.Claims) == 0 && d.File == nil && (d.Chained || d.After == 0)
}

// sqlAppendRun is sqlAppend for several entries, and returns those that it stored. Entries
// that rest on the one before them are all stored, or none. It looks for each in the book
// by a subquery of its own, which is a look into an index whatever PostgreSQL thinks of how
// many entries there are.
const sqlAppendRun = `
WITH RECURSIVE fresh AS MATERIALIZED (
    SELECT x.*, row_number() OVER (ORDER BY x.place) AS step
      FROM unnest($4::uuid[], $5::bytea[], $6::text[], $7::timestamptz[], $8::timestamptz[], $9::text[], $10::uuid[], $11::text[], $12::text[])
           WITH ORDINALITY AS x (entry_id, canonical, kind, occurred_at, recorded_at, recorded_by, replaces, reason, content, place)
     WHERE (SELECT e.number FROM entry e WHERE e.outfit_id = $1 AND e.entry_id = x.entry_id) IS NULL
), wanted AS MATERIALIZED (
    SELECT count(*) AS entries, array_agg(canonical ORDER BY step) AS forms
      FROM fresh
), head AS MATERIALIZED (
    SELECT number, digest
      FROM book
     WHERE outfit_id = $1
       AND access = $2
       AND ($3::bigint IS NULL OR number = $3 AND (SELECT entries FROM wanted) = cardinality($4::uuid[]))
       FOR UPDATE
), link AS (
    SELECT 0::bigint AS step, number, digest
      FROM head
 UNION ALL
    SELECT l.step + 1, l.number + 1, sha256(l.digest || int8send(l.number + 1) || w.forms[(l.step + 1)::int])
      FROM link l, wanted w
     WHERE l.step < w.entries
), moved AS (
    UPDATE book b
       SET number = l.number, digest = l.digest
      FROM link l, wanted w
     WHERE b.outfit_id = $1
       AND l.step = w.entries
       AND w.entries > 0
)
INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at,
                   recorded_by, replaces, reason, content, digest)
SELECT $1, l.number, f.entry_id, f.kind, f.occurred_at, f.recorded_at,
       f.recorded_by, f.replaces, f.reason, f.content::json, l.digest
  FROM link l
  JOIN fresh f USING (step)
RETURNING number, entry_id, digest`

// queue has a batch store the run. stored is as long as the run.
func (r run) queue(batch *pgx.Batch, stored []bool) {
	if len(r) == 1 {
		sql, args := r[0].statement()
		batch.Queue(sql, args...).QueryRow(func(row pgx.Row) error {
			var number int64
			var digest []byte
			switch err := row.Scan(&number, &digest); err {
			case nil:
				stored[0] = true
				return r[0].take(number, digest)
			case pgx.ErrNoRows:
				return nil
			default:
				return err
			}
		})
		return
	}
	batch.Queue(sqlAppendRun, r.columns()...).Query(func(rows pgx.Rows) error {
		var number int64
		var id [16]byte
		var digest []byte
		_, err := pgx.ForEachRow(rows, []any{&number, &id, &digest}, func() error {
			i := slices.IndexFunc(r, func(d *Draft) bool { return d.Entry.ID == id })
			stored[i] = true
			return r[i].take(number, digest)
		})
		return err
	})
}

// columns are the arguments of sqlAppendRun.
func (r run) columns() []any {
	var after *int64
	if r[0].After != 0 {
		after = &r[0].After
	}
	p, forms := newPage(0, len(r)), make([][]byte, len(r))
	for i, d := range r {
		p.add(d.Entry, d.Content)
		forms[i] = d.Entry.Canonical(d.Content)
	}
	return []any{[16]byte(r[0].Outfit), r[0].Access, after, p.ids, forms, p.kinds, p.occurred, p.recorded, p.by, p.replaces, p.reasons, p.contents}
}

// take gives a stored entry its number and its digest.
func (d *Draft) take(number int64, digest []byte) error {
	e := d.Entry
	if d.Chained && (number != e.Number || !bytes.Equal(digest, e.Digest[:])) {
		return fmt.Errorf("entry %d was stored as %d, or after another one than it was chained to", e.Number, number)
	}
	e.Number = number
	copy(e.Digest[:], digest)
	return nil
}
