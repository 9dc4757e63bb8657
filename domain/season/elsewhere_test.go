package season_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// TestWhateverAnEntryChangesElsewhereIsSaidInWords holds that each finding that came or went
// has a sentence, also where what it was about was withdrawn.
func TestWhateverAnEntryChangesElsewhereIsSaidInWords(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		b, err := ledger.Open(time.UTC, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range o.Entries {
			effect, err := b.Append(e)
			if err != nil {
				t.Fatal(err)
			}
			opened, closed := len(effect.Opened), len(effect.Closed)
			r := season.ReplyTo(b, effect)
			if len(r.Opened)+r.MoreOpened != opened || len(r.Closed)+r.MoreClosed != closed || len(r.Opened) > 50 || len(r.Closed) > 50 {
				t.Fatalf("entry %d: %d and %d told of %d and %d", e.Number, len(r.Opened), len(r.Closed), opened, closed)
			}
			for _, x := range append(r.Opened, r.Closed...) {
				if x.Says.String() == "" {
					t.Fatalf("entry %d: nothing is said of %s", e.Number, x.Flag.Code)
				}
			}
		}
	})
}
