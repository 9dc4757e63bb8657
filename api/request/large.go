package request

import (
	"context"
	"net/http"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	"golang.org/x/sync/semaphore"

	"pullbook/domain/fault"
)

// Patience lets an answer go on for as long as its reader takes some of it
// within the time that a request may take. It is called after each part.
func (s *Service) Patience(ctx echo.Context) func() error {
	controller := http.NewResponseController(ctx.Response())
	return func() error {
		until := time.Now().Add(s.RequestTimeout)
		if err := controller.SetWriteDeadline(until); err != nil {
			return err
		}
		return controller.SetReadDeadline(time.Time{})
	}
}

// largeAnswers bounds how many large documents are made and sent at once: archives
// and workbooks. Each holds files or a connection to the database for as long as its
// reader takes, so that no outfit may have them all.
type largeAnswers struct {
	all *semaphore.Weighted

	mu sync.Mutex
	of map[uuid.UUID]int
}

const (
	mostLarge         = 4
	mostLargeOfOutfit = 2
	// waitForLarge is how long one waits for a place before it is asked to come again.
	waitForLarge = 5 * time.Second
)

func newLargeAnswers() *largeAnswers {
	return &largeAnswers{all: semaphore.NewWeighted(mostLarge), of: map[uuid.UUID]int{}}
}

// Enter takes a place for an outfit's document, and gives the function that leaves
// it.
func (l *largeAnswers) Enter(ctx context.Context, outfit uuid.UUID) (leave func(), err error) {
	if !l.count(outfit) {
		return nil, fault.New(fault.Busy, "The outfit has %s archives or workbooks on their way already. Ask again once one of them has come.", mostLargeOfOutfit)
	}
	waiting, cancel := context.WithTimeout(ctx, waitForLarge)
	defer cancel()
	if l.all.Acquire(waiting, 1) != nil {
		l.uncount(outfit)
		return nil, fault.New(fault.Busy, "Too many archives and workbooks are on their way. Ask again in a while.")
	}
	return func() {
		l.all.Release(1)
		l.uncount(outfit)
	}, nil
}

func (l *largeAnswers) count(outfit uuid.UUID) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.of[outfit] == mostLargeOfOutfit {
		return false
	}
	l.of[outfit]++
	return true
}

func (l *largeAnswers) uncount(outfit uuid.UUID) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.of[outfit]--; l.of[outfit] == 0 {
		delete(l.of, outfit)
	}
}
