package ledger_test

import (
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// TestFlowsAreWhatTheReplayDid adds all flows up and holds them against what the
// replay left in each holder and in the totals.
func TestFlowsAreWhatTheReplayDid(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		b := mustOpen(t, o.Entries)
		held := map[ledger.ID]int64{}
		var sum ledger.Totals
		for f := range b.Flows {
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
			if held[h.Place.ID] != h.Grams {
				t.Fatalf("flows leave %d g in %v, the replay %d", held[h.Place.ID], h.Place, h.Grams)
			}
		}
		want := b.State().Totals()
		want.InTanks, want.Washed = 0, 0
		if sum != want {
			t.Fatalf("flows come to %+v, the replay to %+v", sum, want)
		}
	})
}
