package ledger_test

import (
	"errors"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

func TestAFloatPumpLeadsToAnotherTank(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what     string
		id       ledger.ID
		replaces ledger.ID
		feeds    ledger.ID
		taken    bool
	}{
		{"another tank", ledgertest.ID(900), ledger.ID{}, o.Settling, true},
		{"no pump", ledgertest.ID(901), ledger.ID{}, ledger.ID{}, true},
		{"a correction of the sump that feeds the settling tank", ledgertest.ID(902), o.Sump, o.Settling, true},
		{"a correction of the sump that feeds the sump", ledgertest.ID(903), o.Sump, o.Sump, false},
		{"a new tank that feeds itself", ledgertest.ID(904), ledger.ID{}, ledgertest.ID(904), false},
		{"a yard", ledgertest.ID(905), ledger.ID{}, o.Mill, false},
		{"a tank that is not in the book", ledgertest.ID(906), ledger.ID{}, ledgertest.ID(1000), false},
	} {
		e := &ledger.Entry{ID: c.id, Kind: ledger.KindTank, OccurredAt: ledgertest.Start, Replaces: c.replaces,
			Body: &ledger.Tank{Name: "tank " + c.what, Use: ledger.Bulk, CapacityG: 1000, FeedsTankID: c.feeds}}
		if c.replaces != (ledger.ID{}) {
			e.Reason = "a pump was put in"
		}
		err := b.Check(e, ledgertest.At(1))
		var f *fault.Error
		switch {
		case c.taken && err != nil:
			t.Errorf("%s: refused: %v", c.what, err)
		case !c.taken && (!errors.As(err, &f) || f.Fields[0].Pointer != "/feeds_tank_id"):
			t.Errorf("%s: %v, want a word about feeds_tank_id", c.what, err)
		}
	}
}
