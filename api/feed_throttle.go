package api

import (
	"sync"
	"time"
)

// wrongKeys slows down who tries feed keys: after so many wrong ones within a
// window, from one address or for one outfit, no more are looked up until it is
// over. A key that was good lately is looked up all the same, so that nobody
// can lock a working spreadsheet out by sending wrong ones.
type wrongKeys struct {
	now func() time.Time

	mu    sync.Mutex
	tries map[string]*wrongTries
	good  map[[32]byte]bool
}

type wrongTries struct {
	n     int
	until time.Time
}

const (
	wrongWindow       = time.Minute
	wrongPerAddress   = 10
	wrongPerOutfit    = 100
	mostWrongCounters = 4096
	mostGoodKeys      = 4096
)

func newWrongKeys(now func() time.Time) *wrongKeys {
	return &wrongKeys{now: now, tries: map[string]*wrongTries{}, good: map[[32]byte]bool{}}
}

// closed reports whether a key has to wait.
func (w *wrongKeys) closed(key [32]byte, address, outfit string) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return !w.good[key] && (w.over("from "+address, wrongPerAddress) || w.over("for "+outfit, wrongPerOutfit))
}

func (w *wrongKeys) over(counter string, most int) bool {
	t := w.tries[counter]
	return t != nil && t.n >= most && w.now().Before(t.until)
}

// wrong counts a key that was not good.
func (w *wrongKeys) wrong(key [32]byte, address, outfit string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.good, key)
	w.count("from " + address)
	w.count("for " + outfit)
}

func (w *wrongKeys) count(counter string) {
	now := w.now()
	t := w.tries[counter]
	if t == nil || !now.Before(t.until) {
		w.makeRoom(now)
		t = &wrongTries{until: now.Add(wrongWindow)}
		w.tries[counter] = t
	}
	t.n++
}

// makeRoom forgets the counters that are over, or else any.
func (w *wrongKeys) makeRoom(now time.Time) {
	if len(w.tries) < mostWrongCounters {
		return
	}
	for counter, t := range w.tries {
		if !now.Before(t.until) {
			delete(w.tries, counter)
		}
	}
	for counter := range w.tries {
		if len(w.tries) < mostWrongCounters {
			break
		}
		delete(w.tries, counter)
	}
}

// right remembers a key that was good.
func (w *wrongKeys) right(key [32]byte) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.good) >= mostGoodKeys {
		clear(w.good)
	}
	w.good[key] = true
}
