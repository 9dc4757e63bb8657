// Package progress says how far long work is. Who does the work tells it to whoever its
// context names; who waits looks at a Work.
package progress

import (
	"context"
	"slices"
	"sync"
	"time"
)

// Step is a part of some work, in which one thing after the other is done.
type Step string

const (
	// Read: entries from the database.
	Read Step = "read"
	// Replayed: entries in the book that is made of them.
	Replayed Step = "replayed"
	// Checked: entries against their digests, and replayed.
	Checked Step = "checked"
	// Written: entries into an archive.
	Written Step = "written"
	// Tabled: tables for people into an archive.
	Tabled Step = "tabled"
	// Stored: entries into the database.
	Stored Step = "stored"
	// Loaded: bytes of a backup into the database.
	Loaded Step = "loaded"
	// Rows: rows of a sheet. Nobody knows before how many there are.
	Rows Step = "rows"
)

// Tell is told now and then that so many of so many things of a step are done. Of is 0
// where nobody knows how many there are.
type Tell func(step Step, done, of int64)

type key struct{}

// With gives a context whose work tells tell how far it is, and nobody else. Who wants those
// told whom it told before tells From of that context.
func With(ctx context.Context, tell Tell) context.Context {
	return context.WithValue(ctx, key{}, tell)
}

// From gives whom the work of a context tells how far it is. It is never nil.
func From(ctx context.Context) Tell {
	if tell, is := ctx.Value(key{}).(Tell); is {
		return tell
	}
	return func(Step, int64, int64) {}
}

// Every is after how many things, which take microseconds each, it is worth telling.
const Every = 1 << 10

// Of has so many be told as all that there is.
func (t Tell) Of(all int64) Tell {
	return func(step Step, done, _ int64) { t(step, done, all) }
}

// In is what tells of one step.
func (t Tell) In(step Step) func(done, of int64) {
	return func(done, of int64) { t(step, done, of) }
}

// Plan is the steps of a sort of work, in their order.
type Plan []Part

// Part is a step, and how much of the time it takes beside the others.
type Part struct {
	Step   Step
	Weight float64
}

// The sorts of work. The weights are of a book of a million entries.
var (
	Opening       = Plan{{Read, 1}, {Replayed, 2}}
	Audit         = Plan{{Read, 1}, {Checked, 4}}
	Export        = Plan{{Written, 1}}
	TabledExport  = Plan{{Read, 1}, {Replayed, 1}, {Written, 2}, {Tabled, 3}}
	ImportArchive = Plan{{Checked, 1}, {Replayed, 1}, {Stored, 4}}
	Restore       = Plan{{Loaded, 1}}
	Import        = Plan{{Read, 1}, {Replayed, 1}, {Rows, 4}, {Stored, 4}}
)

// Work is long work that goes on. Any number of goroutines may tell it and look at it.
type Work struct {
	plan  Plan
	began time.Time

	mu       sync.Mutex
	at       int
	done, of int64
}

// Begin begins work at a moment.
func Begin(plan Plan, began time.Time) *Work { return &Work{plan: plan, began: began} }

// Tell says how far the work is. A step that is not in its plan changes nothing, nor does
// one that lies behind it.
func (w *Work) Tell(step Step, done, of int64) {
	at := slices.IndexFunc(w.plan, func(p Part) bool { return p.Step == step })
	w.mu.Lock()
	defer w.mu.Unlock()
	if at < w.at || at == w.at && done < w.done {
		return
	}
	w.at, w.done, w.of = at, done, of
}

// State is how far work was at a moment.
type State struct {
	Step     Step
	Done, Of int64
	// Share is how much of all steps is done, from 0 to 1; 0 where nobody knows.
	Share float64
	// Left is about how long it takes still, by its pace so far; 0 where that is not known
	// yet.
	Left time.Duration
}

const (
	// leastSeen is how much of the work has to be done, and for how long it has to go on,
	// before its pace says how long it takes.
	leastSeen    = 0.02
	leastElapsed = time.Second
)

// At is how far the work is at a moment.
func (w *Work) At(now time.Time) State {
	w.mu.Lock()
	s := State{Step: w.plan[w.at].Step, Done: w.done, Of: w.of}
	at := w.at
	w.mu.Unlock()
	if s.Of <= 0 {
		return s
	}
	var before, all float64
	for i, p := range w.plan {
		all += p.Weight
		if i < at {
			before += p.Weight
		}
	}
	within := min(1, float64(s.Done)/float64(s.Of))
	s.Share = (before + within*w.plan[at].Weight) / all
	if elapsed := now.Sub(w.began); elapsed >= leastElapsed && s.Share >= leastSeen {
		s.Left = time.Duration(float64(elapsed) * (1 - s.Share) / s.Share)
	}
	return s
}
