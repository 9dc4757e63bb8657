package ledger_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// A book that learns its entries a few at a time, and is asked about any instant each
// time, says what one does that is opened with the same entries.
func TestALearningBookSaysWhatOneOpenedThenDoes(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := ledgertest.Random(t, 60).Entries
		learning, err := ledger.Open(time.UTC, nil)
		if err != nil {
			t.Fatal(err)
		}
		for known := 0; known < len(entries); {
			more := rapid.IntRange(0, len(entries)-known).Draw(t, "more")
			at := rapid.SampledFrom(entries).Draw(t, "asked about").OccurredAt
			if err := learning.Learn(at, entries[known:known+more]...); err != nil {
				t.Fatal(err)
			}
			known += more
			opened, err := ledger.Open(time.UTC, entries[:known])
			if err != nil {
				t.Fatal(err)
			}
			got, want := pictureOf(learning, learning.State()), pictureOf(opened, opened.StateAt(at))
			if d := differ(got, want); d != "" {
				t.Fatalf("at %v with %d entries: %s", at, known, d)
			}
		}
	})
}
