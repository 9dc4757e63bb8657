package ledger_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestFlowsAreWhatTheReplayDid adds all flows up and holds them against what the
// replay left in each holder, after each instant, and in the totals.
func TestFlowsAreWhatTheReplayDid(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		b := mustOpen(t, o.Entries)
		held := map[ledger.ID]int64{}
		var sum ledger.Totals
		var at time.Time
		for f := range b.Flows {
			if now := f.Entry.OccurredAt; !now.Equal(at) {
				leave(t, held, b.StateAt(now.Add(-time.Microsecond)))
				at = now
			}
			if f.Grams < 0 || f.UnexplainedG < 0 || f.UnexplainedG > f.Grams {
				t.Fatalf("entry %d moved %d g, %d g of them unexplained", f.Entry.Number, f.Grams, f.UnexplainedG)
			}
			switch {
			case f.From.Kind == ledger.PlaceRun:
				sum.Harvested += f.Grams
			case f.From.Kind == "" && f.Entry.Kind == ledger.KindStocktake:
				sum.Gained += f.Grams
			default:
				sum.Unexplained += f.UnexplainedG
				held[f.From.ID] -= f.Grams - f.UnexplainedG
			}
			switch f.To.Kind {
			case ledger.PlaceTank, ledger.PlaceContainer:
				held[f.To.ID] += f.Grams
			case ledger.PlaceBuyer:
				sum.Dispatched += f.Grams
			case ledger.PlaceWaste:
				sum.Wasted += f.Grams
			default:
				sum.Lost += f.Grams
			}
		}
		for h := range b.State().Holders {
			if h.Place.Kind == ledger.PlaceRun {
				continue
			}
			sum.Held += h.Grams
		}
		leave(t, held, b.State())
		want := b.State().Totals()
		want.InTanks, want.Washed = 0, 0
		if sum != want {
			t.Fatalf("flows come to %+v, the replay to %+v", sum, want)
		}
	})
}

// leave holds what flows left in tanks and containers against a state of the replay.
func leave(t *rapid.T, held map[ledger.ID]int64, s *ledger.State) {
	t.Helper()
	for h := range s.Holders {
		if h.Place.Kind != ledger.PlaceRun && held[h.Place.ID] != h.Grams {
			t.Fatalf("flows leave %d g in %v, the replay %d", held[h.Place.ID], h.Place, h.Grams)
		}
	}
}

// A walk that began before the book went on gives the flows of the book as it was, whatever
// comes late, is corrected or withdrawn, or could not be read, meanwhile.
func TestFlowsAsKnownStayWhileTheBookGoesOn(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := spoil(t, ledgertest.Random(t, 60).Entries)
		n := rapid.IntRange(0, len(entries)).Draw(t, "known")
		was, err := ledger.Restore(time.UTC, entries[:n])
		if err != nil {
			t.Fatal(err)
		}
		want := slices.Collect(was.Flows)
		b, err := ledger.Restore(time.UTC, entries[:n])
		if err != nil {
			t.Fatal(err)
		}
		walk := b.FlowsAsKnown()
		var got []ledger.Flow
		for more := true; more; {
			if next := b.Len(); next < int64(len(entries)) {
				if _, err := b.Append(entries[next]); err != nil {
					t.Fatal(err)
				}
			}
			var some []ledger.Flow
			some, more = walk.Some(b, 1)
			got = append(got, some...)
		}
		if !slices.Equal(got, want) {
			t.Fatalf("as known at entry %d:\n%+v\nthe book gone on says\n%+v", n, want, got)
		}
	})
}
