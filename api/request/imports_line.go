package request

import (
	"context"
	"runtime"
	"slices"
	"sync"

	"pullbook/db/gate"
	"pullbook/domain/fault"
)

const (
	// sheetBytes is what reading and checking a sheet may take, as the contract states it,
	// and sheetsPart the part of the service's memory that all sheets together may take.
	sheetBytes = 200_000_000
	sheetsPart = 2
	// usualSheets is how many sheets are open at once, if the memory and the processors let
	// them: who brings a small sheet in waits for no large one.
	usualSheets = 2
)

// sheetsAtOnce is how many sheets may be open at once in so much memory, in bytes; 0 where
// nobody knows how much it is. More than there are processors would only be slower.
func sheetsAtOnce(memory int64, processors int) int {
	most := max(usualSheets, processors)
	if memory == 0 {
		return usualSheets
	}
	return max(1, min(most, int(memory/sheetsPart/sheetBytes)))
}

// sheetLine is who has a sheet open in this process, and who waits for that in order.
type sheetLine struct {
	places *gate.Gate

	mu      sync.Mutex
	open    int
	waiting []*watch
}

func newSheetLine(memory int64) *sheetLine {
	return &sheetLine{places: gate.New(sheetsAtOnce(memory, runtime.GOMAXPROCS(0)))}
}

// OpenSheet waits until it is a sheet's turn to be opened. leave lets the next one in.
func (s *Service) OpenSheet(ctx context.Context, w *watch) (leave func(), err error) {
	l := s.sheets
	l.mu.Lock()
	l.waiting = append(l.waiting, w)
	l.mu.Unlock()
	free, err := l.places.Enter(ctx, s.ImportWait)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.waiting = slices.DeleteFunc(l.waiting, func(other *watch) bool { return other == w })
	if err == gate.ErrFull {
		return nil, errSheetTurn
	}
	if err != nil {
		return nil, err
	}
	l.open++
	return func() {
		l.mu.Lock()
		l.open--
		l.mu.Unlock()
		free()
	}, nil
}

var errSheetTurn = fault.New(fault.Busy, "Other sheets are being read, as many as the service has memory for, and this one waited in vain for its turn. Nothing of it was stored. Send it again in a few minutes.")

// before is how many sheets are read before one that waits; 0 where it does not wait.
func (l *sheetLine) before(w *watch) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	if at := slices.Index(l.waiting, w); at >= 0 {
		return l.open + at
	}
	return 0
}
