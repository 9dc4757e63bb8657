package balance_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/balance"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// weighed is all that the balance of a book says of its first season, in whatever way.
type weighed struct {
	Report       *balance.Report
	Days         []balance.DayLine
	Wrong, ByDay string
}

func weigh(b *ledger.Book, solved *balance.Solved) (out weighed) {
	var season ledger.ID
	b.InForceOf(ledger.KindSeason, func(root ledger.ID, _ *ledger.Entry) bool { season = root; return false })
	p, err := balance.Season(b, season)
	if err != nil {
		return weighed{Wrong: err.Error()}
	}
	read := balance.Read(b, solved)
	report, err := read.Reconcile(p)
	out.Report, out.Wrong = report, fmt.Sprint(err)
	days, err := read.Days(p)
	out.Days, out.ByDay = days, fmt.Sprint(err)
	return out
}

// asIfNothingWereKept fails where what was kept of a book as it was tells in another report
// than solving all anew.
func asIfNothingWereKept(t interface{ Fatalf(string, ...any) }, b *ledger.Book, solved *balance.Solved) {
	kept, anew := weigh(b, solved), weigh(b, nil)
	if !reflect.DeepEqual(kept, anew) {
		t.Fatalf("after entry %d, with what was kept:\n%+v\nsolved anew:\n%+v", b.Len(), kept, anew)
	}
	solved.Forget()
	if again := weigh(b, solved); !reflect.DeepEqual(again, anew) {
		t.Fatalf("after entry %d, with all forgotten:\n%+v\nsolved anew:\n%+v", b.Len(), again, anew)
	}
}

func TestWhatWasSolvedBeforeChangesNoReport(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		entries, solved := ledgertest.Random(rt, 50).Entries, new(balance.Solved)
		from := rapid.IntRange(len(entries)/2, len(entries)-1).Draw(rt, "from")
		b, err := ledger.Open(time.UTC, entries[:from])
		if err != nil {
			rt.Fatal(err)
		}
		for _, e := range entries[from:] {
			weigh(b, solved)
			if _, err := b.Append(e); err != nil {
				rt.Fatal(err)
			}
			asIfNothingWereKept(rt, b, solved)
		}
	})
}

// In a house at work each entry leaves most of the weights as they were.
func TestWhatWasSolvedBeforeChangesNoReportOfAHouseAtWork(t *testing.T) {
	t.Parallel()
	for seed := range uint64(3) {
		o := demo.Ordinary(seed)
		o.Yards, o.Supers, o.Runs, o.Happenings = 6, 300, 8, true
		m, solved := demo.Outfit(o), new(balance.Solved)
		entries := m.Recorded()
		from := len(entries) - 12
		b, err := ledger.Open(m.Location, entries[:from])
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries[from:] {
			weigh(b, solved)
			if _, err := b.Append(e); err != nil {
				t.Fatal(err)
			}
			asIfNothingWereKept(t, b, solved)
		}
	}
}
