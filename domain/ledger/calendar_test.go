package ledger_test

import (
	"fmt"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// The season of an instant is the one that stands, whatever was corrected, withdrawn or
// taken back since it was last asked for.
func TestTheSeasonOfAnInstantIsTheOneThatStands(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	season := func(year, month int) *ledger.Season {
		return &ledger.Season{Name: fmt.Sprint(year, month), First: ledger.Date(fmt.Sprintf("%d-%02d-01", year, month)), Last: ledger.Date(fmt.Sprintf("%d-12-31", year))}
	}
	first := o.SetUp(season(2031, 3))
	for year := 2040; year > 2031; year-- {
		o.SetUp(season(year, 2))
	}
	gone := o.Withdraw(o.Correct(first, 0, season(2031, 7)))
	o.Correct(gone, 0, season(2031, 9))
	o.SetUp(season(2041, 1))
	imported := o.SetUp(&ledger.Import{Of: "yards", SHA256: "00", Entries: 1, Rows: 1, Headings: "00", Mapping: []byte(`{}`)})
	o.Withdraw(imported)
	b, err := ledger.Open(time.UTC, nil)
	if err != nil {
		t.Fatal(err)
	}
	changed := 0
	last := map[time.Time]string{}
	for _, e := range o.Entries {
		if _, err := b.Append(e); err != nil {
			t.Fatal(err)
		}
		for at := time.Date(2030, 6, 15, 12, 0, 0, 0, time.UTC); at.Year() < 2043; at = at.AddDate(0, 2, 0) {
			want, got := "", ""
			b.InForceOf(ledger.KindSeason, func(_ ledger.ID, e *ledger.Entry) bool {
				if s := e.Body.(*ledger.Season); s.Holds(at, time.UTC) {
					want = s.Name
				}
				return true
			})
			if s := b.SeasonOf(at); s != nil {
				got = s.Name
			}
			if got != want {
				t.Errorf("after entry %d: %s is in the season %q, and that is said to be %q", e.Number, at, want, got)
			}
			if got != last[at] {
				last[at] = got
				changed++
			}
		}
	}
	if changed < 60 {
		t.Errorf("the answers changed %d times only", changed)
	}
}
