package db

import (
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"io"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db/progress"
	"pullbook/domain/archive"
	"pullbook/domain/document"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

const sqlEntriesUpTo = `
SELECT number, entry_id, kind, occurred_at, recorded_at, recorded_by,
       replaces, reason, content::text, digest
  FROM entry
 WHERE outfit_id = $1
   AND number > $2
   AND number <= $3
 ORDER BY number`

// An archive has no passwords and no codes. The order of people is the same in every
// installation.
const sqlArchivedPeople = `
SELECT person_id, name, role, left_at
  FROM person
 WHERE outfit_id = $1
 ORDER BY person_id`

// WriteArchive writes an outfit's whole book to w, as it is at one instant. tables adds the
// tables, or says why it adds none. Entries go from the database to w one by one and no
// book is opened, so that a book of any size takes the same memory.
func (d *DB) WriteArchive(ctx context.Context, o Outfit, w io.Writer, tables func(*archive.Writer) (without string, err error)) (m archive.Manifest, err error) {
	defer fault.Wrap(&err, "write the archive of %s", o.Name)
	out := archive.NewWriter(w)
	m.Outfit = archive.Outfit{ID: o.ID, Name: o.Name, TimeZone: o.TimeZone, Units: o.Units, DecimalMark: o.DecimalMark}
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
		if err != nil {
			return err
		}
		return writeCertificates(ctx, tx, out, o.ID)
	})
	if err == nil {
		m.NoTables, err = tables(out)
	}
	if err == nil {
		err = out.Close(m)
	}
	return m, err
}

// writeEntries reads some entries at a time, so that a slow reader holds no query open for
// long. It writes each entry as it comes: one alone may be megabytes long.
func writeEntries(ctx context.Context, tx pgx.Tx, out *archive.Writer, outfit uuid.UUID, last int64) error {
	to, err := out.Create(archive.EntriesFile)
	if err != nil {
		return err
	}
	tell := progress.From(ctx)
	var line []byte
	for after := int64(0); after < last; after += pageRows {
		tell(progress.Written, after, last)
		rows, err := tx.Query(ctx, sqlEntriesUpTo, outfit, after, min(after+pageRows, last))
		if err != nil {
			return err
		}
		for rows.Next() {
			e, err := sealed(rows)
			if err != nil {
				rows.Close()
				return err
			}
			line = archive.AppendEntry(line[:0], e.Entry, e.Content)
			if _, err := to.Write(line); err != nil {
				rows.Close()
				return err
			}
		}
		if err := rows.Err(); err != nil {
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

// writeCertificates writes the files of certificates, one in memory at a time.
func writeCertificates(ctx context.Context, tx pgx.Tx, out *archive.Writer, outfit uuid.UUID) error {
	rows, err := tx.Query(ctx, sqlCertificateDigests, outfit)
	if err != nil {
		return err
	}
	digests, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
	if err != nil {
		return err
	}
	for _, digest := range digests {
		var kind document.Type
		var content []byte
		if err := tx.QueryRow(ctx, sqlCertificateFile, outfit, digest).Scan(&kind, &content); err != nil {
			return err
		}
		to, err := out.Create(archive.CertificateName(hex.EncodeToString(digest), kind))
		if err != nil {
			return err
		}
		if _, err := to.Write(content); err != nil {
			return err
		}
	}
	return nil
}

// restoreCertificates stores the files of an archive that are not here.
func (d *DB) restoreCertificates(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, a *archive.Reader, files []archive.Certificate) error {
	for _, f := range files {
		if err := d.CheckRoom(); err != nil {
			return err
		}
		content, err := a.Content(f)
		if err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlInsertCertificateFile, outfit, f.Digest[:], string(f.Type), content); err != nil {
			return err
		}
	}
	return nil
}

// Restored is what became of an archive.
type Restored struct {
	Outfit Outfit
	// Before is how many entries the book had, and After how many it has.
	Before, After int64
}

// RestoreArchive puts the book of an archive into this installation, byte for byte, whole
// or not at all. Where the outfit has a book already, one of the two must be the beginning
// of the other: a shorter book is continued, a longer one is left as it is. Files of
// certificates that are missing here are brought back in any case. RestoreArchive
// fails with an *archive.Error or a *ledger.Break where the archive is damaged.
func (d *DB) RestoreArchive(ctx context.Context, a *archive.Reader) (r Restored, err error) {
	defer fault.Wrap(&err, "restore an archive")
	m := a.Manifest
	r.Outfit = Outfit{ID: m.Outfit.ID, Name: m.Outfit.Name, TimeZone: m.Outfit.TimeZone, Units: m.Outfit.Units, DecimalMark: m.Outfit.DecimalMark}
	told, claims, files, err := auditArchive(ctx, r.Outfit, a)
	if err != nil {
		return r, err
	}
	people, err := a.People()
	if err != nil {
		return r, err
	}
	made := d.Now()
	for _, e := range told {
		if o, ok := e.Body.(*ledger.Operator); ok && o.Outfit != nil {
			made = o.Outfit.MadeAt
			r.Outfit.Name, r.Outfit.TimeZone, r.Outfit.Units = o.Outfit.Name, o.Outfit.TimeZone, o.Outfit.Units
			r.Outfit.DecimalMark, r.Outfit.BlendWeights = o.Outfit.DecimalMark, o.Outfit.BlendWeights
		}
	}
	head, err := d.Head(ctx, r.Outfit.ID)
	fresh := fault.CodeOf(err) == fault.NotFound
	if err != nil && !fresh {
		return r, err
	}
	if err := r.Outfit.check(); err != nil {
		return r, err
	}
	r.Before, r.After = head.Number, max(head.Number, m.Entries)
	err = d.inOutfit(ctx, r.Outfit.ID, pgx.TxOptions{}, func(tx pgx.Tx) error {
		if fresh {
			if _, err := tx.Exec(ctx, sqlRestoreOutfit, r.Outfit.ID, r.Outfit.Name, r.Outfit.TimeZone, r.Outfit.Units, r.Outfit.DecimalMark, made, r.Outfit.BlendWeights); err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, sqlInsertBook, r.Outfit.ID); err != nil {
				return err
			}
		}
		// Who restores sets outfits up; only the service adds to a book.
		if err := actAs(ctx, tx, ServiceRole); err != nil {
			return err
		}
		if err := continueBook(ctx, tx, d, r.Outfit.ID, a, claims); err != nil {
			return err
		}
		if err := d.restoreCertificates(ctx, tx, r.Outfit.ID, a, files); err != nil || r.After == r.Before && !fresh {
			return err
		}
		if err := actAs(ctx, tx, OperatorRole); err != nil {
			return err
		}
		if len(told) > 0 {
			return restoreRows(ctx, tx, r.Outfit.ID, told, r.Before, r.After)
		}
		found, err := d.restorePeople(ctx, tx, r.Outfit.ID, people)
		r.After += found
		return err
	})
	return r, err
}

// actAs changes the role for the rest of the transaction.
func actAs(ctx context.Context, tx pgx.Tx, role string) error {
	_, err := tx.Exec(ctx, "SET LOCAL ROLE "+pgx.Identifier{role}.Sanitize())
	return err
}

// auditArchive audits the book of an archive as if it were stored. It returns the names in
// use, the entries that tell of the outfit's tables, and the files of certificates. It has the whole book in memory,
// without the stored content: that is read again when the entries are stored.
func auditArchive(ctx context.Context, o Outfit, a *archive.Reader) (told []*ledger.Entry, claims []ledger.Claim, files []archive.Certificate, err error) {
	loc, err := o.Location()
	if err != nil {
		return nil, nil, nil, fault.New(fault.Invalid, "%s is not a time zone. Write it like Europe/Madrid or America/Winnipeg.", o.TimeZone)
	}
	var entries, certificates []*ledger.Entry
	unread, tell := false, progress.From(ctx)
	err = a.Entries(func(s ledger.Sealed) error {
		if s.Number%progress.Every == 0 {
			tell(progress.Checked, s.Number, a.Manifest.Entries)
		}
		if !s.Kind.Known() {
			return fault.New(fault.Invalid, "Nothing was stored: entry %s of the archive is of the kind %s, which this version of the program does not know. Bring the archive in with the version that wrote it, or a newer one.", s.Number, message.Verbatim(string(s.Kind)))
		}
		read := s.Read()
		entries = append(entries, read)
		switch {
		case s.Kind == ledger.KindOperator:
			told = append(told, s.Entry)
		case s.Kind.Files():
			certificates, unread = append(certificates, read), unread || read.Kind == ledger.KindUnreadable
		}
		return nil
	})
	if err != nil {
		return nil, nil, nil, err
	}
	kept, err := a.Claims()
	if err != nil {
		return nil, nil, nil, err
	}
	claims = make([]ledger.Claim, len(kept))
	for i, c := range kept {
		claims[i] = ledger.Claim{Noun: c.Noun, Code: c.Code, Use: c.Use, Root: c.Root}
	}
	if files, err = a.Certificates(certificates, unread); err != nil {
		return nil, nil, nil, err
	}
	_, err = ledger.AuditReadAt(tell.In(progress.Replayed), loc, entries, claims)
	return told, claims, files, err
}

// mostPageBytes bounds what the entries of a page say together.
const mostPageBytes = 4 << 20

// continueBook adds the entries that the book lacks, page by page as they are read.
func continueBook(ctx context.Context, tx pgx.Tx, d *DB, outfit uuid.UUID, a *archive.Reader, claims []ledger.Claim) error {
	head, err := d.hold(ctx, tx, outfit)
	if err != nil {
		return err
	}
	m := a.Manifest
	had := min(head.Number, m.Entries)
	var p *page
	var bytesIn int
	tell := progress.From(ctx)
	store := func() error {
		if p == nil {
			return nil
		}
		tell(progress.Stored, p.first-1, m.Entries)
		err := d.storePage(ctx, tx, outfit, p)
		p, bytesIn = nil, 0
		return err
	}
	var digest []byte
	err = a.Entries(func(e ledger.Sealed) error {
		switch {
		case e.Number == had:
			return sameEntry(ctx, tx, outfit, e)
		case e.Number < had:
			return nil
		case p == nil:
			p = newPage(e.Number, pageRows)
		}
		p.add(e.Entry, e.Content)
		digest = e.Digest[:]
		if bytesIn += len(e.Content); len(p.ids) < pageRows && bytesIn < mostPageBytes {
			return nil
		}
		return store()
	})
	if err != nil || digest == nil {
		return err
	}
	if err := store(); err != nil {
		return err
	}
	if err := storeNewClaims(ctx, tx, outfit, claims); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, sqlMoveHead, outfit, m.Entries, digest)
	return err
}

// sameEntry refuses an archive whose entry e is another than that of the book.
func sameEntry(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, e ledger.Sealed) error {
	var digest []byte
	if err := tx.QueryRow(ctx, `SELECT digest FROM entry WHERE outfit_id = $1 AND number = $2`, outfit, e.Number).Scan(&digest); err != nil {
		return err
	}
	if !bytes.Equal(digest, e.Digest[:]) {
		return fault.New(fault.Conflict, "This outfit already has another book here: its entry %s differs from the archive's. Nothing was changed.", e.Number)
	}
	return nil
}
