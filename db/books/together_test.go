package books_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/books/bookstest"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

func sentOf(entries ...*ledger.Entry) (out []books.Sent) {
	for _, e := range entries {
		out = append(out, books.Sent{ID: e.ID, Entry: e})
	}
	return out
}

func soon() time.Time { return time.Now().Add(time.Minute) }

// Days that two processes send at once stand in the book without a gap, each entry once, and
// both processes have the book that the database has.
func TestDaysSentAtOnceAreAllBooked(t *testing.T) {
	t.Parallel()
	h := open(t)
	processes := []*books.Books{h.Books, h.AnotherProcess(t)}
	const days, each = 6, 90
	var all sync.WaitGroup
	for day := range days {
		all.Go(func() {
			var entries []*ledger.Entry
			for i := range each {
				entries = append(entries, bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("yard %d of %d", i, day)}))
			}
			for i, a := range processes[day%2].AppendTogether(t.Context(), h.Manager, sentOf(entries...), soon()) {
				if a.Err != nil || a.Entry.ID != entries[i].ID {
					t.Errorf("entry %d of day %d: %v", i, day, a.Err)
				}
			}
		})
		all.Go(func() {
			for i := range 10 {
				if _, err := processes[(day+1)%2].Append(t.Context(), h.Manager, bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("single yard %d of %d", i, day)})); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	stored := h.Stored(t, h.Outfit)
	if want := bookstest.Founded + days*(each+10); len(stored) != want {
		t.Errorf("%d entries are stored, not %d", len(stored), want)
	}
	for _, b := range processes {
		if err := b.Read(t.Context(), h.Manager, func(_ db.Outfit, book *ledger.Book) error {
			if last := book.Last(); book.Len() != int64(len(stored)) || last.Digest != stored[len(stored)-1].Digest {
				t.Errorf("a process has %d entries, the last with digest %x", book.Len(), last.Digest)
			}
			return nil
		}); err != nil {
			t.Error(err)
		}
	}
	if err := h.Audit(t); err != nil {
		t.Error(err)
	}
}

// Where the database refuses one of them, the others of its commit are booked.
func TestOneEntryThatTheDatabaseRefusesHarmsNoOtherOfItsDay(t *testing.T) {
	t.Parallel()
	h := open(t)
	odd := bookstest.Entry(&ledger.Yard{Name: "odd yard"})
	odd.Reason = "\x00" // no text column keeps it
	before, after := bookstest.Entry(&ledger.Yard{Name: "Nettle Bank"}), bookstest.Entry(&ledger.Yard{Name: "Willow End"})
	answers := h.Books.AppendTogether(t.Context(), h.Manager, sentOf(before, odd, after), soon())
	if answers[0].Err != nil || fault.CodeOf(answers[1].Err) != fault.Invalid || answers[2].Err != nil {
		t.Errorf("%v, %v, %v", answers[0].Err, answers[1].Err, answers[2].Err)
	}
	again := h.Books.AppendTogether(t.Context(), h.Manager, sentOf(bookstest.Again(before), bookstest.Again(after)), soon())
	for i, a := range again {
		if a.Err != nil || !a.Again || a.Entry.Number != answers[2*i].Entry.Number {
			t.Errorf("sent again: %+v", a)
		}
	}
	if got := len(h.Stored(t, h.Outfit)); got != bookstest.Founded+2 {
		t.Errorf("%d entries are stored", got)
	}
}

func TestWhatThereIsNoTimeForIsToBeSentAgain(t *testing.T) {
	t.Parallel()
	h := open(t)
	answers := h.Books.AppendTogether(t.Context(), h.Manager, sentOf(bookstest.Entry(&ledger.Yard{Name: "Nettle Bank"})), time.Now())
	if err := answers[0].Err; fault.CodeOf(err) != fault.Busy || !strings.Contains(err.Error(), "same id") {
		t.Errorf("%v", err)
	}
	h.Stored(t, h.Outfit)
}

// A day is held against itself: what the book would refuse of entries sent one after
// another it refuses of those sent together.
func TestADayIsHeldAgainstItself(t *testing.T) {
	t.Parallel()
	h := open(t)
	l := h.loaded(t, 2)
	answers := h.Books.AppendTogether(t.Context(), h.Manager, sentOf(
		bookstest.Entry(l.truck(0)), bookstest.Entry(l.truck(0)), bookstest.Entry(l.held()), bookstest.Entry(l.truck(1))), soon())
	want := []fault.Code{"", fault.Conflict, "", fault.Conflict}
	for i, a := range answers {
		if got := a.Err; want[i] == "" && got != nil || want[i] != "" && fault.CodeOf(got) != want[i] {
			t.Errorf("entry %d: %v", i, got)
		}
	}
}

// Where the program breaks down at one of them, nothing is in memory that is not stored.
func TestABreakdownAmongSeveralLeavesNoEntryThatIsNotStored(t *testing.T) {
	t.Parallel()
	h := open(t)
	first := bookstest.Entry(&ledger.Yard{Name: "Nettle Bank"})
	func() {
		defer func() { _ = recover() }()
		h.Books.AppendTogether(t.Context(), h.Manager, []books.Sent{{ID: first.ID, Entry: first}, {}}, soon())
	}()
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Willow End"})
	stored := int64(len(h.Stored(t, h.Outfit)))
	if err := h.Books.Read(t.Context(), h.Manager, func(_ db.Outfit, b *ledger.Book) error {
		if had, _ := b.Entry(first.ID); had == nil || b.Len() != stored || stored != bookstest.Founded+2 {
			t.Errorf("the book has %d entries, and %d are stored", b.Len(), stored)
		}
		return nil
	}); err != nil {
		t.Error(err)
	}
}
