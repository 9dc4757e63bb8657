package api

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/fault"
)

// A sheet of an outfit waits for the one before it, others' sheets do not; and who waits
// in vain, or after too many others, is told so.
func TestAnOutfitBringsInOneSheetAtATime(t *testing.T) {
	t.Parallel()
	turns, own, other := newTurns(), uuid.New(), uuid.New()
	turns.patience = 20 * time.Millisecond
	end, err := turns.begin(t.Context(), own)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := turns.begin(t.Context(), own); fault.CodeOf(err) != fault.Busy {
		t.Errorf("a second sheet of the outfit: %v", err)
	}
	endOther, err := turns.begin(t.Context(), other)
	if err != nil {
		t.Fatalf("another outfit's: %v", err)
	}
	endOther()
	left, leave := context.WithCancel(t.Context())
	leave()
	if _, err := turns.begin(left, own); !errors.Is(err, context.Canceled) {
		t.Errorf("one whose client has left: %v", err)
	}
	turns.patience = time.Hour
	came := make(chan error)
	for range mostQueued {
		go func() {
			end, err := turns.begin(t.Context(), own)
			if err == nil {
				end()
			}
			came <- err
		}()
	}
	for waiting := 0; waiting < mostQueued; {
		turns.mu.Lock()
		waiting = turns.waiting[own]
		turns.mu.Unlock()
		time.Sleep(time.Millisecond)
	}
	if _, err := turns.begin(t.Context(), own); fault.CodeOf(err) != fault.Busy {
		t.Errorf("one more than may wait: %v", err)
	}
	end()
	for range mostQueued {
		if err := <-came; err != nil {
			t.Errorf("one that waited its turn: %v", err)
		}
	}
	if len(turns.outfits)+len(turns.waiting)+turns.all != 0 {
		t.Errorf("nobody brings anything in, and the turns hold %+v", turns)
	}
}

// However many outfits bring sheets in, few files come in at once, and fewer are open.
func TestFewSheetsAreBroughtInAtOnce(t *testing.T) {
	t.Parallel()
	turns := newTurns()
	turns.patience = time.Millisecond
	for range mostUploads {
		if _, err := turns.begin(t.Context(), uuid.New()); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := turns.begin(t.Context(), uuid.New()); fault.CodeOf(err) != fault.Busy {
		t.Errorf("one more: %v", err)
	}
	var closed func()
	for range mostOpened {
		var err error
		if closed, err = turns.open(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	soon, cancel := context.WithTimeout(t.Context(), time.Millisecond)
	defer cancel()
	if _, err := turns.open(soon); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("one more file is open: %v", err)
	}
	closed()
	if _, err := turns.open(t.Context()); err != nil {
		t.Error(err)
	}
}
