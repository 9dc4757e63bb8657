package db

import (
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/archive"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

const sqlEntriesUpTo = `
SELECT number, entry_id, kind, occurred_at, recorded_at, recorded_by,
       replaces, reason, content::text, digest
  FROM entry
 WHERE outfit_id = $1
   AND number > $2
   AND number <= $3
 ORDER BY number`

// People leave without what they sign in with, in an order that is the same wherever
// they are.
const sqlArchivedPeople = `
SELECT person_id, name, role, left_at
  FROM person
 WHERE outfit_id = $1
 ORDER BY person_id`

// WriteArchive writes an outfit's whole book, as it is at one instant, but for the
// tables, which tables adds, and ends the archive. Entries go from the database to
// w one by one.
func (d *DB) WriteArchive(ctx context.Context, o Outfit, w io.Writer, tables func(*archive.Writer) error) (m archive.Manifest, err error) {
	defer fault.Wrap(&err, "write the archive of %s", o.Name)
	out := archive.NewWriter(w)
	m.Outfit = archive.Outfit{ID: o.ID, Name: o.Name, TimeZone: o.TimeZone, Units: o.Units}
	snapshot := pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
	err = d.inOutfit(ctx, o.ID, snapshot, func(tx pgx.Tx) error {
		var digest []byte
		var access int64
		if err := tx.QueryRow(ctx, sqlHead, o.ID).Scan(&m.Entries, &digest, &access); err != nil {
			return err
		}
		m.Digest = hex.EncodeToString(digest)
		if err := writeEntries(ctx, tx, out, o.ID, m.Entries); err != nil {
			return err
		}
		if m.Claims, err = writeLines(ctx, tx, out, archive.ClaimsFile, sqlClaims, o.ID, func(row pgx.CollectableRow) (any, error) {
			var c archive.Claim
			return &c, row.Scan(&c.Noun, &c.Code, &c.Use, &c.Root)
		}); err != nil {
			return err
		}
		m.People, err = writeLines(ctx, tx, out, archive.PeopleFile, sqlArchivedPeople, o.ID, func(row pgx.CollectableRow) (any, error) {
			var p archive.Person
			return &p, row.Scan(&p.ID, &p.Name, &p.Role, &p.Left)
		})
		return err
	})
	if err == nil {
		err = tables(out)
	}
	if err == nil {
		err = out.Close(m)
	}
	return m, err
}

// pageRows entries are read at a time, so that a slow reader holds no cursor.
func writeEntries(ctx context.Context, tx pgx.Tx, out *archive.Writer, outfit uuid.UUID, last int64) error {
	to, err := out.Create(archive.EntriesFile)
	if err != nil {
		return err
	}
	var lines []byte
	for after := int64(0); after < last; after += pageRows {
		rows, err := tx.Query(ctx, sqlEntriesUpTo, outfit, after, min(after+pageRows, last))
		if err != nil {
			return err
		}
		page, err := pgx.CollectRows(rows, sealed)
		if err != nil {
			return err
		}
		lines = lines[:0]
		for _, e := range page {
			lines = archive.AppendEntry(lines, e.Entry, e.Content)
		}
		if _, err := to.Write(lines); err != nil {
			return err
		}
	}
	return nil
}

func writeLines(ctx context.Context, tx pgx.Tx, out *archive.Writer, name, sql string, outfit uuid.UUID, scan func(pgx.CollectableRow) (any, error)) (n int64, err error) {
	to, err := out.Create(name)
	if err != nil {
		return 0, err
	}
	rows, err := tx.Query(ctx, sql, outfit)
	if err != nil {
		return 0, err
	}
	defer rows.Close()
	for rows.Next() {
		x, err := scan(rows)
		if err != nil {
			return n, err
		}
		line, err := json.Marshal(x)
		if err != nil {
			return n, err
		}
		if _, err := to.Write(append(line, '\n')); err != nil {
			return n, err
		}
		n++
	}
	return n, rows.Err()
}

// Restored says what came of an archive.
type Restored struct {
	Outfit Outfit
	// Before is how many entries the book had, and After how many it has.
	Before, After int64
}

const sqlInsertPersonOnce = `
INSERT INTO person (outfit_id, person_id, name, role, left_at, created_at)
VALUES ($1, $2, $3, $4, $5, coalesce(least($5, now()), now()))
    ON CONFLICT (outfit_id, person_id) DO NOTHING`

// RestoreArchive puts the book of an archive into this installation, byte for byte,
// whole or not at all. Where there is a book of this outfit, it must be the
// beginning of the archive's, which is then continued, or the archive's the
// beginning of it, and then nothing is done. The error is an *archive.Error or
// *ledger.Break where the archive is not sound.
func (d *DB) RestoreArchive(ctx context.Context, a *archive.Reader) (r Restored, err error) {
	defer fault.Wrap(&err, "restore an archive")
	m := a.Manifest
	r.Outfit = Outfit{ID: m.Outfit.ID, Name: m.Outfit.Name, TimeZone: m.Outfit.TimeZone, Units: m.Outfit.Units}
	entries, claims, err := readArchive(r.Outfit, a)
	if err != nil {
		return r, err
	}
	people, err := a.People()
	if err != nil {
		return r, err
	}
	head, err := d.Head(ctx, r.Outfit.ID)
	fresh := fault.CodeOf(err) == fault.NotFound
	if err != nil && !fresh {
		return r, err
	}
	if fresh {
		if err := r.Outfit.check(); err != nil {
			return r, err
		}
	}
	r.Before, r.After = head.Number, max(head.Number, m.Entries)
	err = d.inOutfit(ctx, r.Outfit.ID, pgx.TxOptions{}, func(tx pgx.Tx) error {
		if fresh {
			if _, err := tx.Exec(ctx, sqlInsertOutfit, r.Outfit.ID, r.Outfit.Name, r.Outfit.TimeZone, r.Outfit.Units); err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, sqlInsertBook, r.Outfit.ID); err != nil {
				return err
			}
		}
		for _, p := range people {
			if _, err := tx.Exec(ctx, sqlInsertPersonOnce, r.Outfit.ID, p.ID, p.Name, p.Role, p.Left); err != nil {
				return fmt.Errorf("person %s: %w", p.Name, err)
			}
		}
		// Who restores sets outfits up; only the service adds to a book.
		if _, err := tx.Exec(ctx, "SET LOCAL ROLE "+pgx.Identifier{ServiceRole}.Sanitize()); err != nil {
			return err
		}
		return continueBook(ctx, tx, d, r.Outfit.ID, entries, claims)
	})
	return r, err
}

// readArchive reads the book of an archive and audits it as if it were stored.
func readArchive(o Outfit, a *archive.Reader) (entries []ledger.Sealed, claims []ledger.Claim, err error) {
	if err := a.Entries(func(s ledger.Sealed) error { entries = append(entries, s); return nil }); err != nil {
		return nil, nil, err
	}
	kept, err := a.Claims()
	if err != nil {
		return nil, nil, err
	}
	for _, c := range kept {
		claims = append(claims, ledger.Claim{Noun: c.Noun, Code: c.Code, Use: c.Use, Root: c.Root})
	}
	loc, err := o.Location()
	if err != nil {
		return nil, nil, fault.New(fault.Invalid, "%s is no time zone; Europe/Madrid or America/Winnipeg would be.", o.TimeZone)
	}
	end := ledger.End{Number: a.Manifest.Entries}
	if n := len(entries); n > 0 {
		end.Digest = entries[n-1].Digest
	}
	_, err = ledger.Audit(loc, end, entries, claims)
	return entries, claims, err
}

// continueBook adds what the book has not got.
func continueBook(ctx context.Context, tx pgx.Tx, d *DB, outfit uuid.UUID, entries []ledger.Sealed, claims []ledger.Claim) error {
	head, err := d.hold(ctx, tx, outfit)
	if err != nil {
		return err
	}
	had := min(head.Number, int64(len(entries)))
	if had > 0 {
		var digest []byte
		if err := tx.QueryRow(ctx, `SELECT digest FROM entry WHERE outfit_id = $1 AND number = $2`, outfit, had).Scan(&digest); err != nil {
			return err
		}
		if !bytes.Equal(digest, entries[had-1].Digest[:]) {
			return fault.New(fault.Conflict, "There is another book of this outfit here: its entry %s is not that of the archive. Nothing was changed.", had)
		}
	}
	rest := entries[had:]
	if len(rest) == 0 {
		return nil
	}
	for len(rest) > 0 {
		n := min(len(rest), pageRows)
		p := newPage(rest[0].Number)
		for _, e := range rest[:n] {
			p.add(e.Entry, e.Content)
		}
		if err := p.store(ctx, tx, outfit); err != nil {
			return err
		}
		rest = rest[n:]
	}
	if err := storeNewClaims(ctx, tx, outfit, claims); err != nil {
		return err
	}
	last := entries[len(entries)-1]
	_, err = tx.Exec(ctx, sqlMoveHead, outfit, last.Number, last.Digest[:])
	return err
}

// storeNewClaims stores the claims that the book has not got.
func storeNewClaims(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, claims []ledger.Claim) error {
	rows, err := tx.Query(ctx, sqlClaims, outfit)
	if err != nil {
		return err
	}
	had := map[ledger.Claim]bool{}
	var c ledger.Claim
	if _, err := pgx.ForEachRow(rows, []any{&c.Noun, &c.Code, &c.Use, &c.Root}, func() error { had[c] = true; return nil }); err != nil {
		return err
	}
	var more []ledger.Claim
	for _, c := range claims {
		if !had[c] {
			more = append(more, c)
		}
	}
	return storeClaims(ctx, tx, outfit, more)
}
