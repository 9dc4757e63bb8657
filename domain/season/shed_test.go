package season_test

import (
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// Forty deeps pulled, thirty of them in a run that was not ended: ten wait, at
// the usual honey of a deep.
func TestWhatTheShedIsInTheMiddleOf(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(1, o.Mill, 40, 0)
	all := o.Pull(2, o.Mill, 5, 0)
	ended, run := o.Run(3, "first"), o.Run(5, "second")
	o.Supers(3.5, ended, all, 5)
	o.Write(4, &ledger.RunEnd{RunID: ended})
	o.Supers(6, run, pull, 30)
	o.Out(7, run, o.Settling, 700_000)
	held, second, released := o.Lot(8, "A"), o.Lot(9, "B"), o.Lot(10, "C")
	for i, lot := range []ledger.ID{held, second, released} {
		o.Fill(11+float64(i), lot, o.Settling, string(rune('a'+i)), 100_000)
	}
	o.Release(20, released)
	o.Write(21, &ledger.LotStatus{LotID: second, Status: ledger.StatusHeld, Why: ledger.HeldForFinding})

	b := open(t, o)
	d := season.ShedOf(b)
	if len(d.Runs) != 1 || d.Runs[0].RunID != run || d.Runs[0].SupersIn != 30 || d.Runs[0].HoneyG != 700_000 || !d.Runs[0].LastAt.Equal(ledgertest.At(7)) {
		t.Errorf("what runs: %+v", d.Runs)
	}
	supers, usualG := d.Pulls[0].Supers(b)
	if len(d.Pulls) != 1 || d.Pulls[0].PullID != pull || supers != 10 || usualG != 10*25_000 {
		t.Errorf("what waits: %+v", d.Pulls)
	}
	if len(d.Lots) != 2 || d.Lots[0].Lot.Code != "B" || d.Lots[0].Status != ledger.StatusHeld || d.Lots[1].Lot.Code != "A" {
		t.Errorf("lots in hand: %+v", d.Lots)
	}
}

func TestWhatWasSettledAsNeverExtractedWaitsNoMore(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(1, o.Mill, 40, 0)
	if got := season.ShedOf(open(t, o)).Pulls; len(got) != 1 {
		t.Fatalf("before: %+v", got)
	}
	o.Accept(3, pull, ledger.NeverExtracted)
	if got := season.ShedOf(open(t, o)).Pulls; len(got) != 0 {
		t.Errorf("after: %+v", got)
	}
}
