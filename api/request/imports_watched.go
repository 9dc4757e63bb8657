package request

import (
	"sync/atomic"

	"github.com/google/uuid"
	lru "github.com/hashicorp/golang-lru/v2"
)

// watches says how far the sheets have been read that are on their way in this
// process, and the last ones that were.
type watches struct{ latest *lru.Cache[watchKey, *watch] }

type watchKey struct{ outfit, id uuid.UUID }

type watch struct {
	rows atomic.Int64
	done atomic.Bool
}

func (w *watch) Set(rows int64) { w.rows.Store(rows) }

func (w *watch) End() { w.done.Store(true) }

// keptWatches is how many are remembered.
const keptWatches = 256

func (w watches) Begin(outfit, id uuid.UUID) *watch {
	begun := new(watch)
	w.latest.Add(watchKey{outfit, id}, begun)
	return begun
}

// Look gives how many rows were read, whether more are being read, and whether
// anything is known of it.
func (w watches) Look(outfit, id uuid.UUID) (rows int64, reading, known bool) {
	one, known := w.latest.Get(watchKey{outfit, id})
	if !known {
		return 0, false, false
	}
	return one.rows.Load(), !one.done.Load(), true
}
