// Package gate limits how many are inside at once, in all and for each owner.
package gate

import (
	"context"
	"slices"
	"sync"
	"time"

	"pullbook/domain/fault"
)

// Gate bounds how many places are taken at once, all together and by whose they are,
// so that one outfit or one network never takes every place.
type Gate struct {
	// MostInLine is how many of one share may wait.
	MostInLine int

	mu    sync.Mutex
	free  int
	taken map[string]int
	// line are those who wait, the first first.
	line    []*waiter
	waiting map[string]int
}

// Share is whose a request is, and how many places those may take at once.
type Share struct {
	Of   string
	Most int
}

// Of is a share of so many places.
func Of(whose string, most int) Share { return Share{whose, most} }

type waiter struct {
	places int
	shares []Share
	// in is closed once the waiter is inside.
	in chan struct{}
}

// New makes a gate with so many places.
func New(places int) *Gate {
	return &Gate{MostInLine: 256, free: places, taken: map[string]int{}, waiting: map[string]int{}}
}

// Part is the nth part of a number of places, at least one.
func Part(places, n int) int { return max(1, places/n) }

// Enter takes a place, waiting for one if need be; leave gives it back. Who waits
// for the own share does not hold up others.
func (g *Gate) Enter(ctx context.Context, wait time.Duration, shares ...Share) (leave func(), err error) {
	return g.EnterWith(ctx, wait, 1, shares...)
}

// EnterWith is Enter for who takes several places, no more than any of the shares has.
// The first who waits for free places gets them before those who come later and need
// fewer.
func (g *Gate) EnterWith(ctx context.Context, wait time.Duration, places int, shares ...Share) (leave func(), err error) {
	me := &waiter{places, shares, make(chan struct{})}
	leave = func() { g.leave(me) }
	g.mu.Lock()
	full := g.full(me)
	if full == nil && slices.ContainsFunc(g.line, func(w *waiter) bool { return g.full(w) != ErrShare }) {
		full = ErrFull
	}
	if full == nil {
		g.take(me, 1)
		g.mu.Unlock()
		return leave, nil
	}
	if wait == 0 || slices.ContainsFunc(shares, func(s Share) bool { return g.waiting[s.Of] >= g.MostInLine }) {
		g.mu.Unlock()
		return nil, full
	}
	g.line = append(g.line, me)
	for _, s := range shares {
		g.waiting[s.Of]++
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
	ErrFull  = fault.New(fault.Busy, "Too many requests at once; nothing of this one was stored.")
	ErrShare = fault.New(fault.Busy, "Too many requests at once from this outfit or this network; nothing of this one was stored. Others are served meanwhile: send fewer at a time.")
)

// full says why there is no room; nil where there is.
func (g *Gate) full(w *waiter) error {
	for _, s := range w.shares {
		if g.taken[s.Of]+w.places > s.Most {
			return ErrShare
		}
	}
	if g.free < w.places {
		return ErrFull
	}
	return nil
}

// take takes a waiter's places, or with -1 gives them back.
func (g *Gate) take(w *waiter, times int) {
	g.free -= times * w.places
	for _, s := range w.shares {
		add(g.taken, s.Of, times*w.places)
	}
}

// add keeps no names that stand at zero.
func add(counts map[string]int, name string, n int) {
	if counts[name] += n; counts[name] == 0 {
		delete(counts, name)
	}
}

// leave gives places back and lets in whoever now has room.
func (g *Gate) leave(gone *waiter) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.take(gone, -1)
	g.letIn()
}

// letIn lets in who waits, until one has to wait for free places.
func (g *Gate) letIn() {
	blocked := false
	g.line = slices.DeleteFunc(g.line, func(w *waiter) bool {
		full := g.full(w)
		blocked = blocked || full == ErrFull
		if blocked || full != nil {
			return false
		}
		g.take(w, 1)
		g.endWait(w)
		close(w.in)
		return true
	})
}

// giveUp takes a waiter out of the line, and lets in whom it held up; false where it is
// inside by now.
func (g *Gate) giveUp(me *waiter) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	at := slices.Index(g.line, me)
	if at < 0 {
		return false
	}
	g.line = slices.Delete(g.line, at, at+1)
	g.endWait(me)
	g.letIn()
	return true
}

func (g *Gate) endWait(w *waiter) {
	for _, s := range w.shares {
		add(g.waiting, s.Of, -1)
	}
}
