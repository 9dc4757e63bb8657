package books_test

import (
	"fmt"
	"pullbook/db/books/bookstest"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"pullbook/db"
	"pullbook/db/away"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

func TestABookThatIsClosedTakesNothingAndPanicsNever(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "a yard, so that the book is open"})
	var stored sync.Map
	var all sync.WaitGroup
	for w := range 8 {
		all.Go(func() {
			for i := 0; ; i++ {
				e := bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("yard %d of %d", i, w)})
				got, err := h.Books.Append(t.Context(), h.Manager, e)
				if err != nil {
					if fault.CodeOf(err) != fault.Busy {
						t.Error(err)
					}
					return
				}
				stored.Store(got.Entry.ID, true)
			}
		})
	}
	time.Sleep(30 * time.Millisecond)
	h.Books.Close()
	all.Wait()
	h.Books.Close()
	for _, e := range h.Stored(t, h.Outfit) {
		stored.Delete(e.ID)
	}
	stored.Range(func(id, _ any) bool {
		t.Errorf("%v was acknowledged and is not in the book", id)
		return true
	})
	if err := h.Books.Read(t.Context(), h.Manager, func(db.Outfit, *ledger.Book) error { return nil }); err != nil {
		t.Errorf("a closed book cannot be read to the end of a request: %v", err)
	}
}

// TestNothingRunsOnAfterClose runs by itself, so that no other test's writers
// are about.
func TestNothingRunsOnAfterClose(t *testing.T) {
	t.Run("a season", func(t *testing.T) {
		h := open(t)
		for i := range 600 { // enough for the decoders to have work
			h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: fmt.Sprintf("yard %d", i)})
		}
		h.Stored(t, h.Outfit)
	})
	stacks := make([]byte, 1<<20)
	for deadline := time.Now().Add(5 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		running := string(stacks[:runtime.Stack(stacks, true)])
		if !strings.Contains(running, "books.(*writer)") && !strings.Contains(running, "db.newDecoder") && !strings.Contains(running, "pgxpool") {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("still running:\n%s", running)
		}
	}
}

func TestADatabaseThatIsGoneIsToldFromABadEntry(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	if _, err := bookstest.Connect(t, h.URL).Exec(t.Context(), "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"); err != nil {
		t.Fatal(err)
	}
	// The first tries may meet a connection that was cut.
	e := bookstest.Entry(&ledger.Yard{Name: "Birch Hollow"})
	for tries := 0; ; tries++ {
		got, err := h.Books.Append(t.Context(), h.Manager, bookstest.Again(e))
		if err == nil {
			if got.Entry.Number != bookstest.Founded+2 {
				t.Errorf("it has number %d", got.Entry.Number)
			}
			break
		}
		if !away.Unavailable(err) || tries > 20 {
			t.Fatal(err)
		}
	}
	h.Service.Close()
	if _, err := h.Books.Append(t.Context(), h.Manager, bookstest.Entry(&ledger.Yard{Name: "Cedar Flat"})); !away.Unavailable(err) {
		t.Errorf("the database is gone: %v", err)
	}
	if away.Unavailable(fault.New(fault.Conflict, "in use")) {
		t.Error("a clash was taken for an outage")
	}
}
