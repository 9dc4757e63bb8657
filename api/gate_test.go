package api

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"
)

func TestAGateKeepsPlacesForOthers(t *testing.T) {
	t.Parallel()
	g := newGate(4)
	greedy, other := share{"greedy", 2}, share{"other", 2}
	first, err := g.enter(t.Context(), 0, greedy)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.enter(t.Context(), 0, greedy); err != nil {
		t.Fatal(err)
	}
	if _, err := g.enter(t.Context(), 10*time.Millisecond, greedy); err != errShare {
		t.Errorf("a third of a share of two: %v", err)
	}
	in := make(chan error)
	go func() {
		_, err := g.enter(context.Background(), 5*time.Second, greedy)
		in <- err
	}()
	for range 2 { // whoever waits for the own share holds up nobody
		if _, err := g.enter(t.Context(), 0, other); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := g.enter(t.Context(), 0, share{"third", 1}); err != errFull {
		t.Errorf("a fifth of four: %v", err)
	}
	first()
	if err := <-in; err != nil {
		t.Errorf("who waited is not let in: %v", err)
	}
}

func TestAGateLosesNoPlace(t *testing.T) {
	t.Parallel()
	g := newGate(5)
	var all sync.WaitGroup
	for i := range 400 {
		all.Go(func() {
			leave, err := g.enter(t.Context(), time.Duration(i%7)*time.Millisecond, share{fmt.Sprint(i % 9), 2}, share{fmt.Sprint("of ", i%3), 3})
			if err == nil {
				time.Sleep(time.Duration(i%3) * time.Millisecond)
				leave()
			}
		})
	}
	all.Wait()
	if g.free != 5 || len(g.taken)+len(g.waiting)+len(g.line) != 0 {
		t.Errorf("%d places are free; taken %v, waiting %v, %d in line", g.free, g.taken, g.waiting, len(g.line))
	}
}

func TestCountsOfGuessesAreBoundedAndALongOneOutlivesAFlood(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 8, 22, 18, 0, 0, 0, time.UTC)
	g := newGuesses(func() time.Time { return now })
	ten := pace{10, 30 * time.Second}
	victim := countBy(ten, "victim")
	for range 10 {
		if wait := g.take(victim); wait != 0 {
			t.Fatalf("waits %v", wait)
		}
	}
	if wait := g.take(victim); wait != 30*time.Second {
		t.Errorf("the eleventh waits %v", wait)
	}
	for i := range 3 * mostCounts {
		g.take(countBy(ten, "flood", fmt.Sprint(i)))
	}
	if len(g.due) > mostCounts {
		t.Errorf("%d counts are kept", len(g.due))
	}
	if wait := g.take(victim); wait == 0 {
		t.Error("a flood of counts wipes out that of who is under attack")
	}
	other := countBy(ten, "other")
	if g.take(victim, other); g.take(other) != 0 {
		t.Error("a try that was refused is counted")
	}
	now = now.Add(30 * time.Second)
	if wait := g.take(victim); wait != 0 {
		t.Errorf("half a minute later it waits %v", wait)
	}
	g.giveBack(victim)
	if wait := g.take(victim); wait != 0 {
		t.Errorf("a right one counted: %v", wait)
	}
	now = now.Add(time.Hour)
	for range 10 {
		if wait := g.take(victim); wait != 0 {
			t.Errorf("an hour later it waits %v", wait)
		}
	}
}
