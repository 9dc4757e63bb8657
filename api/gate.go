package api

import (
	"context"
	"slices"
	"sync"
	"time"

	"pullbook/domain/fault"
)

// gate bounds how many are inside at once, all together and by whose they are, so
// that one outfit or one network never takes every place.
type gate struct {
	mu    sync.Mutex
	free  int
	taken map[string]int
	// line are those who wait, the first first.
	line    []*waiter
	waiting map[string]int
}

// share is whose a request is, and how many of those may be inside at once.
type share struct {
	of   string
	most int
}

type waiter struct {
	shares []share
	// in is closed once the waiter is inside.
	in chan struct{}
}

func newGate(places int) *gate {
	return &gate{free: places, taken: map[string]int{}, waiting: map[string]int{}}
}

// part is the nth part of a number of places, at least one.
func part(places, n int) int { return max(1, places/n) }

// mostInLine is how many of one share may wait.
const mostInLine = 256

// enter takes a place, waiting for one if need be; leave gives it back. Who waits
// for the own share does not hold up others.
func (g *gate) enter(ctx context.Context, wait time.Duration, shares ...share) (leave func(), err error) {
	leave = func() { g.leave(shares) }
	g.mu.Lock()
	full := g.full(shares)
	if full == nil {
		g.take(shares, 1)
		g.mu.Unlock()
		return leave, nil
	}
	if wait == 0 || slices.ContainsFunc(shares, func(s share) bool { return g.waiting[s.of] >= mostInLine }) {
		g.mu.Unlock()
		return nil, full
	}
	me := &waiter{shares, make(chan struct{})}
	g.line = append(g.line, me)
	for _, s := range shares {
		g.waiting[s.of]++
	}
	g.mu.Unlock()
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-me.in:
		return leave, nil
	case <-timer.C:
	case <-ctx.Done():
		full = ctx.Err()
	}
	if g.giveUp(me) {
		return nil, full
	}
	return leave, nil // let in at the last moment
}

var (
	errFull  = fault.New(fault.Busy, "Too many requests at once; nothing of this one was stored.")
	errShare = fault.New(fault.Busy, "Too many requests at once from this outfit or this network; nothing of this one was stored. Others are served meanwhile: send fewer at a time.")
)

// full says why there is no room; nil where there is.
func (g *gate) full(shares []share) error {
	for _, s := range shares {
		if g.taken[s.of] >= s.most {
			return errShare
		}
	}
	if g.free <= 0 {
		return errFull
	}
	return nil
}

func (g *gate) take(shares []share, n int) {
	g.free -= n
	for _, s := range shares {
		add(g.taken, s.of, n)
	}
}

// add keeps no names that stand at nought.
func add(counts map[string]int, name string, n int) {
	if counts[name] += n; counts[name] == 0 {
		delete(counts, name)
	}
}

// leave gives places back and lets in whoever now has room.
func (g *gate) leave(shares []share) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.take(shares, -1)
	g.line = slices.DeleteFunc(g.line, func(w *waiter) bool {
		if g.free <= 0 || g.full(w.shares) != nil {
			return false
		}
		g.take(w.shares, 1)
		g.endWait(w)
		close(w.in)
		return true
	})
}

// giveUp takes a waiter out of the line; false where it is inside by now.
func (g *gate) giveUp(me *waiter) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	at := slices.Index(g.line, me)
	if at < 0 {
		return false
	}
	g.line = slices.Delete(g.line, at, at+1)
	g.endWait(me)
	return true
}

func (g *gate) endWait(w *waiter) {
	for _, s := range w.shares {
		add(g.waiting, s.of, -1)
	}
}
