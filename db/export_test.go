package db

import (
	"context"

	"github.com/google/uuid"
)

// HoldAside lets no book of an outfit be opened aside until release is called.
func (b *Books) HoldAside(ctx context.Context, outfit uuid.UUID) (release func(), err error) {
	l, err := b.book(ctx, outfit)
	if err != nil {
		return nil, err
	}
	return func() { l.reopening.Release(1) }, l.reopening.Acquire(ctx, 1)
}
