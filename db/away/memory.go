package away

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"time"

	"github.com/google/uuid"
	lru "github.com/hashicorp/golang-lru/v2"
	"github.com/jackc/pgx/v5"
)

// ReadOnFor is how long after the database last answered a process goes on reading
// for somebody, where others may change the database meanwhile.
const ReadOnFor = 15 * time.Minute

const (
	// askWithin is how long a reader waits for a database that may be away, where there
	// is something to fall back on. Afterwards nobody waits for silentFor.
	askWithin = 5 * time.Second
	silentFor = time.Second
	// mostAnswers bounds how many answers one list remembers.
	mostAnswers = 4096
)

// Memory says which of the database's answers still let somebody read.
type Memory struct {
	// ReadOnFor is the constant of this name, or another time set before the first request.
	ReadOnFor time.Duration
	// silentUntil is when a database that did not answer in time is asked again, in
	// nanoseconds since 1970.
	silentUntil atomic.Int64

	mu sync.Mutex
	// changes counts how often this process changed an outfit's people, tokens, keys and
	// tablets. An answer from before a change is void.
	changes map[uuid.UUID]int
}

// Answer is what the database answered, and when it was asked.
type Answer struct {
	Value any
	At    time.Time
	// changes is the outfit's count of changes when the database was asked.
	changes int
	// ended is true where this process ended what the answer is about. It stays ended,
	// whatever an answer on its way says.
	ended bool
}

// NewMemory returns an empty memory.
func NewMemory() *Memory { return &Memory{ReadOnFor: ReadOnFor, changes: map[uuid.UUID]int{}} }

// Asking returns the answer to a question about an outfit that is asked now, still
// without its value.
func (m *Memory) Asking(outfit uuid.UUID, now time.Time) Answer {
	return Answer{At: now, changes: m.changesOf(outfit)}
}

func (m *Memory) changesOf(outfit uuid.UUID) int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.changes[outfit]
}

// Void makes all earlier answers about an outfit void.
func (m *Memory) Void(outfit uuid.UUID) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.changes[outfit]++
}

// Good reports whether an answer still lets somebody of an outfit read.
func (m *Memory) Good(a Answer, outfit uuid.UUID, now time.Time) bool {
	return !a.ended && a.changes == m.changesOf(outfit) && now.Sub(a.At) <= m.ReadOnFor
}

// Ask asks the database for a reader who has an earlier answer to fall back on. It fails
// with Err where the database does not answer in time.
func (m *Memory) Ask(ctx context.Context, ask func(context.Context) error) error {
	if time.Now().UnixNano() < m.silentUntil.Load() {
		return Err
	}
	within, cancel := context.WithTimeout(ctx, askWithin)
	defer cancel()
	err := ask(within)
	switch {
	case err == nil:
		m.silentUntil.Store(0)
	case within.Err() != nil && ctx.Err() == nil:
		m.silentUntil.Store(time.Now().Add(silentFor).UnixNano())
		err = Err
	}
	return err
}

// Answers are answers of one sort, by what was asked about: only ids and hashes.
type Answers struct {
	memory *Memory
	mu     sync.Mutex
	about  *lru.Cache[any, Answer]
}

// NewAnswers returns an empty list of answers.
func (m *Memory) NewAnswers() *Answers {
	about, _ := lru.New[any, Answer](mostAnswers) // fails only for a size below one
	return &Answers{memory: m, about: about}
}

// About returns the last answer about something, or an empty one.
func (a *Answers) About(key any) Answer {
	had, _ := a.about.Get(key)
	return had
}

// AskOrRecall asks the database now, and remembers what it answers. While the database
// is away, a reader gets the remembered answer.
func AskOrRecall[V any](ctx context.Context, a *Answers, outfit uuid.UUID, key any, now time.Time, ask func(context.Context) (V, error)) (v V, err error) {
	asking, had := a.memory.Asking(outfit, now), a.About(key)
	recalled, known := had.Value.(V)
	if ReaderOf(ctx) == nil || !known || !a.memory.Good(had, outfit, now) {
		v, err = ask(ctx)
	} else if err = a.memory.Ask(ctx, func(ctx context.Context) (err error) { v, err = ask(ctx); return err }); Is(err) {
		return recalled, nil
	}
	switch {
	case err == nil:
		asking.Value = v
		a.Remember(key, asking)
	case errors.Is(err, pgx.ErrNoRows):
		a.forget(key)
	}
	return v, err
}

// Remember keeps an answer, except about what this process has ended meanwhile.
func (a *Answers) Remember(key any, answer Answer) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if !a.About(key).ended {
		a.about.Add(key, answer)
	}
}

// forget drops what the database does not know.
func (a *Answers) forget(key any) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if !a.About(key).ended {
		a.about.Remove(key)
	}
}

// End makes something void for good, also for an answer that is on its way.
func (a *Answers) End(key any) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.about.Add(key, Answer{ended: true})
}
