package ledger_test

import (
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// What holdings say that a tank holds at an instant is what the state of that instant says.
func TestHoldingsAreWhatEachInstantSaysByItself(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		o := ledgertest.Random(rt, 60)
		b, err := o.Open()
		if err != nil {
			rt.Fatal(err)
		}
		tanks, from, until := []ledger.ID{o.Settling, o.Sump}, ledgertest.At(5), ledgertest.At(55)
		at := ledgertest.At(rapid.Float64Range(5, 55).Draw(rt, "at"))
		for i, holdings := range b.Holdings(tanks, from, until) {
			holds, changes := int64(0), 0
			for k, l := range holdings {
				if l.At.Before(from) || l.At.After(until) || k > 0 && (l.At.Before(holdings[k-1].At) || l.Grams == holdings[k-1].Grams) {
					rt.Fatalf("holding %d is %+v, after %+v", k, l, holdings[max(k-1, 0)])
				}
				if !l.At.After(at) {
					holds, changes = l.Grams, k
				}
			}
			if h, _ := b.StateAt(at).Holder(tanks[i]); h.Grams != holds {
				rt.Fatalf("at %v after %d changes: %d g, the state has %d", at, changes, holds, h.Grams)
			}
		}
	})
}
