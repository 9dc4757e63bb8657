package books_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/books/bookstest"
	"pullbook/db/progress"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// held is a table of entries that somebody else holds, so that a book is opened for long.
func held(t *testing.T, h *honeyHouse) (release func()) {
	t.Helper()
	conn := bookstest.Connect(t, h.URL)
	tx, err := conn.Begin(t.Context())
	if err == nil {
		_, err = tx.Exec(t.Context(), "LOCK TABLE entry IN ACCESS EXCLUSIVE MODE")
	}
	if err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := tx.Rollback(context.Background()); err != nil && !errors.Is(err, pgx.ErrTxClosed) {
			t.Error(err)
		}
	}
}

func TestWhoIsNotPatientIsToldHowFarABookIsThatIsOpened(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.NineEntries(t)
	has := int64(len(h.Stored(t, h.Outfit)))
	process := h.AnotherProcess(t)
	release := held(t, h)
	look := func(db.Outfit, *ledger.Book) error { return nil }
	var still *books.StillOpening
	if err := process.Read(books.WithPatience(t.Context(), time.Millisecond), h.Manager, look); !errors.As(err, &still) {
		t.Fatalf("who waits for a millisecond is told %v", err)
	}
	for end := time.Now().Add(time.Minute); still.Of != has && time.Now().Before(end); {
		if err := process.Read(books.WithPatience(t.Context(), time.Millisecond), h.Manager, look); !errors.As(err, &still) {
			t.Fatalf("who asks again is told %v", err)
		}
	}
	if still.Step != progress.Read || still.Done != 0 || still.Of != has {
		t.Errorf("of %d entries nobody could read one, and the opening is at %+v", has, still.State)
	}
	release()
	var told []progress.Step
	ctx := progress.With(t.Context(), func(step progress.Step, _, of int64) {
		if told = append(told, step); of != has {
			t.Errorf("%s: %d entries, and the book has %d", step, of, has)
		}
	})
	if n, err := h.AnotherProcess(t).Ready(ctx, h.Outfit); err != nil || n != has {
		t.Errorf("the book is opened with %d entries of %d: %v", n, has, err)
	}
	if len(told) < 2 || told[0] != progress.Read || told[len(told)-1] != progress.Replayed {
		t.Errorf("whoever opens it is told %v", told)
	}
	if err := process.Read(books.WithPatience(t.Context(), time.Minute), h.Manager, look); err != nil {
		t.Errorf("once it can be read: %v", err)
	}
}

// A service that is asked to stop does not first read a book to the end.
func TestABookIsNotReadToTheEndOnceTheBooksAreClosed(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.NineEntries(t)
	process := h.AnotherProcess(t)
	defer held(t, h)()
	opened := make(chan error, 1)
	go func() {
		_, err := process.Ready(t.Context(), h.Outfit)
		opened <- err
	}()
	var still *books.StillOpening
	for end := time.Now().Add(time.Minute); still == nil || still.Of == 0; {
		if err := process.Read(books.WithPatience(t.Context(), time.Millisecond), h.Manager, nil); !errors.As(err, &still) {
			t.Fatal(err)
		}
		if time.Now().After(end) {
			t.Fatal("the book is never opened")
		}
	}
	process.Close()
	if err := <-opened; fault.CodeOf(err) != fault.Busy {
		t.Errorf("the opening ends with %v", err)
	}
}
