package gate

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"
)

func TestAGateKeepsPlacesForOthers(t *testing.T) {
	t.Parallel()
	g := New(4)
	greedy, other := Share{"greedy", 2}, Share{"other", 2}
	first, err := g.Enter(t.Context(), 0, greedy)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.Enter(t.Context(), 0, greedy); err != nil {
		t.Fatal(err)
	}
	if _, err := g.Enter(t.Context(), 10*time.Millisecond, greedy); err != ErrShare {
		t.Errorf("a third of a share of two: %v", err)
	}
	in := make(chan error)
	go func() {
		_, err := g.Enter(context.Background(), 5*time.Second, greedy)
		in <- err
	}()
	for range 2 { // whoever waits for the own share holds up nobody
		if _, err := g.Enter(t.Context(), 0, other); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := g.Enter(t.Context(), 0, Share{"third", 1}); err != ErrFull {
		t.Errorf("a fifth of four: %v", err)
	}
	first()
	if err := <-in; err != nil {
		t.Errorf("who waited is not let in: %v", err)
	}
}

func TestAGateLosesNoPlace(t *testing.T) {
	t.Parallel()
	g := New(5)
	var all sync.WaitGroup
	for i := range 400 {
		all.Go(func() {
			leave, err := g.Enter(t.Context(), time.Duration(i%7)*time.Millisecond, Share{fmt.Sprint(i % 9), 2}, Share{fmt.Sprint("of ", i%3), 3})
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

func TestAGateCountsPlacesByTheMany(t *testing.T) {
	t.Parallel()
	g := New(8)
	big, small := Of("big", 8), Of("small", 8)
	three, err := g.EnterWith(t.Context(), 0, 3, small)
	if err != nil {
		t.Fatal(err)
	}
	in := make(chan func())
	go func() {
		leave, err := g.EnterWith(context.Background(), time.Minute, 8, big)
		if err != nil {
			t.Error(err)
		}
		in <- leave
	}()
	for waits(g) == 0 {
		time.Sleep(time.Millisecond)
	}
	if _, err := g.Enter(t.Context(), 0, small); err != ErrFull {
		t.Errorf("who needs one place passes who has waited for eight: %v", err)
	}
	three()
	leave := <-in
	if _, err := g.Enter(t.Context(), 0, small); err != ErrFull {
		t.Errorf("a ninth of eight: %v", err)
	}
	leave()
	if _, err := g.EnterWith(t.Context(), 0, 8, small); err != nil {
		t.Errorf("places are lost: %v", err)
	}
}

func TestWhoLeavesTheLineHoldsUpNobody(t *testing.T) {
	t.Parallel()
	g := New(4)
	if _, err := g.EnterWith(t.Context(), 0, 2, Of("a", 4)); err != nil {
		t.Fatal(err)
	}
	ctx, leaves := context.WithCancel(t.Context())
	first := make(chan error, 1)
	go func() {
		_, err := g.EnterWith(ctx, time.Minute, 4, Of("b", 4))
		first <- err
	}()
	for waits(g) < 1 {
		time.Sleep(time.Millisecond)
	}
	second := make(chan error, 1)
	go func() {
		_, err := g.EnterWith(context.Background(), time.Minute, 2, Of("c", 4))
		second <- err
	}()
	for waits(g) < 2 {
		time.Sleep(time.Millisecond)
	}
	leaves()
	if err := <-first; err != context.Canceled {
		t.Errorf("who left is told %v", err)
	}
	if err := <-second; err != nil {
		t.Errorf("who waited behind is not let in: %v", err)
	}
}

func waits(g *Gate) int {
	g.mu.Lock()
	defer g.mu.Unlock()
	return len(g.line)
}
