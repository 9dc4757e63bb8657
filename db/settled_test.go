package db_test

import (
	"testing"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// A book that is open takes up its outfit's new name, time zone and units with the entry
// that says so, in each process that has it open, whether somebody reads first or records.
// As known before, the outfit is what it was.
func TestABookThatIsOpenTakesUpItsOutfitsSettings(t *testing.T) {
	t.Parallel()
	h := open(t)
	reading, recording := h.anotherProcess(t), h.anotherProcess(t)
	length := func(books *db.Books) (n int64) {
		if err := books.Read(t.Context(), h.manager, func(_ db.Outfit, b *ledger.Book) error { n = b.Len(); return nil }); err != nil {
			t.Fatal(err)
		}
		return n
	}
	before := length(reading)
	length(recording)
	was, err := h.operator.Outfit(t.Context(), h.outfit)
	if err != nil {
		t.Fatal(err)
	}
	is := db.Outfit{ID: h.outfit, Name: "Sedge Hollow", TimeZone: "Europe/Madrid", Units: "us"}
	for range 2 { // the second changes nothing
		if err := h.operator.ChangeOutfit(t.Context(), is); err != nil {
			t.Fatal(err)
		}
	}
	h.record(t, recording, h.manager, &ledger.Yard{Name: "Alder Bend"})
	after := before + 2
	for name, books := range map[string]*db.Books{"who reads": reading, "who records": recording, "who opens it now": h.anotherProcess(t)} {
		look := func(n int64, want db.Outfit) {
			err := books.ReadAsKnown(t.Context(), h.manager, func(db.Outfit, *ledger.Book) (int64, error) { return n, nil }, func(o db.Outfit, b *ledger.Book) error {
				if o != want || b.Location().String() != want.TimeZone || b.Len() != n {
					t.Errorf("%s, as known at %d: %+v, days of %s, %d entries; want %+v", name, n, o, b.Location(), b.Len(), want)
				}
				return nil
			})
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		if got := length(books); got != after {
			t.Errorf("%s: the book has %d entries, want %d", name, got, after)
		}
		look(after, is)
		look(before+1, is)
		look(before, was)
		look(0, was)
	}
	if err := h.audit(t); err != nil {
		t.Error(err)
	}
}

func TestAnOutfitIsNotMadeWhatCannotBe(t *testing.T) {
	t.Parallel()
	h := open(t)
	before := len(h.book(t, h.outfit))
	for what, o := range map[string]db.Outfit{
		"no name":  {ID: h.outfit, Name: " ", TimeZone: "Europe/Madrid", Units: "us"},
		"no zone":  {ID: h.outfit, Name: "Sedge Hollow", TimeZone: "Nowhere", Units: "us"},
		"no units": {ID: h.outfit, Name: "Sedge Hollow", TimeZone: "Europe/Madrid", Units: "stone"},
	} {
		if err := h.operator.ChangeOutfit(t.Context(), o); fault.CodeOf(err) != fault.Invalid {
			t.Errorf("%s: %v", what, err)
		}
	}
	if after := len(h.book(t, h.outfit)); after != before {
		t.Errorf("%d entries tell of it", after-before)
	}
}
