package request

import (
	"fmt"
	"testing"
	"time"
)

func TestCountsOfGuessesAreBoundedAndALongOneOutlivesAFlood(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 8, 22, 18, 0, 0, 0, time.UTC)
	g := newGuesses(func() time.Time { return now })
	ten := Pace{10, 30 * time.Second}
	victim := CountBy(ten, "victim")
	for range 10 {
		if wait := g.Take(victim); wait != 0 {
			t.Fatalf("waits %v", wait)
		}
	}
	if wait := g.Take(victim); wait != 30*time.Second {
		t.Errorf("the eleventh waits %v", wait)
	}
	for i := range 3 * mostCounts {
		g.Take(CountBy(ten, "flood", fmt.Sprint(i)))
	}
	if len(g.due) > mostCounts {
		t.Errorf("%d counts are kept", len(g.due))
	}
	if wait := g.Take(victim); wait == 0 {
		t.Error("a flood of counts wipes out that of who is under attack")
	}
	other := CountBy(ten, "other")
	if g.Take(victim, other); g.Take(other) != 0 {
		t.Error("a try that was refused is counted")
	}
	now = now.Add(30 * time.Second)
	if wait := g.Take(victim); wait != 0 {
		t.Errorf("half a minute later it waits %v", wait)
	}
	g.GiveBack(victim)
	if wait := g.Take(victim); wait != 0 {
		t.Errorf("a right one counted: %v", wait)
	}
	now = now.Add(time.Hour)
	for range 10 {
		if wait := g.Take(victim); wait != 0 {
			t.Errorf("an hour later it waits %v", wait)
		}
	}
}
