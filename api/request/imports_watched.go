package request

import (
	"sync"
	"sync/atomic"

	"github.com/google/uuid"
)

// watches says how far the sheets have been read that are on their way in this
// process, and the last ones that were.
type watches struct {
	mu    sync.Mutex
	all   map[watchKey]*watch
	order []watchKey
}

type watchKey struct{ outfit, id uuid.UUID }

type watch struct {
	rows atomic.Int64
	done atomic.Bool
}

func (w *watch) Set(rows int64) { w.rows.Store(rows) }

func (w *watch) End() { w.done.Store(true) }

// keptWatches is how many are remembered.
const keptWatches = 256

func (w *watches) Begin(outfit, id uuid.UUID) *watch {
	w.mu.Lock()
	defer w.mu.Unlock()
	key := watchKey{outfit, id}
	if w.all == nil {
		w.all = map[watchKey]*watch{}
	}
	if w.all[key] == nil {
		if len(w.order) == keptWatches {
			delete(w.all, w.order[0])
			w.order = w.order[1:]
		}
		w.order = append(w.order, key)
	}
	w.all[key] = new(watch)
	return w.all[key]
}

// Look gives how many rows were read, whether more are being read, and whether
// anything is known of it.
func (w *watches) Look(outfit, id uuid.UUID) (rows int64, reading, known bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	one := w.all[watchKey{outfit, id}]
	if one == nil {
		return 0, false, false
	}
	return one.rows.Load(), !one.done.Load(), true
}
