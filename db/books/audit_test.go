package books_test

import (
	"errors"
	"pullbook/db/books/bookstest"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
)

func TestTheAuditFindsWhatASuperuserAltered(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name       string
		statements []string
		number     int64
		says       string
	}{
		{"nothing", nil, 0, ""},
		{"content", []string{`UPDATE entry SET content = replace(content::text, 'Dry Ford', 'Dry Fjord')::json WHERE number = 7`},
			bookstest.Founded + 4, "was altered"},
		{"when it happened", []string{`UPDATE entry SET occurred_at = occurred_at - interval '1 microsecond' WHERE number = 7`},
			bookstest.Founded + 4, "was altered"},
		{"when it was recorded", []string{`UPDATE entry SET recorded_at = recorded_at + interval '1 hour' WHERE number = 12`},
			bookstest.Founded + 9, "was altered"},
		{"who recorded it", []string{`UPDATE entry SET recorded_by = 'Odell' WHERE number = 7`},
			bookstest.Founded + 4, "was altered"},
		{"the reason", []string{`UPDATE entry SET reason = 'no matter' WHERE number = 12`},
			bookstest.Founded + 9, "was altered"},
		{"a digest", []string{`UPDATE entry SET digest = sha256(digest) WHERE number = 7`},
			bookstest.Founded + 4, "has an altered digest"},
		{"an entry in the middle is deleted", []string{`DELETE FROM entry WHERE number = 7`},
			bookstest.Founded + 4, "is missing"},
		{"entries in the middle are deleted", []string{`DELETE FROM entry WHERE number IN (7, 8, 9)`},
			bookstest.Founded + 4, "is missing, and so is every one up to entry 9: entry 10 comes in its place"},
		{"the last entries are deleted", []string{`DELETE FROM entry WHERE number > 10`},
			bookstest.Founded + 8, "is missing, and so is every one up to entry 12: the book counts 12 entries and has 10"},
		{"the last entry is deleted", []string{`DELETE FROM entry WHERE number = 12`},
			bookstest.Founded + 9, "is missing"},
		{"two numbers are swapped", []string{
			`UPDATE entry SET number = 1000 WHERE number = 7`,
			`UPDATE entry SET number = 7 WHERE number = 8`,
			`UPDATE entry SET number = 8 WHERE number = 1000`},
			bookstest.Founded + 4, "is not the one recorded under this number"},
		{"the head's number", []string{`UPDATE book SET number = 11`}, bookstest.Founded + 9, "is not counted"},
		{"the head's digest", []string{`UPDATE book SET digest = sha256(digest)`}, bookstest.Founded + 9, "is not the end that the book wrote down"},
		{"the head is deleted", []string{`DELETE FROM book`}, 0, "has no head"},
		{"a name in use is freed", []string{`DELETE FROM claim WHERE code = 'dry ford'`}, bookstest.Founded + 4, `takes the yard "dry ford"`},
		{"a name is kept for nothing", []string{`INSERT INTO claim (outfit_id, noun, code, root_id) SELECT outfit_id, 'lot', '26-001', outfit_id FROM book`},
			0, `the lot "26-001"`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			h := open(t)
			h.NineEntries(t)
			h.Superuser(t, tt.statements...)
			outfit, err := h.Operator.Outfit(t.Context(), h.Outfit)
			if err != nil {
				t.Fatal(err)
			}
			book, err := books.Audit(t.Context(), h.Operator, outfit)
			if tt.says == "" {
				if err != nil || book.Len() != bookstest.Founded+9 {
					t.Errorf("a book as it was written: %v", err)
				}
				return
			}
			var found *ledger.Break
			if !errors.As(err, &found) {
				t.Fatalf("the audit gave %v", err)
			}
			if found.Number != tt.number || !strings.Contains(found.Error(), tt.says) {
				t.Errorf("the audit named entry %d: %v; want entry %d: %q", found.Number, found, tt.number, tt.says)
			}
		})
	}
}

// What happens in one outfit's book is no break in another's.
func TestTheAuditIsOfOneOutfitAlone(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.NineEntries(t)
	other, _ := h.NewOutfit(t, "Marsh Honey")
	h.Superuser(t, `DELETE FROM entry WHERE number = 7`)
	for id, broken := range map[uuid.UUID]bool{h.Outfit: true, other: false} {
		outfit, err := h.Operator.Outfit(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := books.Audit(t.Context(), h.Operator, outfit); (err != nil) != broken {
			t.Errorf("the audit of %s gave %v", outfit.Name, err)
		}
	}
}

func TestWhoLeftSignsInNoMore(t *testing.T) {
	t.Parallel()
	h := open(t)
	if err := h.Operator.CreatePerson(t.Context(), h.Outfit, db.Person{ID: uuid.New(), Name: "Odell", Role: db.Crew}); err != nil {
		t.Fatal(err)
	}
	secret, err := h.Operator.CreateToken(t.Context(), h.Outfit, "Odell", "phone")
	if err != nil {
		t.Fatal(err)
	}
	odell, err := h.Books.SignIn(t.Context(), secret)
	if err != nil {
		t.Fatal(err)
	}
	who, err := h.Operator.PersonCalled(t.Context(), h.Outfit, "ODELL")
	if err != nil || who.Name != "Odell" {
		t.Fatalf("%q is called Odell: %v", who.Name, err)
	}
	if err := h.Operator.PersonLeaves(t.Context(), h.Outfit, who.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Books.Append(t.Context(), odell, bookstest.Entry(&ledger.Yard{Name: "Alder Bend"})); err == nil {
		t.Error("somebody who left still records")
	}
	if err := h.Books.Read(t.Context(), odell, func(db.Outfit, *ledger.Book) error { return nil }); err == nil {
		t.Error("somebody who left still reads")
	}
	if err := h.Operator.PersonLeaves(t.Context(), h.Outfit, who.ID); err == nil {
		t.Error("somebody left twice")
	}
}
