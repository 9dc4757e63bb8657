package db_test

import (
	"fmt"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

func TestABookThatIsClosedTakesNothingAndPanicsNever(t *testing.T) {
	t.Parallel()
	h := open(t)
	var stored sync.Map
	var all sync.WaitGroup
	for w := range 8 {
		all.Go(func() {
			for i := 0; ; i++ {
				e := entry(&ledger.Yard{Name: fmt.Sprintf("yard %d of %d", i, w)})
				got, err := h.books.Append(t.Context(), h.manager, e)
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
	h.books.Close()
	all.Wait()
	h.books.Close()
	for _, e := range h.book(t, h.outfit) {
		stored.Delete(e.ID)
	}
	stored.Range(func(id, _ any) bool {
		t.Errorf("%v was acknowledged and is not in the book", id)
		return true
	})
	if err := h.books.Read(t.Context(), h.manager, func(db.Outfit, *ledger.Book) error { return nil }); err != nil {
		t.Errorf("a closed book cannot be read to the end of a request: %v", err)
	}
}

// TestNothingRunsOnAfterClose runs by itself, so that no other test's writers
// are about.
func TestNothingRunsOnAfterClose(t *testing.T) {
	t.Run("a season", func(t *testing.T) {
		h := open(t)
		for i := range 600 { // enough for the decoders to have work
			h.record(t, h.books, h.manager, &ledger.Yard{Name: fmt.Sprintf("yard %d", i)})
		}
		h.book(t, h.outfit)
	})
	stacks := make([]byte, 1<<20)
	for deadline := time.Now().Add(5 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		running := string(stacks[:runtime.Stack(stacks, true)])
		if !strings.Contains(running, "db.(*writer)") && !strings.Contains(running, "db.newDecoder") && !strings.Contains(running, "pgxpool") {
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
	h.record(t, h.books, h.manager, &ledger.Yard{Name: "Alder Bend"})
	if _, err := connect(t, h.url).Exec(t.Context(), "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"); err != nil {
		t.Fatal(err)
	}
	// The first tries may meet a connection that was cut.
	e := entry(&ledger.Yard{Name: "Birch Hollow"})
	for tries := 0; ; tries++ {
		got, err := h.books.Append(t.Context(), h.manager, again(e))
		if err == nil {
			if got.Entry.Number != founded+2 {
				t.Errorf("it has number %d", got.Entry.Number)
			}
			break
		}
		if !db.Unavailable(err) || tries > 20 {
			t.Fatal(err)
		}
	}
	h.service.Close()
	if _, err := h.books.Append(t.Context(), h.manager, entry(&ledger.Yard{Name: "Cedar Flat"})); !db.Unavailable(err) {
		t.Errorf("the database is gone: %v", err)
	}
	if db.Unavailable(fault.New(fault.Conflict, "in use")) {
		t.Error("a clash was taken for an outage")
	}
}
