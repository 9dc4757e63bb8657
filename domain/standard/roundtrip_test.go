package standard_test

import (
	"encoding/json"
	"testing"
)

func TestARuleSetSurvivesBeingWrittenAndReadAgain(t *testing.T) {
	t.Parallel()
	for _, set := range publishedLibrary(t).All() {
		if set.SameAs != "" {
			continue // its limits were filled in from the other
		}
		written, err := json.Marshal(set)
		if err != nil {
			t.Fatal(err)
		}
		again, err := json.Marshal(parsed(t, written))
		if err != nil || string(again) != string(written) {
			t.Errorf("%s changed (%v)", set.ID, err)
		}
		c, d := check(t, set, wholeLot()), check(t, parsed(t, written), wholeLot())
		if c.Outcome != d.Outcome || c.Grade != d.Grade {
			t.Errorf("%s answers %s %q before and %s %q after", set.ID, c.Outcome, c.Grade, d.Outcome, d.Grade)
		}
	}
}

func TestEveryPublishedLineSaysWhereItComesFrom(t *testing.T) {
	t.Parallel()
	sets, fromMemory, seen := publishedLibrary(t).All(), 0, 0
	for _, set := range sets {
		for _, l := range set.Limits {
			if l.Clause == "" || (l.Source.SeenAt == "") == !l.Source.FromMemory {
				t.Errorf("%s: %s %s has clause %q and source %+v", set.ID, l.Parameter, l.Limit, l.Clause, l.Source)
			}
			if l.Source.FromMemory {
				fromMemory++
			} else {
				seen++
			}
		}
	}
	if len(sets) < 38 {
		t.Errorf("%d rule sets, 38 were found", len(sets))
	}
	t.Logf("%d rule sets, %d lines from text seen, %d from memory", len(sets), seen, fromMemory)
}
