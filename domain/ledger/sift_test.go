package ledger

import (
	"testing"
	"time"

	"github.com/google/uuid"
)

// The walk goes on after an entry at which it breaks down, as if that were not in the
// book, and names all such entries at once.
func TestTheWalkGoesOnAfterABreakdown(t *testing.T) {
	t.Parallel()
	var entries []*Entry
	at := time.Date(2026, 7, 1, 8, 0, 0, 0, time.UTC)
	add := func(body Body) ID {
		at = at.Add(time.Minute)
		e := &Entry{Number: int64(len(entries)) + 1, ID: uuid.New(), Kind: body.Kind(), OccurredAt: at, RecordedAt: at, RecordedBy: "Ada", Body: body}
		entries = append(entries, e)
		return e.ID
	}
	good, bad := add(&Tank{Name: "North", CapacityG: 900_000}), add(&Tank{Name: "South", CapacityG: 900_000})
	run := add(&Run{Name: "first"})
	out := func(to ID) { add(&Movement{From: Place{PlaceRun, run}, To: Place{PlaceTank, to}, MassG: 1_000}) }
	for range 50 {
		out(good)
		out(bad)
		add(&Stocktake{TankID: bad, Method: "dip", MassG: 500})
	}
	b := newBook(time.UTC, entries)
	if err := b.registerAll(entries, opening{}); err != nil {
		t.Fatal(err)
	}
	b.arrange()
	b.fact(bad).root.slot = 1 << 20 // no such holder: whatever honey goes there breaks the walk down
	b.state = newState(b)
	found := sieve{}
	if err := b.state.sift(found, opening{}); err != nil {
		t.Fatal(err)
	}
	if len(found) != 100 {
		t.Errorf("it broke down at %d entries, and 100 are about the tank", len(found))
	}
	if s := b.state; s.totals.Harvested != 50_000 || s.totals.Held != 50_000 || s.holders[b.fact(run).slot].OutG != 50_000 {
		t.Errorf("of 100 kg drawn, 50 kg into a tank that is there: %+v", s.totals)
	}
	for _, flag := range b.state.flags {
		if found[b.fact(flag.Entry)] != nil {
			t.Errorf("a flag was left behind: %+v", flag)
		}
	}
}
