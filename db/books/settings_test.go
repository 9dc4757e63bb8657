package books_test

import (
	"testing"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
)

// A book that is open takes up its outfit's new name, time zone, units and decimal mark with the
// entry that says so, in each process that has it open, whether somebody reads first or records.
// As known before, the outfit is what it was.
func TestABookThatIsOpenTakesUpItsOutfitsSettings(t *testing.T) {
	t.Parallel()
	h := open(t)
	reading, recording := h.AnotherProcess(t), h.AnotherProcess(t)
	length := func(books *books.Books) (n int64) {
		if err := books.Read(t.Context(), h.Manager, func(_ db.Outfit, b *ledger.Book) error { n = b.Len(); return nil }); err != nil {
			t.Fatal(err)
		}
		return n
	}
	before := length(reading)
	length(recording)
	was, err := h.Operator.Outfit(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	is := db.Outfit{ID: h.Outfit, Name: "Sedge Hollow", TimeZone: "Europe/Madrid", Units: "us", DecimalMark: "comma"}
	for range 2 { // the second changes nothing
		if err := h.Operator.ChangeOutfit(t.Context(), is); err != nil {
			t.Fatal(err)
		}
	}
	h.Record(t, recording, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	after := before + 2
	for name, books := range map[string]*books.Books{"who reads": reading, "who records": recording, "who opens it now": h.AnotherProcess(t)} {
		look := func(n int64, want db.Outfit) {
			err := books.ReadAsKnown(t.Context(), h.Manager, func(db.Outfit, *ledger.Book) (int64, error) { return n, nil }, func(o db.Outfit, b *ledger.Book) error {
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
		was.DecimalMark = is.DecimalMark // of the spreadsheets that it has now
		look(before, was)
		look(0, was)
	}
	if err := h.Audit(t); err != nil {
		t.Error(err)
	}
}
