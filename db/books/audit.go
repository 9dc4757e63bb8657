package books

import (
	"context"
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/progress"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// Audit checks an outfit's book against its digests, its numbers and the outfit's tables,
// replays it, and looks for grams that are not accounted for. It returns the book, or an
// error that wraps a *ledger.Break.
func Audit(ctx context.Context, d *db.DB, o db.Outfit) (book *ledger.Book, err error) {
	defer fault.Wrap(&err, "audit the book of %s", o.Name)
	stored, err := d.StoredBook(ctx, o.ID)
	if err != nil {
		return nil, err
	}
	return audit(ctx, o, stored)
}

// AuditWithin is Audit for a transaction that acts as the operator.
func AuditWithin(ctx context.Context, tx pgx.Tx, o db.Outfit) (book *ledger.Book, err error) {
	defer fault.Wrap(&err, "audit the book of %s", o.Name)
	stored, err := db.StoredBookWithin(ctx, tx, o.ID)
	if err != nil {
		return nil, err
	}
	return audit(ctx, o, stored)
}

func audit(ctx context.Context, o db.Outfit, stored db.StoredBook) (book *ledger.Book, err error) {
	loc, zoneErr := o.Location()
	if zoneErr != nil {
		loc = time.UTC // what the table says of the zone is no zone, and differs from the book
	}
	if book, err = ledger.AuditAt(progress.From(ctx).In(progress.Checked), loc, stored.End, stored.Entries, stored.Claims); err != nil {
		return nil, err
	}
	if differences := book.OperatorDifferences(stored.Rows, stored.Archived); len(differences) > 0 {
		return nil, &ledger.Break{What: strings.Join(differences, "; ")}
	}
	if b := misfiled(book, stored.Files); b != nil {
		return nil, b
	}
	if zoneErr != nil {
		return nil, zoneErr
	}
	return book, auditSeasons(book)
}

// auditSeasons looks for a season whose honey does not add up.
func auditSeasons(book *ledger.Book) (err error) {
	book.InForceOf(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
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

// misfiled holds the files that are stored against the entries that name them, withdrawn
// ones too: each is there, byte for byte, and there is no other.
func misfiled(book *ledger.Book, files []db.StoredFile) *ledger.Break {
	left := make(map[string]db.StoredFile, len(files))
	for _, f := range files {
		left[hex.EncodeToString(f.SHA256[:])] = f
	}
	named := map[string]bool{}
	for e, c := range book.Filings() {
		f, stored := left[c.SHA256]
		switch {
		case !stored:
			return &ledger.Break{Number: e.Number, What: fmt.Sprintf("names the %s %s, whose file %s is missing", paper(e), c.Name, c.SHA256)}
		case f.Content != f.SHA256:
			return &ledger.Break{Number: e.Number, What: fmt.Sprintf("names the %s %s, whose file was altered: its digest is %s, and its bytes give %x", paper(e), c.Name, c.SHA256, f.Content)}
		case f.Bytes != c.Bytes || f.MediaType != c.MediaType:
			return &ledger.Break{Number: e.Number, What: fmt.Sprintf("names the %s %s as %s of %d bytes, and the file is kept as %s of %d bytes", paper(e), c.Name, c.MediaType, c.Bytes, f.MediaType, f.Bytes)}
		}
		named[c.SHA256] = true
	}
	for _, f := range files {
		if digest := hex.EncodeToString(f.SHA256[:]); !named[digest] && !spoiltFilings(book) {
			return &ledger.Break{What: fmt.Sprintf("the file %s is kept, and no entry names it", digest)}
		}
	}
	return nil
}

// paper is what an entry that names a file calls it.
func paper(e *ledger.Entry) string {
	if e.Kind == ledger.KindPhoto {
		return "picture"
	}
	return "certificate"
}

// spoiltFilings reports whether an entry that cannot be read may name a file.
func spoiltFilings(book *ledger.Book) bool {
	for e := range book.Unreadable() {
		if e.Body.(*ledger.Unreadable).Was.Files() {
			return true
		}
	}
	return false
}
