package request

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/fault"
)

// No outfit has all places of large documents, and nobody has more than there are.
func TestLargeDocumentsAreMadeAFewAtATime(t *testing.T) {
	t.Parallel()
	l := newLargeAnswers()
	one := uuid.New()
	var leave []func()
	enter := func(ctx context.Context, outfit uuid.UUID) error {
		out, err := l.Enter(ctx, outfit)
		if err == nil {
			leave = append(leave, out)
		}
		return err
	}
	for range mostLargeOfOutfit {
		if err := enter(t.Context(), one); err != nil {
			t.Fatal(err)
		}
	}
	if err := enter(t.Context(), one); fault.CodeOf(err) != fault.Busy {
		t.Fatalf("a further one of the same outfit: %v", err)
	}
	for range mostLarge - mostLargeOfOutfit {
		if err := enter(t.Context(), uuid.New()); err != nil {
			t.Fatalf("another outfit: %v", err)
		}
	}
	soon, cancel := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer cancel()
	if err := enter(soon, uuid.New()); fault.CodeOf(err) != fault.Busy {
		t.Fatalf("one more than there are places: %v", err)
	}
	for _, out := range leave {
		out()
	}
	for i := range mostLarge {
		if err := enter(t.Context(), []uuid.UUID{one, uuid.New()}[i%2]); err != nil {
			t.Fatalf("after all have left: %v", err)
		}
	}
}
