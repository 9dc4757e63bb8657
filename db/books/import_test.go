package books_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"pullbook/db/books/bookstest"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// yards brings in so many yards of a name each, and says so.
func yards(n int, name string) books.ImportFunc {
	return func(ahead *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error) {
		for i := range n {
			e := bookstest.Entry(&ledger.Yard{Name: fmt.Sprint(name, " ", i)})
			e.OccurredAt = e.OccurredAt.Truncate(time.Microsecond)
			if err := ahead.Check(e, time.Now()); err != nil {
				return nil, err
			}
			next := *e // what is emitted is not the test's any more
			if err := emit(e); err != nil {
				return nil, err
			}
			next.Number = ahead.Len() + 1
			if err := ahead.Follow(&next); err != nil {
				return nil, err
			}
		}
		return &ledger.Import{Of: "yards", SHA256: "00", Entries: int64(n), Rows: int64(n), Headings: "00", Mapping: json.RawMessage(`{}`)}, nil
	}
}

// What is brought in together has numbers without a gap and digests that follow
// from those before, and an audit finds nothing to say.
func TestAnImportIsPartOfTheBookLikeAnythingElse(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	made, err := h.Books.Import(t.Context(), h.Manager, uuid.New(), yards(2500, "old yard"))
	if err != nil || made.Number != bookstest.Founded+2502 {
		t.Fatalf("%+v, %v", made, err)
	}
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Mill Race"})
	if entries := h.Stored(t, h.Outfit); len(entries) != bookstest.Founded+2503 {
		t.Errorf("%d entries", len(entries))
	}
	for name, books := range map[string]*books.Books{"this process": h.Books, "another": h.AnotherProcess(t)} {
		if err := books.Read(t.Context(), h.Manager, func(_ db.Outfit, b *ledger.Book) error {
			if x := b.InForce(made.ID).Body.(*ledger.Import); b.Len() != bookstest.Founded+2503 || made.Number-x.Entries != bookstest.Founded+2 {
				t.Errorf("%s: the book has %d entries, or takes others for imported", name, b.Len())
			}
			return nil
		}); err != nil {
			t.Error(err)
		}
	}
	o, err := h.Operator.Outfit(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := books.Audit(t.Context(), h.Operator, o); err != nil {
		t.Error(err)
	}
}

// An import that fails at its last row leaves nothing, whether the service or the
// database refuses it.
func TestAnImportIsStoredWholeOrNotAtAll(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	before := h.Rows(t)
	broken := errors.New("the last row is bad")
	for what, after := range map[string]func(emit func(*ledger.Entry) error) error{
		"the service refuses": func(func(*ledger.Entry) error) error { return broken },
		"the database refuses": func(emit func(*ledger.Entry) error) error {
			return emit(bookstest.Entry(&ledger.Tank{Name: "no tank"}))
		},
		"it is in the book already": func(emit func(*ledger.Entry) error) error {
			e := bookstest.Entry(&ledger.Yard{Name: "x"})
			e.ID = h.Stored(t, h.Outfit)[0].ID
			return emit(e)
		},
		"it panics": func(func(*ledger.Entry) error) error { panic("a slip") },
	} {
		take := yards(600, "old yard")
		if _, err := h.Books.Import(t.Context(), h.Manager, uuid.New(), func(ahead *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error) {
			about, err := take(ahead, emit)
			if err == nil {
				err = after(emit)
			}
			return about, err
		}); err == nil {
			t.Errorf("%s, and it was stored", what)
		}
		if h.Rows(t) != before {
			t.Fatalf("%s, and something stayed", what)
		}
	}
	if made, err := h.Books.Import(t.Context(), h.Manager, uuid.New(), func(*ledger.Book, func(*ledger.Entry) error) (*ledger.Import, error) { return nil, nil }); made != nil || err != nil {
		t.Errorf("an import of nothing: %v, %v", made, err)
	}
	if h.Rows(t) != before {
		t.Error("an import of nothing stored something")
	}
}

// While a sheet is brought in, others record: in this process, in another, and at
// another outfit. All comes into the book, once, and in order.
func TestOthersRecordWhileASheetIsBroughtIn(t *testing.T) {
	t.Parallel()
	h := open(t)
	other, otherManager := h.NewOutfit(t, "Sedge Hollow Honey")
	second := h.AnotherProcess(t)
	begun, others := make(chan struct{}), sync.WaitGroup{}
	begin := sync.OnceFunc(func() { close(begun) })
	take := yards(3000, "old yard")
	others.Go(func() {
		<-begun
		for i := range 20 {
			h.Record(t, h.Books, otherManager, &ledger.Yard{Name: fmt.Sprint("elsewhere ", i)})
		}
	})
	for name, books := range map[string]*books.Books{"here": h.Books, "there": second} {
		others.Go(func() {
			<-begun
			for i := range 10 {
				e := bookstest.Entry(&ledger.Yard{Name: fmt.Sprint(name, " ", i)})
				for {
					if _, err := books.Append(t.Context(), h.Manager, e); err == nil {
						break
					} else if fault.CodeOf(err) != fault.Busy {
						t.Error(err)
						return
					}
				}
			}
		})
	}
	if _, err := h.Books.Import(t.Context(), h.Manager, uuid.New(), func(ahead *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error) {
		begin()
		return take(ahead, emit)
	}); err != nil {
		t.Fatal(err)
	}
	others.Wait()
	if n := len(h.Stored(t, h.Outfit)); n != bookstest.Founded+3021 {
		t.Errorf("%d entries", n)
	}
	if n := len(h.Stored(t, other)); n != bookstest.Founded+20 {
		t.Errorf("the other outfit has %d entries", n)
	}
}

// Withdrawing an import is one entry, and its names can be taken again.
func TestAnImportIsWithdrawnByOneEntry(t *testing.T) {
	t.Parallel()
	h := open(t)
	made, err := h.Books.Import(t.Context(), h.Manager, uuid.New(), yards(50, "old yard"))
	if err != nil {
		t.Fatal(err)
	}
	back := bookstest.Entry(&ledger.Withdrawal{})
	back.Replaces, back.Reason = made.ID, "kilograms read as pounds"
	if _, err := h.Books.Append(t.Context(), h.Manager, back); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Books.Import(t.Context(), h.Manager, uuid.New(), yards(50, "old yard")); err != nil {
		t.Fatal(err)
	}
	standing := 0
	if err := h.AnotherProcess(t).Read(t.Context(), h.Manager, func(_ db.Outfit, b *ledger.Book) error {
		b.InForceOf(ledger.KindYard, func(ledger.ID, *ledger.Entry) bool { standing++; return true })
		return nil
	}); err != nil || standing != 50 {
		t.Errorf("%d yards stand, %v", standing, err)
	}
	o, err := h.Operator.Outfit(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := books.Audit(t.Context(), h.Operator, o); err != nil {
		t.Error(err)
	}
}

// Crew record at once while a sheet is read and checked. What they record does not
// change what the sheet comes to, and it is taken over once; what a manager sets up does.
func TestCrewDoNotWaitWhileASheetIsTakenOver(t *testing.T) {
	t.Parallel()
	for what, test := range map[string]struct {
		meanwhile func(yard ledger.ID) ledger.Body
		taken     int
	}{
		"a count of hives": {func(yard ledger.ID) ledger.Body { return &ledger.HiveCount{YardID: yard, Name: "main flow", Hives: 24} }, 1},
		"a new yard":       {func(ledger.ID) ledger.Body { return &ledger.Yard{Name: "Mill Race"} }, 2},
	} {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			h := open(t)
			h.Record(t, h.Books, h.Manager, &ledger.Season{Name: "all", First: "2000-01-01", Last: "2099-12-31"})
			yard := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
			take, taken := yards(600, "old yard"), 0
			made, err := h.Books.Import(t.Context(), h.Manager, uuid.New(), func(ahead *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error) {
				if taken++; taken == 1 {
					h.Record(t, h.Books, h.Manager, test.meanwhile(yard.Entry.ID)) // the sheet waits for it
				}
				return take(ahead, emit)
			})
			if err != nil || made.Number != bookstest.Founded+604 || taken != test.taken {
				t.Fatalf("%+v, %v; the sheet was taken over %d times", made, err, taken)
			}
			if entries := h.Stored(t, h.Outfit); len(entries) != bookstest.Founded+604 {
				t.Errorf("%d entries", len(entries))
			}
		})
	}
}
