package db_test

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// anotherProcess opens books of its own on the same database.
func (h *honeyHouse) anotherProcess(t testing.TB) *db.Books {
	t.Helper()
	return h.processKeeping(t, 8)
}

func (h *honeyHouse) processKeeping(t testing.TB, books int) *db.Books {
	t.Helper()
	service, err := db.Open(t.Context(), h.service.Pool.Config().ConnString(), db.ServiceRole, 4)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(service.Close)
	b := db.OpenBooks(service, books)
	t.Cleanup(b.Close)
	return b
}

// record puts an entry of something in the book, which must take it.
func (h *honeyHouse) record(t testing.TB, books *db.Books, p db.Principal, body ledger.Body) db.Recorded {
	t.Helper()
	got, err := books.Append(t.Context(), p, entry(body))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// book reads an outfit's book from the database and holds it to its numbers and
// its digests.
func (h *honeyHouse) book(t testing.TB, outfit uuid.UUID) []*ledger.Entry {
	t.Helper()
	entries, err := h.service.EntriesAfter(t.Context(), outfit, 0)
	if err != nil {
		t.Fatal(err)
	}
	var digest [32]byte
	for i, e := range entries {
		if e.Number != int64(i+1) {
			t.Fatalf("entry %d has number %d", i+1, e.Number)
		}
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		if digest = ledger.Chain(digest, e.Number, e.Canonical(content)); digest != e.Digest {
			t.Fatalf("entry %d has the digest %x, its content gives %x", e.Number, e.Digest, digest)
		}
	}
	head, err := h.service.Head(t.Context(), outfit)
	if err != nil {
		t.Fatal(err)
	}
	if head.Number != int64(len(entries)) || !bytes.Equal(head.Digest, digest[:]) {
		t.Fatalf("the head is entry %d, %x; the last is %d, %x", head.Number, head.Digest, len(entries), digest)
	}
	return entries
}

func again(e *ledger.Entry) *ledger.Entry {
	twin := *e
	return &twin
}

func TestNumbersHaveNoGapWhoeverWrites(t *testing.T) {
	t.Parallel()
	h := open(t)
	processes := []*db.Books{h.books, h.anotherProcess(t)}
	type desk struct {
		outfit  uuid.UUID
		manager db.Principal
	}
	desks := []desk{{h.outfit, h.manager}}
	for i := range 3 {
		id, p := h.newOutfit(t, fmt.Sprintf("Outfit %d", i))
		desks = append(desks, desk{id, p})
	}
	const writers, each = 32, 10
	var all sync.WaitGroup
	for w := range writers {
		all.Go(func() {
			d, books := desks[w%len(desks)], processes[w/len(desks)%len(processes)]
			for i := range each {
				if _, err := books.Append(t.Context(), d.manager, entry(&ledger.Yard{Name: fmt.Sprintf("yard %d of %d", i, w)})); err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	for _, d := range desks {
		if got := len(h.book(t, d.outfit)); got != founded+writers*each/len(desks) {
			t.Errorf("%d entries were stored", got)
		}
		for i, books := range processes {
			if err := books.Read(t.Context(), d.manager, func(_ db.Outfit, b *ledger.Book) error {
				if b.Len() != founded+writers*each/int64(len(desks)) {
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
	processes := []*db.Books{h.books, h.anotherProcess(t), h.anotherProcess(t)}
	for round := range 10 {
		e := entry(&ledger.Yard{Name: fmt.Sprintf("yard %d", round)})
		var mu sync.Mutex
		var first int
		var all sync.WaitGroup
		for i := range 9 {
			all.Go(func() {
				got, err := processes[i%len(processes)].Append(t.Context(), h.manager, again(e))
				if err != nil {
					t.Error(err)
					return
				}
				mu.Lock()
				defer mu.Unlock()
				if !got.Again {
					first++
				}
				if got.Entry.Number != int64(founded+round+1) {
					t.Errorf("it was answered with number %d", got.Entry.Number)
				}
			})
		}
		all.Wait()
		if first != 1 {
			t.Errorf("%d of nine were told to be the first", first)
		}
	}
	if got := len(h.book(t, h.outfit)); got != founded+10 {
		t.Errorf("ten entries were booked as %d", got-founded)
	}
}

func TestOneEntryRefusedHarmsNoOtherOfItsGroup(t *testing.T) {
	t.Parallel()
	h := open(t)
	other := h.anotherProcess(t)
	_, theirs := h.newOutfit(t, "Two Rivers Honey")
	h.record(t, h.books, h.manager, &ledger.Yard{Name: "Alder Bend"})
	var mu sync.Mutex
	taken, clashed, unkept := 0, 0, 0
	var all sync.WaitGroup
	send := func(books *db.Books, p db.Principal, e *ledger.Entry) {
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
		send(other, h.manager, entry(&ledger.Yard{Name: name}))
		send(other, theirs, entry(&ledger.Yard{Name: name}))
		send(other, h.manager, entry(&ledger.Yard{Name: "Alder Bend"})) // another has that name
		send(other, theirs, entry(&ledger.Yard{Name: name}))            // of these and those before, one each
		odd := entry(&ledger.Yard{Name: fmt.Sprintf("odd yard %d", i)})
		odd.Reason = "\x00" // no text column keeps it
		send(other, h.manager, odd)
	}
	all.Wait()
	if taken != 40 || clashed != 40 || unkept != 20 {
		t.Errorf("%d were taken, %d clashed, %d cannot be kept", taken, clashed, unkept)
	}
	h.book(t, h.outfit)
	h.book(t, theirs.Outfit)
}

func TestOfTwoWhoCorrectAnEntryOneWins(t *testing.T) {
	t.Parallel()
	h := open(t)
	processes := []*db.Books{h.books, h.anotherProcess(t)}
	for round := range 10 {
		yard := h.record(t, h.books, h.manager, &ledger.Yard{Name: fmt.Sprintf("yard %d", round)}).Entry
		outcomes := make([]error, 4)
		var all sync.WaitGroup
		for i := range outcomes {
			all.Go(func() {
				e := entry(&ledger.Yard{Name: fmt.Sprintf("yard %d, by %d", round, i)})
				e.Replaces, e.Reason = yard.ID, "misheard"
				_, outcomes[i] = processes[i%2].Append(t.Context(), h.manager, e)
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
	h.book(t, h.outfit)
}

// packing is a tank, and a lot to fill drums of it into.
type packing struct{ lot, tank, drum ledger.ID }

func (h *honeyHouse) packing(t testing.TB) packing {
	t.Helper()
	year := time.Now().Format("2006")
	h.record(t, h.books, h.manager, &ledger.Season{Name: year, First: ledger.Date(year + "-01-01"), Last: ledger.Date(year + "-12-31")})
	return packing{
		tank: h.record(t, h.books, h.manager, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 4_500_000}).Entry.ID,
		drum: h.record(t, h.books, h.manager, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000}).Entry.ID,
		lot:  h.record(t, h.books, h.manager, &ledger.Lot{Code: "L26-001"}).Entry.ID,
	}
}

func (p packing) fill(container string) *ledger.Fill {
	return &ledger.Fill{LotID: p.lot, TankID: p.tank, ContainerKindID: p.drum, Container: container, TareG: 18_000, GrossG: 308_000}
}

func TestADrumFreedInOneProcessIsFreeInAnother(t *testing.T) {
	t.Parallel()
	h := open(t)
	p := h.packing(t)
	other := h.anotherProcess(t)
	h.record(t, other, h.manager, &ledger.Lot{Code: "L26-002"}) // it has read the book as it is now
	for range 3 {
		drum := h.record(t, h.books, h.manager, p.fill("D-1")).Entry.ID
		if _, err := other.Append(t.Context(), h.manager, entry(p.fill("d-1"))); fault.CodeOf(err) != fault.Conflict {
			t.Fatalf("the other process filled a full drum: %v", err)
		}
		h.record(t, h.books, h.manager, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, To: ledger.Place{Kind: ledger.PlaceTank, ID: p.tank}})
		drum = h.record(t, other, h.manager, p.fill("D-1")).Entry.ID
		h.record(t, other, h.manager, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, To: ledger.Place{Kind: ledger.PlaceTank, ID: p.tank}})
	}
	h.book(t, h.outfit)
}

func TestWhatOneProcessRecordsAnotherReads(t *testing.T) {
	t.Parallel()
	h := open(t)
	other := h.anotherProcess(t)
	length := func(books *db.Books) (n int64) {
		if err := books.Read(t.Context(), h.manager, func(_ db.Outfit, b *ledger.Book) error { n = b.Len(); return nil }); err != nil {
			t.Fatal(err)
		}
		return n
	}
	for i := range int64(5) {
		writer, reader := h.books, other
		if i%2 == 1 {
			writer, reader = other, h.books
		}
		h.record(t, writer, h.manager, &ledger.Yard{Name: fmt.Sprintf("yard %d", i)})
		if got := length(reader); got != founded+i+1 {
			t.Errorf("after entry %d the other process knows %d", i+1, got)
		}
	}
}

func TestMoreOutfitsThanBooksAreKeptOpen(t *testing.T) {
	t.Parallel()
	h := open(t)
	books := h.processKeeping(t, 0) // keeps one, the least it can
	managers := []db.Principal{h.manager}
	for i := range 3 {
		_, p := h.newOutfit(t, fmt.Sprintf("Outfit %d", i))
		managers = append(managers, p)
	}
	var all sync.WaitGroup
	for i := range 5 {
		for _, p := range managers {
			all.Go(func() {
				if _, err := books.Append(t.Context(), p, entry(&ledger.Yard{Name: fmt.Sprintf("yard %d", i)})); err != nil {
					t.Error(err)
				}
			})
		}
	}
	all.Wait()
	for _, p := range managers {
		if got := len(h.book(t, p.Outfit)); got != founded+5 {
			t.Errorf("five yards were booked as %d", got)
		}
	}
}

func TestAClientThatLeavesMaySendAgain(t *testing.T) {
	t.Parallel()
	h := open(t)
	left, leave := context.WithCancel(t.Context())
	leave()
	e := entry(&ledger.Yard{Name: "Alder Bend"})
	if _, err := h.books.Append(left, h.manager, again(e)); err == nil {
		t.Fatal("an entry of a client that had left was booked")
	}
	// Those that leave while their entry is on its way do not know whether it is
	// booked. Sent again, each is booked once.
	var all sync.WaitGroup
	for i := range 20 {
		all.Go(func() {
			e := entry(&ledger.Yard{Name: fmt.Sprintf("yard %d", i)})
			ctx, cancel := context.WithTimeout(t.Context(), time.Duration(i*50)*time.Microsecond)
			defer cancel()
			_, _ = h.books.Append(ctx, h.manager, again(e))
			if _, err := h.books.Append(t.Context(), h.manager, again(e)); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if got := len(h.book(t, h.outfit)); got != founded+20 {
		t.Errorf("20 yards were booked as %d", got-founded)
	}
}

func TestATokenRevokedInOneProcessIsNoGoodInAnother(t *testing.T) {
	t.Parallel()
	h := open(t)
	other := h.anotherProcess(t)
	yard := entry(&ledger.Yard{Name: "Alder Bend"})
	if _, err := other.Append(t.Context(), h.manager, again(yard)); err != nil {
		t.Fatal(err)
	}
	tokens, err := h.operator.Tokens(t.Context(), h.outfit)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.operator.RevokeToken(t.Context(), h.outfit, tokens[0].ID); err != nil {
		t.Fatal(err)
	}
	if _, err := h.operator.RevokeToken(t.Context(), h.outfit, tokens[0].ID); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("a token was revoked twice: %v", err)
	}
	for what, err := range map[string]error{
		"it records":                  second(other.Append(t.Context(), h.manager, entry(&ledger.Yard{Name: "Birch Hollow"}))),
		"it records a name in use":    second(other.Append(t.Context(), h.manager, entry(&ledger.Yard{Name: "Alder Bend"}))),
		"it sends what is there":      second(other.Append(t.Context(), h.manager, again(yard))),
		"it reads":                    other.Read(t.Context(), h.manager, func(db.Outfit, *ledger.Book) error { return nil }),
		"it is looked up where it is": other.StillGood(t.Context(), h.manager),
	} {
		if fault.CodeOf(err) != fault.SignIn {
			t.Errorf("revoked, and %s: %v", what, err)
		}
	}
	if got := len(h.book(t, h.outfit)); got != founded+2 {
		t.Errorf("the book has %d entries, want those of its founding, a yard and that the token was revoked", got)
	}
}

func second(_ db.Recorded, err error) error { return err }

func TestATokenStaysGoodWhenOthersChange(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.record(t, h.books, h.manager, &ledger.Yard{Name: "Alder Bend"})
	if err := h.operator.CreatePerson(t.Context(), h.outfit, db.Person{ID: uuid.New(), Name: "Tam", Role: db.Crew}); err != nil {
		t.Fatal(err)
	}
	if err := h.operator.CreatePerson(t.Context(), h.outfit, db.Person{ID: uuid.New(), Name: "tam", Role: db.Crew}); fault.CodeOf(err) != fault.Conflict {
		t.Errorf("there are two of one name: %v", err)
	}
	h.record(t, h.books, h.manager, &ledger.Yard{Name: "Birch Hollow"})
	if _, err := h.operator.CreateToken(t.Context(), h.outfit, "Nobody", "x"); fault.CodeOf(err) != fault.NotFound {
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
		if err := h.operator.CreateOutfit(t.Context(), o); fault.CodeOf(err) != fault.Invalid {
			t.Errorf("%+v was set up: %v", o, err)
		}
	}
	if _, err := h.service.Outfit(t.Context(), uuid.New()); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("an outfit that never was: %v", err)
	}
	if _, err := h.service.Head(t.Context(), uuid.New()); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("the book of an outfit that never was: %v", err)
	}
}
