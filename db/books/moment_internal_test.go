package books

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// What was recorded at one moment is looked at together, but not the thousands of an import:
// none of them was taken in with the others.
func TestAMomentHasNoMoreEntriesThanAreTakenInTogether(t *testing.T) {
	t.Parallel()
	for _, x := range []struct{ entries, n, first, last int64 }{
		{1, 1, 1, 1}, {mostLate, 1, 1, mostLate}, {mostLate, mostLate, 1, mostLate}, {mostLate, 7, 1, mostLate},
		{mostLate + 1, 1, 1, 1}, {mostLate + 1, 300, 300, 300}, {10 * mostLate, 2000, 2000, 2000},
	} {
		at := time.Date(2026, 8, 21, 10, 0, 0, 0, time.UTC)
		entries := []*ledger.Entry{}
		for n := range x.entries + 2 { // one before and one after, at other moments
			e := &ledger.Entry{Number: n + 1, ID: uuid.New(), Kind: ledger.KindYard, RecordedAt: at, Body: &ledger.Yard{Name: "Mill"}}
			switch n {
			case 0:
				e.RecordedAt = at.Add(-time.Microsecond)
			case x.entries + 1:
				e.RecordedAt = at.Add(time.Microsecond)
			}
			entries = append(entries, e)
		}
		b, err := ledger.Open(time.UTC, entries)
		if err != nil {
			t.Fatal(err)
		}
		if first, last := momentOf(b, x.n+1); first != x.first+1 || last != x.last+1 {
			t.Errorf("of %d entries, the one numbered %d has those from %d to %d", x.entries, x.n, first-1, last-1)
		}
	}
}
