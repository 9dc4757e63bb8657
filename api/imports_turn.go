package api

import (
	"context"
	"sync"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/fault"
)

// turns bounds how many sheets are brought in at once. An outfit brings in one at a
// time: the next one waits before anything of it is read. Its file comes onto the disk
// then, and waits there until one of the few places is free in which files are opened,
// which takes memory.
type turns struct {
	mu sync.Mutex
	// outfits holds who has its turn, and waiting how many wait, by outfit.
	outfits  map[uuid.UUID]bool
	waiting  map[uuid.UUID]int
	all      int           // who wait
	freed    chan struct{} // closed, and made anew, whenever an outfit's turn ends
	opened   chan struct{}
	patience time.Duration
}

const (
	// mostUploads is how many outfits' files come in at once.
	mostUploads = 16
	// mostOpened is how many files are open in memory at once.
	mostOpened = 2
	// turnPatience is how long a sheet waits for its outfit's turn.
	turnPatience = 10 * time.Second
	// mostQueued sheets of an outfit wait, and mostQueuedInAll of all: the places of
	// the service are for others too.
	mostQueued      = 4
	mostQueuedInAll = 32
)

func newTurns() *turns {
	return &turns{outfits: map[uuid.UUID]bool{}, waiting: map[uuid.UUID]int{}, freed: make(chan struct{}), opened: make(chan struct{}, mostOpened), patience: turnPatience}
}

var (
	errOwnTurn   = fault.New(fault.Busy, "The outfit is bringing in another sheet just now, and nothing of this one was read. Wait until that one is done, and send this one again.")
	errOtherTurn = fault.New(fault.Busy, "Many outfits are bringing in sheets just now, and nothing of this one was read. Send it again in a minute.")
)

// begin waits for the outfit's turn. The caller ends it.
func (t *turns) begin(ctx context.Context, outfit uuid.UUID) (end func(), err error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if !t.free(outfit) && (t.waiting[outfit] >= mostQueued || t.all >= mostQueuedInAll) {
		return nil, t.busy(outfit)
	}
	t.wait(outfit, 1)
	defer t.wait(outfit, -1)
	timer := time.NewTimer(t.patience)
	defer timer.Stop()
	for !t.free(outfit) {
		freed := t.freed
		t.mu.Unlock()
		late := false
		select {
		case <-freed:
		case <-ctx.Done():
		case <-timer.C:
			late = true
		}
		t.mu.Lock()
		switch {
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case late:
			return nil, t.busy(outfit)
		}
	}
	t.outfits[outfit] = true
	return func() { t.end(outfit) }, nil
}

func (t *turns) free(outfit uuid.UUID) bool {
	return !t.outfits[outfit] && len(t.outfits) < mostUploads
}

func (t *turns) busy(outfit uuid.UUID) error {
	if t.outfits[outfit] {
		return errOwnTurn
	}
	return errOtherTurn
}

func (t *turns) wait(outfit uuid.UUID, n int) {
	t.all += n
	if t.waiting[outfit] += n; t.waiting[outfit] == 0 {
		delete(t.waiting, outfit)
	}
}

func (t *turns) end(outfit uuid.UUID) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.outfits, outfit)
	close(t.freed)
	t.freed = make(chan struct{})
}

// open waits for a place to open a file in. The caller closes it.
func (t *turns) open(ctx context.Context) (closed func(), err error) {
	select {
	case t.opened <- struct{}{}:
		return func() { <-t.opened }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
