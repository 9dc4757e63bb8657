package balance_test

import (
	"strings"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// 700 kg are booked into the large tank, whose dips stay at 500 kg; those of the
// bulk tank go from 300 to 1,000. No single weight explains both.
func TestAHoseOnTheWrongTankIsNamedWithTheRightOne(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	bulk := o.SetUp(&ledger.Tank{Name: "bulk tank", Use: ledger.Bulk, CapacityG: 2_000_000})
	dip(o, 0.5, o.Settling, 500_000, 4_000)
	dip(o, 0.5, bulk, 300_000, 4_000)
	pull := o.Pull(1, o.Mill, 28, 0)
	run := o.Run(2, "1")
	o.Supers(2, run, pull, 28)
	hose := o.Out(3, run, o.Settling, 700_000)
	o.Write(4, &ledger.RunEnd{RunID: run, WaxG: 9_000})
	dip(o, 5, o.Settling, 500_000, 4_000)
	dip(o, 5, bulk, 1_000_000, 4_000)
	r := dayOf(t, o, firstDay)
	var found bool
	for _, p := range r.Parts {
		if s := p.Suspect; s != nil && s.RightTank == bulk {
			found = len(s.Entries) == 1 && s.Entries[0] == hose
		}
	}
	if want := "went into another tank than was written down: the weights agree best if it went into the bulk tank"; !found || !strings.Contains(r.Statement.String(), want) {
		t.Errorf("it says %q", r.Statement)
	}
}
