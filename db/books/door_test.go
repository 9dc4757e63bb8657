package books_test

import (
	"fmt"
	"sync"
	"testing"

	"pullbook/db/books"
	"pullbook/db/books/bookstest"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// loaded is a lot of drums that a manager's word released, and a buyer.
type loaded struct {
	packing
	buyer ledger.ID
	drums []ledger.ID
}

func (h *honeyHouse) loaded(t testing.TB, drums int) loaded {
	t.Helper()
	out := loaded{packing: h.packing(t), buyer: h.Record(t, h.Books, h.Manager, &ledger.Buyer{Name: "Port Packers"}).Entry.ID}
	for i := range drums {
		out.drums = append(out.drums, h.Record(t, h.Books, h.Manager, out.fill(fmt.Sprintf("D-%d", i+1))).Entry.ID)
	}
	h.Record(t, h.Books, h.Manager, out.released())
	return out
}

func (l loaded) released() *ledger.LotStatus {
	return &ledger.LotStatus{LotID: l.lot, Status: ledger.StatusReleased, Override: true, Note: "goes to the bakery as agreed"}
}

func (l loaded) held() *ledger.LotStatus {
	return &ledger.LotStatus{LotID: l.lot, Status: ledger.StatusHeld, Why: ledger.HeldForFinding}
}

func (l loaded) truck(drum int) *ledger.Dispatch {
	return &ledger.Dispatch{BuyerID: l.buyer, Containers: []ledger.ID{l.drums[drum]}}
}

func TestWhatOneProcessHeldAnotherLetsNotGo(t *testing.T) {
	t.Parallel()
	h := open(t)
	l := h.loaded(t, 2)
	other := h.AnotherProcess(t)
	h.Record(t, other, h.Manager, l.truck(0)) // it has read the book as it is now
	h.Record(t, h.Books, h.Manager, l.held())
	if _, err := other.Append(t.Context(), h.Manager, bookstest.Entry(l.truck(1))); fault.CodeOf(err) != fault.Conflict {
		t.Errorf("a drum of a held lot left: %v", err)
	}
}

// Whoever is quicker: no drum leaves after its lot was held, and none leaves twice.
func TestNothingLeavesBesideAHoldRecordedAtTheSameMoment(t *testing.T) {
	t.Parallel()
	h := open(t)
	processes := []*books.Books{h.Books, h.AnotherProcess(t)}
	left, stayed := 0, 0
	const rounds = 12
	l := h.loaded(t, 2*rounds+1) // one stays
	for round := range rounds {
		var all sync.WaitGroup
		send := func(i int, body ledger.Body) {
			all.Go(func() {
				if _, err := processes[i%2].Append(t.Context(), h.Manager, bookstest.Entry(body)); err != nil && fault.CodeOf(err) != fault.Conflict {
					t.Error(err)
				}
			})
		}
		for i := range 4 {
			send(i, l.truck(2*round+i/2))
		}
		send(round, l.held())
		for i := range 6 {
			send(i, &ledger.Yard{Name: fmt.Sprintf("yard %d of round %d", i, round)})
		}
		all.Wait()
		h.Record(t, h.Books, h.Manager, l.released())
	}
	held := false
	gone := map[ledger.ID]bool{}
	for _, e := range h.Stored(t, h.Outfit) {
		switch x := e.Body.(type) {
		case *ledger.LotStatus:
			held = x.Status == ledger.StatusHeld
			if held {
				stayed++
			}
		case *ledger.Dispatch:
			left++
			if held {
				t.Errorf("entry %d lets a drum go, though its lot was held", e.Number)
			}
			if gone[x.Containers[0]] {
				t.Errorf("entry %d lets a drum go that had left", e.Number)
			}
			gone[x.Containers[0]] = true
		}
	}
	if left == 0 || stayed != rounds {
		t.Errorf("%d drums left, and the lot was held %d times", left, stayed)
	}
}
