package books_test

import (
	"pullbook/db/books/bookstest"
	"reflect"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestALateEntryHoldsUpNeitherReadersNorOtherOutfits keeps the book from being opened with
// the late entry until the others are served.
func TestALateEntryHoldsUpNeitherReadersNorOtherOutfits(t *testing.T) {
	t.Parallel()
	h := open(t)
	outfit, p := h.largeOutfit(t, 40_000)
	before := h.lengthOf(t, p)
	release, err := h.Books.HoldCopying(t.Context(), outfit)
	if err != nil {
		t.Fatal(err)
	}
	var tank ledger.ID
	var long time.Time
	h.read(t, p, func(b *ledger.Book) {
		b.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = root; return true })
		long = b.Numbered(before / 2).OccurredAt
	})
	late := &ledger.Entry{ID: uuid.New(), Kind: ledger.KindStocktake, OccurredAt: long, Body: &ledger.Stocktake{TankID: tank, Method: "dip", MassG: 100_000}}
	answers := make(chan books.Recorded, 2)
	record := func(e *ledger.Entry) {
		got, err := h.Books.Append(t.Context(), p, e)
		if err != nil {
			t.Error(err)
		}
		answers <- got
	}
	go record(late)
	h.awaitHead(t, outfit, before+1)
	if n := h.lengthAsTold(t, p); n != before {
		t.Errorf("while the late entry is taken in, the book has %d entries; nobody was told of more than %d", n, before)
	}
	for _, name := range []string{"Two Rivers Honey", "Alder Bend Honey", "North Road Honey", "Mill Lane Honey"} {
		_, other := h.NewOutfit(t, name)
		h.Record(t, h.Books, other, &ledger.Yard{Name: "Mill"})
	}
	go record(bookstest.Entry(&ledger.Yard{Name: "a yard set up meanwhile"}))
	h.awaitHead(t, outfit, before+2)
	if n := h.lengthAsTold(t, p); n != before || len(answers) != 0 {
		t.Errorf("of %d entries, %d are told of; the book has %d", before+2, len(answers), n)
	}
	release()
	for range 2 {
		h.holdToRecorded(t, p, <-answers)
	}
	if n := h.lengthAsTold(t, p); n != before+2 {
		t.Errorf("once both are answered, the book has %d entries and not %d", n, before+2)
	}
}

// TestLateEntriesThatComeMeanwhileAreTakenInTogether sends some while an earlier one is taken
// in on a copy of the book. They are stored once that is done, at one moment, and each is
// answered as any process answers it later.
func TestLateEntriesThatComeMeanwhileAreTakenInTogether(t *testing.T) {
	t.Parallel()
	h := open(t)
	outfit, p := h.largeOutfit(t, 40_000)
	before := h.lengthOf(t, p)
	release, err := h.Books.HoldCopying(t.Context(), outfit)
	if err != nil {
		t.Fatal(err)
	}
	const late = 6
	tank, at := h.longAgo(t, p, late)
	answers := make(chan books.Recorded, late)
	dip := func(i int) {
		got, err := h.Books.Append(t.Context(), p, &ledger.Entry{ID: uuid.New(), Kind: ledger.KindStocktake, OccurredAt: at[i],
			Body: &ledger.Stocktake{TankID: tank, Method: "dip", MassG: 100_000 + int64(i)*10_000}})
		if err != nil {
			t.Error(err)
		}
		answers <- got
	}
	go dip(0)
	h.awaitHead(t, outfit, before+1)
	for i := 1; i < late; i++ {
		go dip(i)
	}
	for h.Books.HeldBack(outfit) < late-1 {
		if t.Context().Err() != nil {
			t.Fatal("they are not held back")
		}
		time.Sleep(time.Millisecond)
	}
	if n := h.lengthAsTold(t, p); n != before {
		t.Errorf("before any is taken in, %d entries are told of; %d were", n, before)
	}
	release()
	together := 0
	for range late {
		got := <-answers
		h.holdToRecorded(t, p, got)
		if got.Reply.First == before+2 && got.Reply.Last == before+late {
			together++
		}
	}
	if n := h.lengthAsTold(t, p); n != before+late || together != late-1 {
		t.Errorf("once all are answered, the book has %d entries and not %d, and %d were taken in together", n, before+late, together)
	}
}

// longAgo are a tank and some times of a quarter into the book, in no order.
func (h *honeyHouse) longAgo(t *testing.T, p db.Principal, n int) (tank ledger.ID, at []time.Time) {
	t.Helper()
	h.read(t, p, func(b *ledger.Book) {
		b.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = root; return true })
		for i := range n {
			at = append(at, b.Numbered(b.Len()/4+int64(4200/n*(i*7%n))).OccurredAt)
		}
	})
	return tank, at
}

// TestADayThatWaitedIsAnsweredAlikeByAnyProcess sends a day's entries that waited in one
// request, and asks another process, which never saw the request, for each reply.
func TestADayThatWaitedIsAnsweredAlikeByAnyProcess(t *testing.T) {
	t.Parallel()
	h := open(t)
	_, p := h.largeOutfit(t, 12_000)
	const waited = 40
	tank, at := h.longAgo(t, p, waited)
	var entries []*ledger.Entry
	for i := range waited {
		var body ledger.Body = ledgertest.Moisture(ledger.PlaceTank, tank, 16+float64(i)/20)
		switch i {
		case 20:
			body = &ledger.Yard{Name: "a yard that was set up at noon"}
		case 10, 30:
			body = &ledger.Stocktake{TankID: tank, Method: "dip", MassG: 100_000}
		}
		e := bookstest.Entry(body)
		e.OccurredAt = at[i]
		entries = append(entries, e)
	}
	answers := h.Books.AppendTogether(t.Context(), p, sentOf(entries...), soon())
	other := h.AnotherProcess(t)
	for i, a := range answers {
		if a.Err != nil {
			t.Fatalf("entry %d: %v", i, a.Err)
		}
		h.holdToRecorded(t, p, a.Recorded)
		reply, err := other.Reply(t.Context(), p, a.Entry.ID)
		if err != nil || !reflect.DeepEqual(reply, a.Reply) {
			t.Errorf("entry %d (%s) was answered %+v, and by another process %+v (%v)", i, a.Entry.Kind, a.Reply, reply, err)
		}
		if alone := a.Reply.First == 0; alone != (a.Entry.Kind == ledger.KindYard) {
			t.Errorf("entry %d (%s): entries %d to %d were taken in together", i, a.Entry.Kind, a.Reply.First, a.Reply.Last)
		}
	}
	if first, last := answers[0].Reply, answers[waited-1].Reply; first.Last-first.First != 19 || last.Last-last.First != 18 {
		t.Errorf("taken in together were %d to %d and %d to %d", first.First, first.Last, last.First, last.Last)
	}
}

func TestALateEntryOfAnotherProcessIsTakenIn(t *testing.T) {
	t.Parallel()
	h := open(t)
	_, p := h.largeOutfit(t, 12_000)
	before := h.lengthOf(t, p)
	var tank ledger.ID
	var long time.Time
	h.read(t, p, func(b *ledger.Book) {
		b.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool { tank = root; return true })
		long = b.Numbered(before / 4).OccurredAt
	})
	got, err := h.AnotherProcess(t).Append(t.Context(), p, &ledger.Entry{ID: uuid.New(), Kind: ledger.KindStocktake, OccurredAt: long,
		Body: &ledger.Stocktake{TankID: tank, Method: "dip", MassG: 100_000}})
	if err != nil {
		t.Fatal(err)
	}
	if n := h.lengthAsTold(t, p); n != before+1 {
		t.Errorf("another process stored entry %d, and the book has %d", before+1, n)
	}
	h.holdToRecorded(t, p, got)
}

// largeOutfit is an outfit with so many entries, and its manager.
func (h *honeyHouse) largeOutfit(t *testing.T, n int) (uuid.UUID, db.Principal) {
	t.Helper()
	outfit := storeLarge(t, h.URL, n)
	if err := h.Operator.CreatePerson(t.Context(), outfit, db.Person{ID: uuid.New(), Name: "Mirren", Role: db.Manager}); err != nil {
		t.Fatal(err)
	}
	secret, err := h.Operator.CreateToken(t.Context(), outfit, "mirren", "test")
	if err != nil {
		t.Fatal(err)
	}
	p, err := h.Books.SignIn(t.Context(), secret)
	if err != nil {
		t.Fatal(err)
	}
	return outfit, p
}

func (h *honeyHouse) read(t *testing.T, p db.Principal, f func(*ledger.Book)) {
	t.Helper()
	if err := h.Books.Read(t.Context(), p, func(_ db.Outfit, b *ledger.Book) error { f(b); return nil }); err != nil {
		t.Fatal(err)
	}
}

func (h *honeyHouse) lengthOf(t *testing.T, p db.Principal) (n int64) {
	t.Helper()
	h.read(t, p, func(b *ledger.Book) { n = b.Len() })
	return n
}

// lengthAsTold is how many entries the book has for who reads a report.
func (h *honeyHouse) lengthAsTold(t *testing.T, p db.Principal) (n int64) {
	t.Helper()
	err := h.Books.ReadAsKnown(t.Context(), p, func(_ db.Outfit, b *ledger.Book) (int64, error) { return b.Len(), nil },
		func(_ db.Outfit, b *ledger.Book) error { n = b.Len(); return nil })
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func (h *honeyHouse) awaitHead(t *testing.T, outfit uuid.UUID, number int64) {
	t.Helper()
	if err := h.Books.Await(t.Context(), outfit, number-1); err != nil {
		t.Fatal(err)
	}
}

// holdToRecorded holds an answer to what the book says the entry did, and the book to one
// opened anew.
func (h *honeyHouse) holdToRecorded(t *testing.T, p db.Principal, got books.Recorded) {
	t.Helper()
	h.read(t, p, func(b *ledger.Book) {
		anew, err := ledger.Open(b.Location(), collect(b))
		if err != nil {
			t.Fatal(err)
		}
		if b.State().Totals() != anew.State().Totals() || !reflect.DeepEqual(b.State().Flags(), anew.State().Flags()) {
			t.Errorf("the book comes to %+v, and to %+v when opened anew", b.State().Totals(), anew.State().Totals())
		}
	})
	err := h.Books.ReadAsKnown(t.Context(), p, func(db.Outfit, *ledger.Book) (int64, error) { return max(got.Entry.Number, got.Reply.Last), nil },
		func(_ db.Outfit, then *ledger.Book) error {
			want, err := books.RepliedThen(then, got.Entry.Number)
			if err == nil && !reflect.DeepEqual(want, got.Reply) {
				t.Errorf("entry %d did %+v, and was answered %+v", got.Entry.Number, want, got.Reply)
			}
			return err
		})
	if err != nil {
		t.Error(err)
	}
}

func collect(b *ledger.Book) (out []*ledger.Entry) {
	for e := range b.Entries {
		out = append(out, e)
	}
	return out
}
