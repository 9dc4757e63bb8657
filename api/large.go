package api

import (
	"context"
	"sync"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/semaphore"

	"pullbook/domain/fault"
)

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

// enter takes a place for an outfit's document, and gives the function that leaves
// it.
func (l *largeAnswers) enter(ctx context.Context, outfit uuid.UUID) (leave func(), err error) {
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
