package plans

import (
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/request"
	"pullbook/domain/optimum"
)

// Whoever asks the same of the same book gets one and the same answer, also while it is searched for; what fails
// is searched for anew.
func TestAnAnswerIsSearchedForOnce(t *testing.T) {
	h := New(&request.Service{Config: request.Config{Now: time.Now}})
	searches := 0 // one at a time
	ask := func(key string, fails error) (*int, error) {
		return searchOnce(t.Context(), h, uuid.UUID{1}, key, func(optimum.Effort) (*int, error) {
			searches++
			return new(searches), fails
		})
	}
	var all sync.WaitGroup
	for range mostWaiting {
		all.Go(func() {
			if got, err := ask("page", nil); err != nil || *got != 1 {
				t.Error(got, err)
			}
		})
	}
	all.Wait()
	if got, err := ask("another", nil); err != nil || *got != 2 {
		t.Errorf("another question has %v, %v", got, err)
	}
	broken := errors.New("broken down")
	if got, err := ask("fails", broken); got != nil || !errors.Is(err, broken) {
		t.Errorf("what breaks down has %v, %v", got, err)
	}
	if got, err := ask("fails", nil); err != nil || *got != 4 {
		t.Errorf("asked again it has %v, %v", got, err)
	}
}
