package db

import (
	"context"
	"sync"
	"time"

	"github.com/google/uuid"
)

// lookEvery is how often the head of a book that somebody waits for is looked
// at. (NOTIFY would tell at once, and would make every commit of every outfit
// queue for one lock.)
const lookEvery = 200 * time.Millisecond

// watches knows for which outfits somebody waits, and looks once for all who
// wait for the same.
type watches struct {
	mu sync.Mutex
	of map[uuid.UUID]*watch
}

type watch struct {
	waiting int
	number  int64
	// moved is closed, and made anew, when the number has gone up.
	moved chan struct{}
	stop  context.CancelFunc
}

// Await waits until the database has an entry of the outfit beyond the one
// numbered since, or ctx ends. Whoever is woken looks for himself with Read.
func (b *Books) Await(ctx context.Context, outfit uuid.UUID, since int64) error {
	w := b.join(outfit)
	defer b.leave(outfit, w)
	for {
		b.watches.mu.Lock()
		there, moved := w.number > since, w.moved
		b.watches.mu.Unlock()
		if there {
			return nil
		}
		select {
		case <-moved:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

func (b *Books) join(outfit uuid.UUID) *watch {
	b.watches.mu.Lock()
	defer b.watches.mu.Unlock()
	w := b.watches.of[outfit]
	if w == nil {
		ctx, stop := context.WithCancel(context.Background())
		w = &watch{moved: make(chan struct{}), stop: stop}
		if b.watches.of == nil {
			b.watches.of = map[uuid.UUID]*watch{}
		}
		b.watches.of[outfit] = w
		go b.keepLooking(ctx, outfit, w)
	}
	w.waiting++
	return w
}

func (b *Books) leave(outfit uuid.UUID, w *watch) {
	b.watches.mu.Lock()
	defer b.watches.mu.Unlock()
	if w.waiting--; w.waiting == 0 {
		w.stop()
		delete(b.watches.of, outfit)
	}
}

// keepLooking looks at the head until nobody waits. A database that does not
// answer is asked again: who waits for it learns of that when his time is up.
func (b *Books) keepLooking(ctx context.Context, outfit uuid.UUID, w *watch) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		head, err := b.db.Head(ctx, outfit)
		b.watches.mu.Lock()
		if err == nil && head.Number > w.number {
			w.number = head.Number
			close(w.moved)
			w.moved = make(chan struct{})
		}
		b.watches.mu.Unlock()
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}
