package request

import (
	"crypto/sha256"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// guesses bounds how often a secret may be tried: a password, a feed key. It counts
// on digests, so that what strangers send takes no room, and keeps a bounded number
// of counts.
type guesses struct {
	now func() time.Time

	mu sync.Mutex
	// due is when each count will be back at zero, if nobody tries until then.
	due map[[sha256.Size]byte]time.Time
}

// Pace is how many tries there are at first, and how long it takes until there is
// one more.
type Pace struct {
	Tries int
	Each  time.Duration
}

// Count is something that tries are counted by.
type Count struct {
	Pace
	by [sha256.Size]byte
}

// mostCounts bounds the memory of counts to some megabytes.
const mostCounts = 1 << 16

func newGuesses(now func() time.Time) *guesses {
	return &guesses{now: now, due: map[[sha256.Size]byte]time.Time{}}
}

// CountBy makes a count; its parts hold no NUL.
func CountBy(p Pace, parts ...string) Count {
	return Count{p, sha256.Sum256([]byte(strings.Join(parts, "\x00")))}
}

// Take counts a try by all counts and returns zero. Where one of them has none
// left, nothing is counted, and the answer is how long there will be none.
func (g *guesses) Take(counts ...Count) (wait time.Duration) {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	for _, c := range counts {
		if due, counted := g.due[c.by]; counted {
			wait = max(wait, due.Sub(now)-time.Duration(c.Tries-1)*c.Each)
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
		g.due[c.by] = from.Add(c.Each)
	}
	return 0
}

// GiveBack takes back a try that was no guess: the secret was right.
func (g *guesses) GiveBack(counts ...Count) {
	g.mu.Lock()
	defer g.mu.Unlock()
	for _, c := range counts {
		if due, ok := g.due[c.by]; ok {
			g.due[c.by] = due.Add(-c.Each)
		}
	}
}

// makeRoom forgets counts that are back at zero. Where that is not enough, it
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

// TooOften says how long there is nothing to try.
func TooOften(ctx echo.Context, wait time.Duration) error {
	seconds := math.Ceil(wait.Seconds())
	ctx.Response().Header().Set("Retry-After", fmt.Sprint(int(seconds)))
	if seconds > 90 {
		minutes := math.Ceil(seconds / 60)
		return fault.New(fault.TooOften, "Too many tries. Try again in %s.", message.Plural{N: minutes, One: "%s minute", Other: "%s minutes"})
	}
	return fault.New(fault.TooOften, "Too many tries. Try again in %s.", message.Plural{N: seconds, One: "%s second", Other: "%s seconds"})
}
