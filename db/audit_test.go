package db_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// nineEntries records a season, seven yards and a correction of the last.
func (h *honeyHouse) nineEntries(t *testing.T) {
	t.Helper()
	bodies := []ledger.Body{&ledger.Season{Name: "2026", First: "2000-01-01", Last: "2099-12-31"}}
	for _, name := range []string{"Alder Bend", "Birch Slough", "Dry Ford", "Fen Road", "Ironwood", "Long Ditch", "Mill Race"} {
		bodies = append(bodies, &ledger.Yard{Name: name})
	}
	var last uuid.UUID
	for _, body := range bodies {
		e := entry(body)
		if _, err := h.books.Append(t.Context(), h.manager, e); err != nil {
			t.Fatal(err)
		}
		last = e.ID
	}
	correction := entry(&ledger.Yard{Name: "Mill Race", Registration: "SH-1"})
	correction.Replaces, correction.Reason = last, "the number was forgotten"
	if _, err := h.books.Append(t.Context(), h.manager, correction); err != nil {
		t.Fatal(err)
	}
}

// superuser runs statements past the triggers and foreign keys, as somebody with
// the database's own password can.
func (h *honeyHouse) superuser(t *testing.T, statements ...string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), h.url)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	for _, statement := range append([]string{"SET session_replication_role = replica"}, statements...) {
		if _, err := conn.Exec(t.Context(), statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
}

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
			founded + 4, "was altered"},
		{"when it happened", []string{`UPDATE entry SET occurred_at = occurred_at - interval '1 microsecond' WHERE number = 7`},
			founded + 4, "was altered"},
		{"when it was recorded", []string{`UPDATE entry SET recorded_at = recorded_at + interval '1 hour' WHERE number = 12`},
			founded + 9, "was altered"},
		{"who recorded it", []string{`UPDATE entry SET recorded_by = 'Odell' WHERE number = 7`},
			founded + 4, "was altered"},
		{"the reason", []string{`UPDATE entry SET reason = 'no matter' WHERE number = 12`},
			founded + 9, "was altered"},
		{"a digest", []string{`UPDATE entry SET digest = sha256(digest) WHERE number = 7`},
			founded + 4, "has an altered digest"},
		{"an entry in the middle is deleted", []string{`DELETE FROM entry WHERE number = 7`},
			founded + 4, "is missing"},
		{"entries in the middle are deleted", []string{`DELETE FROM entry WHERE number IN (7, 8, 9)`},
			founded + 4, "is missing, and so is every one up to entry 9: entry 10 comes in its place"},
		{"the last entries are deleted", []string{`DELETE FROM entry WHERE number > 10`},
			founded + 8, "is missing, and so is every one up to entry 12: the book counts 12 entries and has 10"},
		{"the last entry is deleted", []string{`DELETE FROM entry WHERE number = 12`},
			founded + 9, "is missing"},
		{"two numbers are swapped", []string{
			`UPDATE entry SET number = 1000 WHERE number = 7`,
			`UPDATE entry SET number = 7 WHERE number = 8`,
			`UPDATE entry SET number = 8 WHERE number = 1000`},
			founded + 4, "is not the one recorded under this number"},
		{"the head's number", []string{`UPDATE book SET number = 11`}, founded + 9, "is not counted"},
		{"the head's digest", []string{`UPDATE book SET digest = sha256(digest)`}, founded + 9, "is not the end that the book wrote down"},
		{"the head is deleted", []string{`DELETE FROM book`}, 0, "has no head"},
		{"a name in use is freed", []string{`DELETE FROM claim WHERE code = 'dry ford'`}, founded + 4, `takes the yard "dry ford"`},
		{"a name is kept for nothing", []string{`INSERT INTO claim (outfit_id, noun, code, root_id) SELECT outfit_id, 'lot', '26-001', outfit_id FROM book`},
			0, `the lot "26-001"`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			h := open(t)
			h.nineEntries(t)
			h.superuser(t, tt.statements...)
			outfit, err := h.operator.Outfit(t.Context(), h.outfit)
			if err != nil {
				t.Fatal(err)
			}
			book, err := h.operator.Audit(t.Context(), outfit)
			if tt.says == "" {
				if err != nil || book.Len() != founded+9 {
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
	h.nineEntries(t)
	other, _ := h.newOutfit(t, "Marsh Honey")
	h.superuser(t, `DELETE FROM entry WHERE number = 7`)
	for id, broken := range map[uuid.UUID]bool{h.outfit: true, other: false} {
		outfit, err := h.operator.Outfit(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := h.operator.Audit(t.Context(), outfit); (err != nil) != broken {
			t.Errorf("the audit of %s gave %v", outfit.Name, err)
		}
	}
}

func TestWhoLeftSignsInNoMore(t *testing.T) {
	t.Parallel()
	h := open(t)
	if err := h.operator.CreatePerson(t.Context(), h.outfit, db.Person{ID: uuid.New(), Name: "Odell", Role: db.Crew}); err != nil {
		t.Fatal(err)
	}
	secret, err := h.operator.CreateToken(t.Context(), h.outfit, "Odell", "phone")
	if err != nil {
		t.Fatal(err)
	}
	odell, err := h.books.SignIn(t.Context(), secret)
	if err != nil {
		t.Fatal(err)
	}
	who, err := h.operator.PersonCalled(t.Context(), h.outfit, "ODELL")
	if err != nil || who.Name != "Odell" {
		t.Fatalf("%q is called Odell: %v", who.Name, err)
	}
	if err := h.operator.PersonLeaves(t.Context(), h.outfit, who.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := h.books.Append(t.Context(), odell, entry(&ledger.Yard{Name: "Alder Bend"})); err == nil {
		t.Error("somebody who left still records")
	}
	if err := h.books.Read(t.Context(), odell, func(db.Outfit, *ledger.Book) error { return nil }); err == nil {
		t.Error("somebody who left still reads")
	}
	if err := h.operator.PersonLeaves(t.Context(), h.outfit, who.ID); err == nil {
		t.Error("somebody left twice")
	}
}
