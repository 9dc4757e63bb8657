package ledger_test

import (
	"errors"
	"testing"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// A room's year is said by both its months or by neither, and its warmest month is the warmer.
func TestTheYearOfARoomIsSaidWholeOrNotAtAll(t *testing.T) {
	t.Parallel()
	b, err := ledger.Open(time.UTC, nil)
	if err != nil {
		t.Fatal(err)
	}
	warm, cold := 28.0, 6.0
	for _, c := range []struct {
		room  ledger.Room
		wrong string
	}{
		{ledger.Room{}, ""},
		{ledger.Room{WarmestMonthMeanC: &warm, ColdestMonthMeanC: &cold}, ""},
		{ledger.Room{WarmestMonthMeanC: &warm, ColdestMonthMeanC: &warm, WarmestMonth: 1}, ""},
		{ledger.Room{WarmestMonthMeanC: &warm}, "/coldest_month_mean_c"},
		{ledger.Room{ColdestMonthMeanC: &cold}, "/warmest_month_mean_c"},
		{ledger.Room{WarmestMonth: 7}, "/warmest_month_mean_c"},
		{ledger.Room{WarmestMonthMeanC: &cold, ColdestMonthMeanC: &warm}, "/warmest_month_mean_c"},
	} {
		c.room.Name, c.room.Use = "store", ledger.Store
		err := b.Check(&ledger.Entry{ID: ledgertest.ID(1), Kind: ledger.KindRoom, OccurredAt: ledgertest.At(0), Body: &c.room}, ledgertest.At(1))
		got := ""
		if f := new(fault.Error); errors.As(err, &f) && len(f.Fields) == 1 {
			got = f.Fields[0].Pointer
		}
		if got != c.wrong || err == nil != (c.wrong == "") {
			t.Errorf("%+v: %v, want a fault at %q", c.room, err, c.wrong)
		}
	}
	if y, ok := (&ledger.Room{WarmestMonthMeanC: &warm, ColdestMonthMeanC: &cold}).Year(); !ok || y.MeanC != 17 || y.SwingK != 11 {
		t.Errorf("from 6 to 28 C: %+v", y)
	}
	if _, ok := (&ledger.Room{}).Year(); ok {
		t.Error("nothing said is a year")
	}
}
