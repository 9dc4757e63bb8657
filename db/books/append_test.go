package books_test

import (
	"context"
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

func TestNumbersHaveNoGapWhoeverWrites(t *testing.T) {
	t.Parallel()
	h := open(t)
	processes := []*books.Books{h.Books, h.AnotherProcess(t)}
	type desk struct {
		outfit  uuid.UUID
		manager db.Principal
	}
	desks := []desk{{h.Outfit, h.Manager}}
	for i := range 3 {
		id, p := h.NewOutfit(t, fmt.Sprintf("Outfit %d", i))
		desks = append(desks, desk{id, p})
	}
	const writers, each = 32, 10
	var all sync.WaitGroup
	for w := range writers {
		all.Go(func() {
			d, books := desks[w%len(desks)], processes[w/len(desks)%len(processes)]
			for i := range each {
				if _, err := books.Append(t.Context(), d.manager, bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("yard %d of %d", i, w)})); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	for _, d := range desks {
		if got := len(h.Stored(t, d.outfit)); got != bookstest.Founded+writers*each/len(desks) {
			t.Errorf("%d entries were stored", got)
		}
		for i, books := range processes {
			if err := books.Read(t.Context(), d.manager, func(_ db.Outfit, b *ledger.Book) error {
				if b.Len() != bookstest.Founded+writers*each/int64(len(desks)) {
					t.Errorf("process %d knows %d entries", i+1, b.Len())
				}
				return nil
			}); err != nil {
				t.Error(err)
			}
		}
	}
}

func TestAnEntrySentTwiceAtOnceIsBookedOnce(t *testing.T) {
	t.Parallel()
	h := open(t)
	processes := []*books.Books{h.Books, h.AnotherProcess(t), h.AnotherProcess(t)}
	for round := range 10 {
		e := bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("yard %d", round)})
		var mu sync.Mutex
		var first int
		var all sync.WaitGroup
		for i := range 9 {
			all.Go(func() {
				got, err := processes[i%len(processes)].Append(t.Context(), h.Manager, bookstest.Again(e))
				if err != nil {
					t.Error(err)
					return
				}
				mu.Lock()
				defer mu.Unlock()
				if !got.Again {
					first++
				}
				if got.Entry.Number != int64(bookstest.Founded+round+1) {
					t.Errorf("it was answered with number %d", got.Entry.Number)
				}
			})
		}
		all.Wait()
		if first != 1 {
			t.Errorf("%d of nine were told to be the first", first)
		}
	}
	if got := len(h.Stored(t, h.Outfit)); got != bookstest.Founded+10 {
		t.Errorf("ten entries were booked as %d", got-bookstest.Founded)
	}
}

func TestOneEntryRefusedHarmsNoOtherOfItsGroup(t *testing.T) {
	t.Parallel()
	h := open(t)
	other := h.AnotherProcess(t)
	_, theirs := h.NewOutfit(t, "Two Rivers Honey")
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	var mu sync.Mutex
	taken, clashed, unkept := 0, 0, 0
	var all sync.WaitGroup
	send := func(books *books.Books, p db.Principal, e *ledger.Entry) {
		all.Go(func() {
			_, err := books.Append(t.Context(), p, e)
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				taken++
			case fault.CodeOf(err) == fault.Conflict:
				clashed++
			default:
				unkept++
			}
		})
	}
	for i := range 20 {
		name := fmt.Sprintf("yard %d", i)
		send(other, h.Manager, bookstest.Entry(&ledger.Yard{Name: name}))
		send(other, theirs, bookstest.Entry(&ledger.Yard{Name: name}))
		send(other, h.Manager, bookstest.Entry(&ledger.Yard{Name: "Alder Bend"})) // another has that name
		send(other, theirs, bookstest.Entry(&ledger.Yard{Name: name}))            // of these and those before, one each
		odd := bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("odd yard %d", i)})
		odd.Reason = "\x00" // no text column keeps it
		send(other, h.Manager, odd)
	}
	all.Wait()
	if taken != 40 || clashed != 40 || unkept != 20 {
		t.Errorf("%d were taken, %d clashed, %d cannot be kept", taken, clashed, unkept)
	}
	h.Stored(t, h.Outfit)
	h.Stored(t, theirs.Outfit)
}

func TestOfTwoWhoCorrectAnEntryOneWins(t *testing.T) {
	t.Parallel()
	h := open(t)
	processes := []*books.Books{h.Books, h.AnotherProcess(t)}
	for round := range 10 {
		yard := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: fmt.Sprintf("yard %d", round)}).Entry
		outcomes := make([]error, 4)
		var all sync.WaitGroup
		for i := range outcomes {
			all.Go(func() {
				e := bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("yard %d, by %d", round, i)})
				e.Replaces, e.Reason = yard.ID, "misheard"
				_, outcomes[i] = processes[i%2].Append(t.Context(), h.Manager, e)
			})
		}
		all.Wait()
		won := 0
		for _, err := range outcomes {
			switch {
			case err == nil:
				won++
			case fault.CodeOf(err) != fault.Conflict:
				t.Error(err)
			}
		}
		if won != 1 {
			t.Errorf("%d corrections of one entry were booked", won)
		}
	}
	h.Stored(t, h.Outfit)
}

// packing is a tank, and a lot to fill drums of it into.
type packing struct{ lot, tank, drum ledger.ID }

func (h *honeyHouse) packing(t testing.TB) packing {
	t.Helper()
	year := time.Now().Format("2006")
	h.Record(t, h.Books, h.Manager, &ledger.Season{Name: year, First: ledger.Date(year + "-01-01"), Last: ledger.Date(year + "-12-31")})
	return packing{
		tank: h.Record(t, h.Books, h.Manager, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 4_500_000}).Entry.ID,
		drum: h.Record(t, h.Books, h.Manager, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000}).Entry.ID,
		lot:  h.Record(t, h.Books, h.Manager, &ledger.Lot{Code: "L26-001"}).Entry.ID,
	}
}

func (p packing) fill(container string) *ledger.Fill {
	return &ledger.Fill{LotID: p.lot, TankID: p.tank, ContainerKindID: p.drum, Container: container, TareG: 18_000, GrossG: 308_000}
}

func TestADrumFreedInOneProcessIsFreeInAnother(t *testing.T) {
	t.Parallel()
	h := open(t)
	p := h.packing(t)
	other := h.AnotherProcess(t)
	h.Record(t, other, h.Manager, &ledger.Lot{Code: "L26-002"}) // it has read the book as it is now
	for range 3 {
		drum := h.Record(t, h.Books, h.Manager, p.fill("D-1")).Entry.ID
		if _, err := other.Append(t.Context(), h.Manager, bookstest.Entry(p.fill("d-1"))); fault.CodeOf(err) != fault.Conflict {
			t.Fatalf("the other process filled a full drum: %v", err)
		}
		h.Record(t, h.Books, h.Manager, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, To: ledger.Place{Kind: ledger.PlaceTank, ID: p.tank}})
		drum = h.Record(t, other, h.Manager, p.fill("D-1")).Entry.ID
		h.Record(t, other, h.Manager, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, To: ledger.Place{Kind: ledger.PlaceTank, ID: p.tank}})
	}
	h.Stored(t, h.Outfit)
}

func TestWhatOneProcessRecordsAnotherReads(t *testing.T) {
	t.Parallel()
	h := open(t)
	other := h.AnotherProcess(t)
	length := func(books *books.Books) (n int64) {
		if err := books.Read(t.Context(), h.Manager, func(_ db.Outfit, b *ledger.Book) error { n = b.Len(); return nil }); err != nil {
			t.Fatal(err)
		}
		return n
	}
	for i := range int64(5) {
		writer, reader := h.Books, other
		if i%2 == 1 {
			writer, reader = other, h.Books
		}
		h.Record(t, writer, h.Manager, &ledger.Yard{Name: fmt.Sprintf("yard %d", i)})
		if got := length(reader); got != bookstest.Founded+i+1 {
			t.Errorf("after entry %d the other process knows %d", i+1, got)
		}
	}
}

func TestMoreOutfitsThanBooksAreKeptOpen(t *testing.T) {
	t.Parallel()
	h := open(t)
	books := h.ProcessKeeping(t, 0) // keeps one, the least it can
	managers := []db.Principal{h.Manager}
	for i := range 3 {
		_, p := h.NewOutfit(t, fmt.Sprintf("Outfit %d", i))
		managers = append(managers, p)
	}
	var all sync.WaitGroup
	for i := range 5 {
		for _, p := range managers {
			all.Go(func() {
				if _, err := books.Append(t.Context(), p, bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("yard %d", i)})); err != nil {
					t.Error(err)
				}
			})
		}
	}
	all.Wait()
	for _, p := range managers {
		if got := len(h.Stored(t, p.Outfit)); got != bookstest.Founded+5 {
			t.Errorf("five yards were booked as %d", got)
		}
	}
}

func TestAClientThatLeavesMaySendAgain(t *testing.T) {
	t.Parallel()
	h := open(t)
	left, leave := context.WithCancel(t.Context())
	leave()
	e := bookstest.Entry(&ledger.Yard{Name: "Alder Bend"})
	if _, err := h.Books.Append(left, h.Manager, bookstest.Again(e)); err == nil {
		t.Fatal("an entry of a client that had left was booked")
	}
	// Those that leave while their entry is on its way do not know whether it is
	// booked. Sent again, each is booked once.
	var all sync.WaitGroup
	for i := range 20 {
		all.Go(func() {
			e := bookstest.Entry(&ledger.Yard{Name: fmt.Sprintf("yard %d", i)})
			ctx, cancel := context.WithTimeout(t.Context(), time.Duration(i*50)*time.Microsecond)
			defer cancel()
			_, _ = h.Books.Append(ctx, h.Manager, bookstest.Again(e))
			if _, err := h.Books.Append(t.Context(), h.Manager, bookstest.Again(e)); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if got := len(h.Stored(t, h.Outfit)); got != bookstest.Founded+20 {
		t.Errorf("20 yards were booked as %d", got-bookstest.Founded)
	}
}

func TestATokenRevokedInOneProcessIsNoGoodInAnother(t *testing.T) {
	t.Parallel()
	h := open(t)
	other := h.AnotherProcess(t)
	yard := bookstest.Entry(&ledger.Yard{Name: "Alder Bend"})
	if _, err := other.Append(t.Context(), h.Manager, bookstest.Again(yard)); err != nil {
		t.Fatal(err)
	}
	tokens, err := h.Operator.Tokens(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.Operator.RevokeToken(t.Context(), h.Outfit, tokens[0].ID); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Operator.RevokeToken(t.Context(), h.Outfit, tokens[0].ID); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("a token was revoked twice: %v", err)
	}
	for what, err := range map[string]error{
		"it records":                  second(other.Append(t.Context(), h.Manager, bookstest.Entry(&ledger.Yard{Name: "Birch Hollow"}))),
		"it records a name in use":    second(other.Append(t.Context(), h.Manager, bookstest.Entry(&ledger.Yard{Name: "Alder Bend"}))),
		"it sends what is there":      second(other.Append(t.Context(), h.Manager, bookstest.Again(yard))),
		"it reads":                    other.Read(t.Context(), h.Manager, func(db.Outfit, *ledger.Book) error { return nil }),
		"it is looked up where it is": other.CheckAccess(t.Context(), h.Manager),
	} {
		if fault.CodeOf(err) != fault.SignIn {
			t.Errorf("revoked, and %s: %v", what, err)
		}
	}
	if got := len(h.Stored(t, h.Outfit)); got != bookstest.Founded+2 {
		t.Errorf("the book has %d entries, want those of its founding, a yard and that the token was revoked", got)
	}
}

func second(_ books.Recorded, err error) error { return err }

func TestATokenStaysGoodWhenOthersChange(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"})
	if err := h.Operator.CreatePerson(t.Context(), h.Outfit, db.Person{ID: uuid.New(), Name: "Tam", Role: db.Crew}); err != nil {
		t.Fatal(err)
	}
	if err := h.Operator.CreatePerson(t.Context(), h.Outfit, db.Person{ID: uuid.New(), Name: "tam", Role: db.Crew}); fault.CodeOf(err) != fault.Conflict {
		t.Errorf("there are two of one name: %v", err)
	}
	h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Birch Hollow"})
	if _, err := h.Operator.CreateToken(t.Context(), h.Outfit, "Nobody", "x"); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("a token was made for nobody: %v", err)
	}
}

func TestOutfitsAreSetUpInOrder(t *testing.T) {
	t.Parallel()
	h := open(t)
	for _, o := range []db.Outfit{
		{ID: uuid.New(), Name: "x", TimeZone: "Winnipeg", Units: "metric"},
		{ID: uuid.New(), Name: "x", TimeZone: "", Units: "metric"},
		{ID: uuid.New(), Name: "x", TimeZone: "UTC", Units: "stone"},
	} {
		if err := h.Operator.CreateOutfit(t.Context(), o); fault.CodeOf(err) != fault.Invalid {
			t.Errorf("%+v was set up: %v", o, err)
		}
	}
	if _, err := h.Service.Outfit(t.Context(), uuid.New()); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("an outfit that never was: %v", err)
	}
	if _, err := h.Service.Head(t.Context(), uuid.New()); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("the book of an outfit that never was: %v", err)
	}
}
