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

// SheetProgress is how far a sheet is.
type SheetProgress struct {
	// Rows is how many rows were read, and Reading whether more are to be read.
	Rows    int64
	Reading bool
	// Before is how many other sheets are read before this one; 0 where it does not wait.
	Before int
}

// ProgressOf says how far a sheet is; known is false where nothing is known of it.
func (s *Service) ProgressOf(outfit, id uuid.UUID) (p SheetProgress, known bool) {
	one, known := s.Imports.latest.Get(watchKey{outfit, id})
	if !known {
		return p, false
	}
	return s.progressOf(one), true
}

func (s *Service) progressOf(one *watch) SheetProgress {
	return SheetProgress{one.rows.Load(), !one.done.Load(), s.sheets.before(one)}
}

// SheetsUnderWay says how far each of an outfit's sheets is that are on their way, the one that
// came first before the others.
func (s *Service) SheetsUnderWay(outfit uuid.UUID) (all []SheetProgress) {
	for _, key := range s.Imports.latest.Keys() {
		if one, known := s.Imports.latest.Peek(key); known && key.outfit == outfit && !one.done.Load() {
			all = append(all, s.progressOf(one))
		}
	}
	return all
}
