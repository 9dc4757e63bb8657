package trace

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestWhatAnEntrySupersedesIsWhatTwoBooksHaveOtherwise holds what a reply names against the
// figures of every dispatch in the book before the entry and in the book after it, whatever
// was recorded in whatever order. What the book learns of how far samples lie apart moves
// expected figures everywhere, and is not laid to one entry.
func TestWhatAnEntrySupersedesIsWhatTwoBooksHaveOtherwise(t *testing.T) {
	t.Parallel()
	named := 0
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		b, err := ledger.Open(time.UTC, nil)
		if err != nil {
			t.Fatal(err)
		}
		for n, e := range o.Entries {
			resting := RestingOn(b, e)
			before, err := ledger.Open(time.UTC, o.Entries[:n])
			if err != nil {
				t.Fatal(err)
			}
			if _, err := b.Append(e); err != nil {
				t.Fatal(err)
			}
			told := map[ledger.ID][]Change{}
			for _, x := range resting.Superseded(b) {
				if x.By != nil {
					told[x.By.ID] = x.Changes
				}
			}
			for root, sent := range before.Happened {
				d, is := sent.Body.(*ledger.Dispatch)
				if !is || b.Root(e.ID) == root {
					continue
				}
				on := ledger.Place{Kind: ledger.PlaceBuyer, ID: before.Root(d.BuyerID)}
				was := ofContainers(before, before.StateAt(sent.OccurredAt), on, d.Containers, sent.OccurredAt)
				now := ofContainers(b, b.StateAt(sent.OccurredAt), on, d.Containers, sent.OccurredAt)
				want := differences(b, was, now)
				got := told[sent.ID]
				if len(got) > 0 {
					named++
				}
				if len(got) == 0 && slices.ContainsFunc(want, func(c Change) bool { return c.least() == leastChange }) || len(got) > 0 && len(got) != len(want) {
					t.Fatalf("entry %d (%s): of the dispatch of entry %d it named %+v, and %+v changed", n+1, e.Kind, sent.Number, got, want)
				}
			}
		}
	})
	if named == 0 {
		t.Error("no dispatch of any season was superseded")
	}
}
