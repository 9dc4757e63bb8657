package db

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"time"

	"github.com/google/uuid"
	lru "github.com/hashicorp/golang-lru/v2"
	"github.com/jackc/pgx/v5"

	"pullbook/domain/fault"
)

// ReadOnFor is how long after the database last answered a process goes on reading
// for somebody, where others may change the database meanwhile.
const ReadOnFor = 15 * time.Minute

const (
	// askWithin is how long a reader waits for a database that may be away, where there
	// is something to fall back on; afterwards nobody waits for silentFor.
	askWithin = 5 * time.Second
	silentFor = time.Second
	// mostNoted bounds what is noted of sessions, of feed keys and of tablets, each.
	mostNoted = 4096
)

// AsKnown says of a request that only reads how old what it was told is. The request
// may be answered from what the process knows while the database is away.
type AsKnown struct {
	mu   sync.Mutex
	at   time.Time
	zone *time.Location
}

type asKnownKey struct{}

// WithAsKnown is a context whose requests may be answered from what the process knows.
func WithAsKnown(ctx context.Context) (context.Context, *AsKnown) {
	k := &AsKnown{}
	return context.WithValue(ctx, asKnownKey{}, k), k
}

func mayBeAsKnown(ctx context.Context) *AsKnown {
	k, _ := ctx.Value(asKnownKey{}).(*AsKnown)
	return k
}

// At is the moment as of which the request was told of the book, on the outfit's clock;
// false where the database said how the book stands.
func (k *AsKnown) At() (time.Time, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.at.IsZero() {
		return k.at, false
	}
	return k.at.In(k.zone), true
}

func (k *AsKnown) note(at time.Time, zone *time.Location) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.at.IsZero() || at.Before(k.at) {
		k.at, k.zone = at, zone
	}
}

// away is what a process keeps in mind for readers while the database is away: that a
// session, a feed key or a tablet was good, by hashes and ids only.
type away struct {
	// readOnFor is ReadOnFor, or another time.
	readOnFor time.Duration
	// silentUntil is when a database that did not answer in time is asked again, in
	// nanoseconds since 1970.
	silentUntil atomic.Int64

	mu sync.Mutex
	// changed counts how often this process changed an outfit's people, tokens, keys and
	// tablets. What was noted before a change is no good after it.
	changed map[uuid.UUID]int

	sessions, feedKeys, tablets *lru.Cache[any, noted]
}

// noted is an answer of the database.
type noted struct {
	value   any
	at      time.Time
	changed int
	// ended: this process ended it, and it never is good again.
	ended bool
}

func newAway() *away {
	a := &away{readOnFor: ReadOnFor, changed: map[uuid.UUID]int{}}
	for _, notes := range []**lru.Cache[any, noted]{&a.sessions, &a.feedKeys, &a.tablets} {
		*notes, _ = lru.New[any, noted](mostNoted) // fails for no size at all only
	}
	return a
}

// GoOnReading sets how long the process goes on reading for somebody after the database
// last answered. It is for before the first request.
func (d *DB) GoOnReading(most time.Duration) { d.away.readOnFor = most }

func (a *away) changes(outfit uuid.UUID) int {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.changed[outfit]
}

// change makes all that was noted of an outfit no good.
func (a *away) change(outfit uuid.UUID) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.changed[outfit]++
}

// good reports whether a note still lets somebody of an outfit read.
func (a *away) good(n noted, outfit uuid.UUID, now time.Time) bool {
	return !n.ended && n.changed == a.changes(outfit) && now.Sub(n.at) <= a.readOnFor
}

// ErrAway says that the book cannot be reached.
var ErrAway = fault.New(fault.Busy, "The book cannot be reached just now. An entry may be sent again with the same id: it is not booked twice.")

// isAway reports whether err says that the database cannot be asked.
func isAway(err error) bool { return err == ErrAway || Unavailable(err) }

// ask asks the database for a reader who can do without the answer. It fails with
// ErrAway where the database does not answer in time.
func (a *away) ask(ctx context.Context, ask func(context.Context) error) error {
	if time.Now().UnixNano() < a.silentUntil.Load() {
		return ErrAway
	}
	within, cancel := context.WithTimeout(ctx, askWithin)
	defer cancel()
	err := ask(within)
	switch {
	case err == nil:
		a.silentUntil.Store(0)
	case within.Err() != nil && ctx.Err() == nil:
		a.silentUntil.Store(time.Now().Add(silentFor).UnixNano())
		err = ErrAway
	}
	return err
}

// askOrRecall asks the database, and notes what it says. While the database is away, a
// reader is told what is noted.
func askOrRecall[V any](ctx context.Context, d *DB, outfit uuid.UUID, notes *lru.Cache[any, noted], key any, ask func(context.Context) (V, error)) (v V, err error) {
	now, changed := d.Now(), d.away.changes(outfit)
	had, _ := notes.Get(key)
	recalled, known := had.value.(V)
	if mayBeAsKnown(ctx) == nil || !known || !d.away.good(had, outfit, now) {
		v, err = ask(ctx)
	} else if err = d.away.ask(ctx, func(ctx context.Context) (err error) { v, err = ask(ctx); return err }); isAway(err) {
		return recalled, nil
	}
	switch {
	case err == nil:
		d.away.note(notes, key, noted{value: v, at: now, changed: changed})
	case errors.Is(err, pgx.ErrNoRows):
		d.away.forget(notes, key)
	}
	return v, err
}

// note notes an answer, except of what this process has ended meanwhile.
func (a *away) note(notes *lru.Cache[any, noted], key any, n noted) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if had, _ := notes.Get(key); !had.ended {
		notes.Add(key, n)
	}
}

// forget forgets what the database does not know.
func (a *away) forget(notes *lru.Cache[any, noted], key any) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if had, _ := notes.Get(key); !had.ended {
		notes.Remove(key)
	}
}

// end has something never be good again, whatever an answer on its way says.
func (a *away) end(notes *lru.Cache[any, noted], key any) {
	a.mu.Lock()
	defer a.mu.Unlock()
	notes.Add(key, noted{ended: true})
}
