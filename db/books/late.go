package books

import (
	"context"
	"sync"

	"pullbook/domain/ledger"
	"pullbook/domain/trace"
)

// mostWalkedHeld is how many facts of the line are walked again, some milliseconds, while
// nobody can look at the book. A late entry has more walked again: it happened long
// before, or corrects what did. It is taken in on a copy of the book, and readers go on
// with the book that is open.
const mostWalkedHeld = 4096

// lateQueue is where a late entry, and those stored after it, wait to come into the book.
// The writer, which other outfits need too, goes on meanwhile.
type lateQueue struct {
	mu      sync.Mutex
	waiting []func()
	running bool
	// untold are the numbers of entries that this process stored and told nobody of yet.
	untold map[int64]bool
}

func (q *lateQueue) busy() bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.running
}

// add has an entry taken in after those before it. all counts the queues at work.
func (q *lateQueue) add(all *sync.WaitGroup, number int64, takeIn func()) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.untold == nil {
		q.untold = map[int64]bool{}
	}
	q.untold[number] = true
	q.waiting = append(q.waiting, func() {
		takeIn()
		q.mu.Lock()
		defer q.mu.Unlock()
		delete(q.untold, number)
	})
	if !q.running {
		q.running = true
		all.Go(q.run)
	}
}

func (q *lateQueue) run() {
	for {
		q.mu.Lock()
		if len(q.waiting) == 0 {
			q.running = false
			q.mu.Unlock()
			return
		}
		next := q.waiting[0]
		q.waiting = q.waiting[1:]
		q.mu.Unlock()
		next()
	}
}

// hasAll reports whether all entries from one to another wait here, so that nobody was
// told of any.
func (q *lateQueue) hasAll(from, to int64) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	if to-from >= int64(len(q.untold)) {
		return false
	}
	for n := from; n <= to; n++ {
		if !q.untold[n] {
			return false
		}
	}
	return true
}

// isLate reports whether a stored entry is the book's next and has too much walked again.
func (l *live) isLate(e *ledger.Entry) bool {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.book.Len() == e.Number-1 && l.book.Walks(e) > mostWalkedHeld
}

// takeInOnCopy opens a copy of the book with its next entry, while others read the book
// without it. It returns false where that is not possible, and the entry has to be taken
// in otherwise.
func (b *Books) takeInOnCopy(ctx context.Context, l *live, e *ledger.Entry) (reply Reply, done bool, err error) {
	defer recovered(&err)
	if err := l.copying.Acquire(ctx, 1); err != nil {
		return reply, false, nil
	}
	defer l.copying.Release(1)
	if !l.isLate(e) {
		return reply, false, nil
	}
	past, err := l.soFar()
	if err != nil {
		return reply, false, err
	}
	leave, err := b.past.enter(ctx, l.outfit.ID, past)
	if err != nil {
		return reply, false, nil
	}
	defer leave()
	book, err := past.With(e)
	if err != nil {
		return reply, false, nil
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.book.Len() != past.Number() {
		return reply, false, nil
	}
	reply = replied(book, book.Changed(l.book), trace.RestingOn(l.book, e))
	l.replies.add(e.ID, reply)
	l.turnTo(book)
	return reply, true, nil
}

// soFar returns the book as it is now, to be opened as a copy.
func (l *live) soFar() (ledger.Past, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.book.Past(l.book.Len())
}

// turnTo replaces the book with one that has more entries. The caller holds the book's
// lock.
func (l *live) turnTo(book *ledger.Book) {
	book.GoOn()
	l.book = book
}
