package books_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"pullbook/db/books"
	"pullbook/db/books/bookstest"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// filesOf counts the files that are stored.
func filesOf(t *testing.T, h *honeyHouse) string {
	t.Helper()
	return bookstest.Texts(t, bookstest.Connect(t, h.URL), "SELECT count(*)::text FROM certificate_file")[0]
}

func TestACertificateIsStoredWithItsEntryOrNotAtAll(t *testing.T) {
	t.Parallel()
	h := open(t)
	result := h.LaboratoryResult(t, h.Manager)
	e, f := bookstest.CertificateEntry(t, result, "26-1207")
	first, err := h.Books.AppendFiling(t.Context(), h.Manager, e, f)
	if err != nil || first.Again {
		t.Fatalf("%+v, %v", first, err)
	}
	kept, err := h.Service.CertificateFile(t.Context(), h.Outfit, f.SHA256)
	if err != nil || !bytes.Equal(kept.Content, f.Content) || kept.MediaType != f.MediaType {
		t.Fatalf("%+v, %v", kept, err)
	}
	again, err := h.Books.AppendFiling(t.Context(), h.Manager, bookstest.Again(e), f)
	if err != nil || !again.Again || again.Entry.Number != first.Entry.Number {
		t.Errorf("sent again: %+v, %v", again, err)
	}
	// The same paper tells of two results, and is kept once.
	h.Certificate(t, h.Manager, h.Record(t, h.Books, h.Manager, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.Record(t, h.Books, h.Manager, &ledger.Lot{Code: "26-002"}).Entry.ID},
		Laboratory: "Fern Valley", Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.3}}).Entry.ID, "26-1207")
	if n := filesOf(t, h); n != "1" {
		t.Errorf("%s files are stored", n)
	}
	before := len(h.Stored(t, h.Outfit))

	// What is refused leaves nothing behind: by the book, by the database, and where the
	// entry and the file do not belong together.
	wrong, other := bookstest.CertificateEntry(t, first.Entry.ID, "elsewhere")
	if _, err := h.Books.AppendFiling(t.Context(), h.Manager, wrong, other); fault.CodeOf(err) != fault.Invalid {
		t.Errorf("of no reading: %v", err)
	}
	spoilt, other := bookstest.CertificateEntry(t, result, "spoilt")
	other.Content = append(bytes.Clone(other.Content[:len(other.Content)-1]), '!')
	if _, err := h.Books.AppendFiling(t.Context(), h.Manager, spoilt, other); err == nil {
		t.Error("a file of another digest is stored")
	}
	alone, other := bookstest.CertificateEntry(t, result, "alone")
	if _, err := h.Books.Append(t.Context(), h.Manager, alone); err == nil {
		t.Error("an entry names a file that never came")
	}
	if _, err := h.Books.AppendFiling(t.Context(), h.Manager, bookstest.Again(e), other); err == nil {
		t.Error("an entry names another file than the one that came")
	}
	if n := filesOf(t, h); n != "1" || len(h.Stored(t, h.Outfit)) != before {
		t.Errorf("%s files and %d entries are stored, were 1 and %d", n, len(h.Stored(t, h.Outfit)), before)
	}
	if err := h.Audit(t); err != nil {
		t.Error(err)
	}
	// Another process replays the book with the certificate in it.
	if again, err := h.AnotherProcess(t).AppendFiling(t.Context(), h.Manager, bookstest.Again(e), f); err != nil || !again.Again {
		t.Errorf("another process: %+v, %v", again, err)
	}
}

func TestTheAuditFindsACertificateThatIsNotAsItWas(t *testing.T) {
	t.Parallel()
	const free = `ALTER TABLE certificate_file DROP CONSTRAINT content_has_its_digest`
	for _, tt := range []struct {
		name, says string
		statements []string
		whole      bool
	}{
		{"nothing", "", nil, true},
		{"a byte of it", "was altered: its digest is", []string{free, `UPDATE certificate_file SET content = set_byte(content, 10, 33)`}, false},
		{"its bytes and its digest", "is missing", []string{`UPDATE certificate_file SET content = 'another', sha256 = sha256('another')`}, false},
		{"what it is said to be", "and the file is kept as image/png", []string{`UPDATE certificate_file SET media_type = 'image/png'`}, false},
		{"it is gone", "whose file", []string{`DELETE FROM certificate_file`}, false},
		{"another beside it", "no entry names it", []string{`INSERT INTO certificate_file SELECT outfit_id, sha256('one'), 'application/pdf', 'one' FROM book`}, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			h := open(t)
			named := h.Certificate(t, h.Manager, h.LaboratoryResult(t, h.Manager), "26-1207").Entry
			if tt.name == "it is gone" { // what was withdrawn is kept too
				w := bookstest.Entry(&ledger.Withdrawal{})
				w.Replaces, w.Reason = named.ID, "the wrong paper"
				if _, err := h.Books.Append(t.Context(), h.Manager, w); err != nil {
					t.Fatal(err)
				}
				if err := h.Audit(t); err != nil {
					t.Fatal(err)
				}
			}
			h.Superuser(t, tt.statements...)
			o, err := h.Operator.Outfit(t.Context(), h.Outfit)
			if err != nil {
				t.Fatal(err)
			}
			_, err = books.Audit(t.Context(), h.Operator, o)
			var found *ledger.Break
			switch {
			case tt.whole && err != nil, !tt.whole && !errors.As(err, &found):
				t.Errorf("the audit gave %v", err)
			case !tt.whole && (!strings.Contains(found.What, tt.says) || found.Number != named.Number && tt.says != "no entry names it"):
				t.Errorf("entry %d: %s", found.Number, found.What)
			}
		})
	}
}
