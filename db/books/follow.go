package books

import (
	"context"
	"sync"
	"time"

	"github.com/google/uuid"
)

// lookEvery is how often the head of a book is looked at for which somebody waits. (NOTIFY
// would tell at once, and would make every commit of every outfit queue for one lock.)
const lookEvery = 200 * time.Millisecond

// followers are those who wait for entries, by outfit.
type followers struct {
	mu sync.Mutex
	of map[uuid.UUID]*headWatch
}

// headWatch looks at the head of one book for all who wait for it.
type headWatch struct {
	waiting int
	number  int64
	// moved is closed, and made anew, when the number has gone up.
	moved chan struct{}
	stop  context.CancelFunc
}

// Await waits until the database has an entry of the outfit beyond the one numbered since,
// or until ctx ends. The caller then looks at the book with Read.
func (b *Books) Await(ctx context.Context, outfit uuid.UUID, since int64) error {
	w := b.join(outfit)
	defer b.leave(outfit, w)
	for {
		b.followers.mu.Lock()
		there, moved := w.number > since, w.moved
		b.followers.mu.Unlock()
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

func (b *Books) join(outfit uuid.UUID) *headWatch {
	b.followers.mu.Lock()
	defer b.followers.mu.Unlock()
	w := b.followers.of[outfit]
	if w == nil {
		ctx, stop := context.WithCancel(context.Background())
		w = &headWatch{moved: make(chan struct{}), stop: stop}
		if b.followers.of == nil {
			b.followers.of = map[uuid.UUID]*headWatch{}
		}
		b.followers.of[outfit] = w
		go b.keepLooking(ctx, outfit, w)
	}
	w.waiting++
	return w
}

func (b *Books) leave(outfit uuid.UUID, w *headWatch) {
	b.followers.mu.Lock()
	defer b.followers.mu.Unlock()
	if w.waiting--; w.waiting == 0 {
		w.stop()
		delete(b.followers.of, outfit)
	}
}

// keepLooking looks at the head until nobody waits. A database that does not answer is
// asked again: those who wait learn of that when their time is up.
func (b *Books) keepLooking(ctx context.Context, outfit uuid.UUID, w *headWatch) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		head, err := b.db.Head(ctx, outfit)
		b.followers.mu.Lock()
		if err == nil && head.Number > w.number {
			w.number = head.Number
			close(w.moved)
			w.moved = make(chan struct{})
		}
		b.followers.mu.Unlock()
		select {
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}
