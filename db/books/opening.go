package books

import (
	"context"
	"time"

	"github.com/google/uuid"

	"pullbook/db/progress"
	"pullbook/domain/fault"
)

// StillOpening tells who would rather not wait how far the book is that is opened.
type StillOpening struct{ progress.State }

func (s *StillOpening) Error() string { return s.Unwrap().Error() }

func (s *StillOpening) Unwrap() error { return errOpening }

var errOpening = fault.New(fault.Busy, "The book is being opened, which takes a moment after a start. Please send it again.")

type patienceKey struct{}

// WithPatience has who asks for a book that is opened just then wait for so long at the
// most, and fail with a *StillOpening. The opening goes on.
func WithPatience(ctx context.Context, most time.Duration) context.Context {
	return context.WithValue(ctx, patienceKey{}, most)
}

// tiredOfOpening tells when the patience of who asks is over; never where there is no end
// to it.
func tiredOfOpening(ctx context.Context) (tired <-chan time.Time, stop func()) {
	most, limited := ctx.Value(patienceKey{}).(time.Duration)
	if !limited {
		return nil, func() {}
	}
	timer := time.NewTimer(most)
	return timer.C, func() { timer.Stop() }
}

// tellOfOpening tells whom the context names, and whoever asks for the book until told is
// called, how far its opening is.
func (b *Books) tellOfOpening(ctx context.Context, outfit uuid.UUID) (tell progress.Tell, told func()) {
	work, beside := progress.Begin(progress.Opening, time.Now()), progress.From(ctx)
	b.mu.Lock()
	defer b.mu.Unlock()
	b.underWay[outfit] = work
	tell = func(step progress.Step, done, of int64) {
		work.Tell(step, done, of)
		beside(step, done, of)
	}
	return tell, func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		delete(b.underWay, outfit)
	}
}

// openingOf is how far the opening of an outfit's book is; nothing of it where none is
// under way.
func (b *Books) openingOf(outfit uuid.UUID) progress.State {
	b.mu.Lock()
	work := b.underWay[outfit]
	b.mu.Unlock()
	if work == nil {
		return progress.State{}
	}
	return work.At(time.Now())
}

// Ready opens the outfit's book if it is not open yet, and returns how many entries it has.
func (b *Books) Ready(ctx context.Context, outfit uuid.UUID) (entries int64, err error) {
	defer fault.Wrap(&err, "open the book")
	l, err := b.live(ctx, outfit)
	if err != nil {
		return 0, err
	}
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.book.Len(), nil
}
