package books

import (
	"context"

	"github.com/google/uuid"
)

// HoldCopying lets no copy of an outfit's book be opened until release is called.
func (b *Books) HoldCopying(ctx context.Context, outfit uuid.UUID) (release func(), err error) {
	l, err := b.live(ctx, outfit)
	if err != nil {
		return nil, err
	}
	return func() { l.copying.Release(1) }, l.copying.Acquire(ctx, 1)
}

// RepliedThen is the reply that entry n had when it was recorded.
var RepliedThen = repliedThen

// HeldBack is how many late entries of an outfit are not stored yet.
func (b *Books) HeldBack(outfit uuid.UUID) int {
	b.mu.Lock()
	q := &b.open[outfit].late
	b.mu.Unlock()
	q.mu.Lock()
	defer q.mu.Unlock()
	return len(q.held)
}
