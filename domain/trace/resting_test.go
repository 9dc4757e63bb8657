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
		o := sentThenTold(t)
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

// sentThenTold is a house that sent two drums, and then writes down more of before, between
// and after, corrects and takes back.
func sentThenTold(t *rapid.T) *ledgertest.Outfit {
	o := ledgertest.NewOutfit()
	pull, other, run, beside := o.Pull(0, o.Mill, 20, 0), o.Pull(0, o.Ridge, 20, 0), o.Run(1, "1"), o.Run(1, "2")
	o.Supers(1, run, pull, 20)
	var mayGo []ledger.ID
	write := func(e ledger.ID) { mayGo = append(mayGo, e) }
	write(o.Out(2, run, o.Settling, 300_000))
	lot := o.Lot(2.5, "L")
	first, second := o.Fill(3, lot, o.Settling, "D-1", 100_000), o.Fill(6, lot, o.Settling, "D-2", 90_000)
	o.Release(7, lot)
	o.Dispatch(5, first)
	o.Dispatch(8, second)
	for range rapid.IntRange(1, 12).Draw(t, "more") {
		at := float64(rapid.IntRange(4, 20).Draw(t, "half hours")) / 2
		switch rapid.IntRange(0, 7).Draw(t, "what") {
		case 0:
			write(o.WriteLate(at, 20, ledgertest.OutBody(rapid.SampledFrom([]ledger.ID{run, beside}).Draw(t, "run"), o.Settling, 50_000)))
		case 1:
			write(o.WriteLate(at, 20, ledgertest.Moisture(ledger.PlaceTank, rapid.SampledFrom([]ledger.ID{o.Settling, o.Sump}).Draw(t, "tank"), 16+float64(rapid.IntRange(0, 40).Draw(t, "moisture"))/10)))
		case 2:
			write(o.WriteLate(at, 20, ledgertest.Moisture(ledger.PlaceLot, lot, 17.5)))
		case 3:
			write(o.WriteLate(at, 20, o.SupersBody(rapid.SampledFrom([]ledger.ID{run, beside}).Draw(t, "run"), other, 5)))
		case 4:
			write(o.WriteLate(at, 20, ledgertest.Moisture(ledger.PlacePull, rapid.SampledFrom([]ledger.ID{pull, other}).Draw(t, "pull"), 18)))
		case 5:
			write(o.WriteLate(at, 20, ledgertest.Move(ledger.PlaceTank, o.Sump, ledger.PlaceTank, o.Settling, 40_000)))
		case 6:
			write(o.WriteLate(at, 20, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: 150_000}))
		case 7:
			if n := len(mayGo); n > 0 {
				i := rapid.IntRange(0, n-1).Draw(t, "of")
				o.Withdraw(mayGo[i])
				mayGo = slices.Delete(mayGo, i, i+1)
			}
		}
	}
	return o
}
