package api

import (
	"crypto/sha256"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"
)

// guesses bounds how often a secret may be tried: a password, a feed key. It counts
// on digests, so that what strangers send takes no room, and keeps a bounded number
// of counts.
type guesses struct {
	now func() time.Time

	mu sync.Mutex
	// due is when each count will be back at nought, if nobody tries until then.
	due map[[sha256.Size]byte]time.Time
}

// pace is how many tries there are at first, and how long it takes until there is
// one more.
type pace struct {
	tries int
	each  time.Duration
}

// count is something that tries are counted by.
type count struct {
	pace
	by [sha256.Size]byte
}

// mostCounts bounds the memory of counts to some megabytes.
const mostCounts = 1 << 16

func newGuesses(now func() time.Time) *guesses {
	return &guesses{now: now, due: map[[sha256.Size]byte]time.Time{}}
}

// countBy makes a count; its parts hold no NUL.
func countBy(p pace, parts ...string) count {
	return count{p, sha256.Sum256([]byte(strings.Join(parts, "\x00")))}
}

// take counts a try by all counts and answers nought. Where one of them has none
// left, nothing is counted, and the answer is how long there will be none.
func (g *guesses) take(counts ...count) (wait time.Duration) {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	for _, c := range counts {
		if due, counted := g.due[c.by]; counted {
			wait = max(wait, due.Sub(now)-time.Duration(c.tries-1)*c.each)
		}
	}
	if wait > 0 {
		return wait
	}
	g.makeRoom(now, len(counts))
	for _, c := range counts {
		from := g.due[c.by]
		if from.Before(now) {
			from = now
		}
		g.due[c.by] = from.Add(c.each)
	}
	return 0
}

// giveBack takes back a try that was no guess: the secret was right.
func (g *guesses) giveBack(counts ...count) {
	g.mu.Lock()
	defer g.mu.Unlock()
	for _, c := range counts {
		if due, ok := g.due[c.by]; ok {
			g.due[c.by] = due.Add(-c.each)
		}
	}
}

// makeRoom forgets counts that are back at nought. Where that is not enough, it
// forgets those that will be soonest: whoever floods the memory with counts of one
// try each does not wipe out the long count of somebody under attack.
func (g *guesses) makeRoom(now time.Time, more int) {
	if len(g.due)+more <= mostCounts {
		return
	}
	maps.DeleteFunc(g.due, func(_ [sha256.Size]byte, due time.Time) bool { return !due.After(now) })
	if len(g.due)+more <= mostCounts*3/4 {
		return
	}
	dues := slices.SortedFunc(maps.Values(g.due), time.Time.Compare)
	last := dues[len(dues)/4]
	maps.DeleteFunc(g.due, func(_ [sha256.Size]byte, due time.Time) bool { return !due.After(last) })
}
