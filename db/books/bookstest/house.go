// Package bookstest sets up outfits for tests of their books, each test in a database of
// its own.
package bookstest

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
	"pullbook/migrations"
)

// Main runs a package's tests and returns the exit status.
func Main(m *testing.M) int {
	dbtest.Waiting() // for places, and for a database that is silent
	return dbtest.Main(m, func(_ context.Context, url string) error { return migrations.Up(url) })
}

// House is an outfit with a manager's principal.
type House struct {
	URL      string
	Operator *db.DB
	Service  *db.DB
	Books    *books.Books
	Outfit   uuid.UUID
	Manager  db.Principal
}

// Open sets up a house in a database of its own.
func Open(t testing.TB) *House {
	t.Helper()
	ctx := t.Context()
	h := &House{URL: dbtest.New(t)}
	var err error
	if h.Operator, err = db.Open(ctx, h.URL, db.OperatorRole, 2); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.Operator.Close)
	if h.Service, err = db.Open(ctx, dbtest.As(h.URL, db.ServiceRole), db.ServiceRole, 8); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.Service.Close)
	h.Books = books.Open(h.Service, 8)
	t.Cleanup(h.Books.Close)
	h.Outfit, h.Manager = h.NewOutfit(t, "Fern Gully Honey")
	return h
}

// Founded is how many entries NewOutfit makes: of the outfit, its manager and a token.
const Founded = 3

// NewOutfit sets up a further outfit, and returns its manager's principal.
func (h *House) NewOutfit(t testing.TB, name string) (uuid.UUID, db.Principal) {
	t.Helper()
	ctx := t.Context()
	id := uuid.New()
	if err := h.Operator.CreateOutfit(ctx, db.Outfit{ID: id, Name: name, TimeZone: "America/Winnipeg", Units: "metric"}); err != nil {
		t.Fatal(err)
	}
	if err := h.Operator.CreatePerson(ctx, id, db.Person{ID: uuid.New(), Name: "Mirren", Role: db.Manager}); err != nil {
		t.Fatal(err)
	}
	secret, err := h.Operator.CreateToken(ctx, id, "mirren", "test")
	if err != nil {
		t.Fatal(err)
	}
	p, err := h.Books.SignIn(ctx, secret)
	if err != nil {
		t.Fatal(err)
	}
	return id, p
}

// AnotherProcess opens books of its own on the same database.
func (h *House) AnotherProcess(t testing.TB) *books.Books {
	t.Helper()
	return h.ProcessKeeping(t, 8)
}

// ProcessKeeping is AnotherProcess that keeps at most so many books open.
func (h *House) ProcessKeeping(t testing.TB, most int) *books.Books {
	t.Helper()
	service, err := db.Open(t.Context(), h.Service.Pool.Config().ConnString(), db.ServiceRole, 4)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(service.Close)
	b := books.Open(service, most)
	t.Cleanup(b.Close)
	return b
}

// Entry returns an entry of something that happened an hour ago.
func Entry(body ledger.Body) *ledger.Entry {
	return &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: time.Now().Add(-time.Hour), Body: body}
}

// Again returns a copy of an entry, to be sent once more.
func Again(e *ledger.Entry) *ledger.Entry {
	twin := *e
	return &twin
}

// Record puts an entry of something in the book, which must take it.
func (h *House) Record(t testing.TB, b *books.Books, p db.Principal, body ledger.Body) books.Recorded {
	t.Helper()
	got, err := b.Append(t.Context(), p, Entry(body))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// LaboratoryResult records a season and a laboratory's result in it.
func (h *House) LaboratoryResult(t testing.TB, p db.Principal) ledger.ID {
	t.Helper()
	h.Record(t, h.Books, p, &ledger.Season{Name: "all", First: "2000-01-01", Last: "2099-12-31"})
	lot := h.Record(t, h.Books, p, &ledger.Lot{Code: "26-001"}).Entry.ID
	return h.Record(t, h.Books, p, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, Laboratory: "Fern Valley",
		Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.2}}).Entry.ID
}

// CertificateEntry is an entry that puts a file with a laboratory's result, and the file:
// a PDF that says no more than some words.
func CertificateEntry(t testing.TB, result ledger.ID, words string) (*ledger.Entry, *db.CertificateFile) {
	t.Helper()
	f, err := db.NewCertificateFile([]byte("%PDF-1.7 " + words))
	if err != nil {
		t.Fatal(err)
	}
	return Entry(&ledger.LaboratoryCertificate{ReadingID: result, SHA256: f.Hex(), MediaType: f.MediaType, Bytes: int64(len(f.Content)), FileName: words + ".pdf"}), f
}

// Certificate records what CertificateEntry gives, which the book must take.
func (h *House) Certificate(t testing.TB, p db.Principal, result ledger.ID, words string) books.Recorded {
	t.Helper()
	e, f := CertificateEntry(t, result, words)
	got, err := h.Books.AppendFiling(t.Context(), p, e, f)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// NineEntries records a season, seven yards and a correction of the last.
func (h *House) NineEntries(t testing.TB) {
	t.Helper()
	h.Record(t, h.Books, h.Manager, &ledger.Season{Name: "2026", First: "2000-01-01", Last: "2099-12-31"})
	var last books.Recorded
	for _, name := range []string{"Alder Bend", "Birch Slough", "Dry Ford", "Fen Road", "Ironwood", "Long Ditch", "Mill Race"} {
		last = h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: name})
	}
	correction := Entry(&ledger.Yard{Name: "Mill Race", Registration: "SH-1"})
	correction.Replaces, correction.Reason = last.Entry.ID, "the number was forgotten"
	if _, err := h.Books.Append(t.Context(), h.Manager, correction); err != nil {
		t.Fatal(err)
	}
}

// Stored reads an outfit's entries from the database, and checks their numbers and
// digests.
func (h *House) Stored(t testing.TB, outfit uuid.UUID) []*ledger.Entry {
	t.Helper()
	entries, err := h.Service.EntriesAfter(t.Context(), outfit, 0)
	if err != nil {
		t.Fatal(err)
	}
	var digest [32]byte
	for i, e := range entries {
		if e.Number != int64(i+1) {
			t.Fatalf("entry %d has number %d", i+1, e.Number)
		}
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		if digest = ledger.Chain(digest, e.Number, e.Canonical(content)); digest != e.Digest {
			t.Fatalf("entry %d has the digest %x, its content gives %x", e.Number, e.Digest, digest)
		}
	}
	head, err := h.Service.Head(t.Context(), outfit)
	if err != nil {
		t.Fatal(err)
	}
	if head.Number != int64(len(entries)) || !bytes.Equal(head.Digest, digest[:]) {
		t.Fatalf("the head is entry %d, %x; the last is %d, %x", head.Number, head.Digest, len(entries), digest)
	}
	return entries
}

// Audit audits the house's book.
func (h *House) Audit(t testing.TB) error {
	t.Helper()
	outfit, err := h.Operator.Outfit(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	_, err = books.Audit(t.Context(), h.Operator, outfit)
	return err
}

// Superuser runs statements past the triggers and foreign keys, as somebody with the
// database's own password can.
func (h *House) Superuser(t testing.TB, statements ...string) {
	t.Helper()
	conn := Connect(t, h.URL)
	for _, statement := range append([]string{"SET session_replication_role = replica"}, statements...) {
		if _, err := conn.Exec(t.Context(), statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
}

// Rows returns the text of all entries and claims.
func (h *House) Rows(t testing.TB) string {
	t.Helper()
	c := Connect(t, h.URL)
	return strings.Join(append(Texts(t, c, "SELECT e::text FROM entry e ORDER BY outfit_id, number"),
		Texts(t, c, "SELECT c::text FROM claim c ORDER BY outfit_id, noun, code, use_no")...), "\n")
}

// Connect opens a connection of its own, for SQL typed by hand.
func Connect(t testing.TB, url string) *pgx.Conn {
	t.Helper()
	c, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close(context.Background()) })
	return c
}

// Texts returns the rows of a query of one column.
func Texts(t testing.TB, c *pgx.Conn, sql string, args ...any) []string {
	t.Helper()
	rows, err := c.Query(t.Context(), sql, args...)
	if err != nil {
		t.Fatal(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return out
}
