package season_test

import (
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// TestEverySeasonBalancesWhateverHappened writes random books over three
// seasons that meet in the middle of what happened.
func TestEverySeasonBalancesWhateverHappened(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		first := o.SetUp(&ledger.Season{Name: "spring", First: "2025-07-01", Last: "2025-12-31"})
		// The book's own season is all of 2026; it is cut short in the middle.
		o.Correct(o.Latest(o.Season), 0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-07-02"})
		last := o.SetUp(&ledger.Season{Name: "autumn", First: "2026-07-03", Last: "2026-12-31"})
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		var carried, harvested int64
		for _, id := range []ledger.ID{first, o.Season, last} {
			r, err := season.Of(b, id)
			if err != nil {
				t.Fatal(err)
			}
			if !r.Balance.Balanced() {
				t.Fatalf("season %s does not balance: %+v", r.Season.Name, r.Balance)
			}
			if r.Balance.HeldBeforeG() != carried {
				t.Fatalf("season %s begins with %d g, the one before ended with %d", r.Season.Name, r.Balance.HeldBeforeG(), carried)
			}
			carried = r.Balance.HeldG()
			harvested += r.Balance.HarvestedG
			addsUp(t, r)
		}
		if held := b.State().Totals().Held; carried != held {
			t.Fatalf("the last season ends with %d g, the book with %d", carried, held)
		}
		if all := b.State().Totals().Harvested; harvested != all {
			t.Fatalf("the seasons harvested %d g, the book %d", harvested, all)
		}
	})
}

// addsUp fails where the parts of a report do not come to the whole.
func addsUp(t *rapid.T, r *season.Report) {
	byYard, byPull, byBuyer := r.NoPullG, r.NoPullG, int64(0)
	for _, y := range r.Yards {
		byYard += y.HoneyG
	}
	pulled, extracted := 0, 0
	for _, p := range r.Pulls {
		byPull += p.HoneyG
		extracted += p.SupersExtracted
		if !p.OtherSeason && !p.Withdrawn {
			pulled += p.SupersPulled
		}
	}
	for _, buyer := range r.Balance.Buyers {
		byBuyer += buyer.Grams
	}
	if byYard != r.HoneyG || byPull != r.HoneyG {
		t.Fatalf("%d g by yard and %d g by pull do not come to %d", byYard, byPull, r.HoneyG)
	}
	if byBuyer != r.Balance.DispatchedG {
		t.Fatalf("%d g by buyer do not come to %d", byBuyer, r.Balance.DispatchedG)
	}
	if b := r.Balance; pulled != b.SupersPulled || b.SupersPulled != b.SupersExtracted+b.SupersLeft {
		t.Fatalf("%d supers pulled by line, balance %+v", pulled, b)
	}
}

// TestLotsTanksAndRunsAddUpToTheGram holds every make-up against its whole.
func TestLotsTanksAndRunsAddUpToTheGram(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		comesTo := func(what string, in []season.Source, whole int64) {
			var sum int64
			for _, s := range in {
				sum += s.Grams
				var pulls int64
				for _, p := range s.Pulls {
					pulls += p.Grams
				}
				if s.From.Kind == ledger.PlaceYard && pulls != s.Grams {
					t.Fatalf("the pulls of %s come to %d g of %d", s.Name, pulls, s.Grams)
				}
			}
			if in != nil && sum != whole || in == nil && whole != 0 {
				t.Fatalf("the make-up of %s comes to %d g of %d", what, sum, whole)
			}
		}
		for _, l := range season.Tanks(b) {
			comesTo(l.Name, l.MakeUp, l.Grams)
		}
		runs, err := season.Runs(b, o.Season)
		for _, l := range runs {
			comesTo("run "+l.Name, l.MakeUp, l.HoneyG)
		}
		b.InForceOf(ledger.KindLot, func(id ledger.ID, _ *ledger.Entry) bool {
			l, err := season.Lot(b, id)
			if err != nil {
				t.Fatal(err)
			}
			comesTo("lot "+l.Code, l.MakeUp, l.NetG)
			return true
		})
		list := season.Evening(b)
		for i := range list.Len() {
			if odd := season.OddOf(b, list.At(i)); len(odd.Sentence.String()) < 10 {
				t.Fatalf("%s is told as %q", odd.Code, odd.Sentence)
			}
		}
		if err != nil && b.InForce(o.Season) != nil {
			t.Fatal(err)
		}
	})
}

// TestHoneyDrawnAfterItsSeasonCountsForItsRun: a run of New Year's Eve whose
// honey is drawn off the next day belongs to the old year, the flow to the new.
func TestHoneyDrawnAfterItsSeasonCountsForItsRun(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	next := o.SetUp(&ledger.Season{Name: "2027", First: "2027-01-01", Last: "2027-12-31"})
	newYear := 184*24.0 - 6 // 1 July 06:00 to 1 January 00:00
	pull := o.Pull(newYear-20, o.Mill, 10, 0)
	run := o.Run(newYear-2, "1")
	o.Supers(newYear-2, run, pull, 10)
	o.Out(newYear-1, run, o.Settling, 100_000)
	o.Out(newYear, run, o.Settling, 150_000)
	b := open(t, o)
	old, err := season.Of(b, o.Season)
	if err != nil {
		t.Fatal(err)
	}
	young, err := season.Of(b, next)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "the old year's honey", old.HoneyG, 250_000)
	same(t, "the old year's harvest", old.Balance.HarvestedG, 100_000)
	same(t, "the new year's honey", young.HoneyG, 0)
	same(t, "the new year's harvest", young.Balance.HarvestedG, 150_000)
	same(t, "carried over", young.Balance.InTanksBeforeG, 100_000)
}
