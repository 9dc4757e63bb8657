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
	waiting []*pending
	running bool
	// untold are the numbers of entries that this process stored and told nobody of yet.
	untold map[int64]bool
}

func (q *lateQueue) busy() bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.running
}

// add has an entry taken in after those before it, by a function that takes in some tens
// that wait together. all counts the queues at work.
func (q *lateQueue) add(all *sync.WaitGroup, p *pending, takeIn func([]*pending)) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.untold == nil {
		q.untold = map[int64]bool{}
	}
	q.untold[p.Entry.Number] = true
	q.waiting = append(q.waiting, p)
	if !q.running {
		q.running = true
		all.Go(func() { q.run(takeIn) })
	}
}

func (q *lateQueue) run(takeIn func([]*pending)) {
	for {
		next := q.next()
		if next == nil {
			return
		}
		takeIn(next)
		q.mu.Lock()
		for _, p := range next {
			delete(q.untold, p.Entry.Number)
		}
		q.mu.Unlock()
	}
}

// next takes those that wait, and ends the run where none does.
func (q *lateQueue) next() []*pending {
	q.mu.Lock()
	defer q.mu.Unlock()
	n := min(len(q.waiting), mostTogether)
	if n == 0 {
		q.running = false
		return nil
	}
	next := q.waiting[:n:n]
	q.waiting = q.waiting[n:]
	return next
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

// takeInOnCopy opens a copy of the book with its next entries, while others read the book
// without them. It returns the replies to those that it took in: to the first ones, or to
// none where that is not possible, so that they have to be taken in otherwise.
func (b *Books) takeInOnCopy(ctx context.Context, l *live, entries []*ledger.Entry) (replies []Reply, err error) {
	defer recovered(&err)
	if err := l.copying.Acquire(ctx, 1); err != nil {
		return nil, nil
	}
	defer l.copying.Release(1)
	first := entries[0]
	if !l.isLate(first) {
		return nil, nil
	}
	past, err := l.soFar()
	if err != nil {
		return nil, err
	}
	leave, err := b.past.enter(ctx, l.outfit.ID, past)
	if err != nil {
		return nil, nil
	}
	defer leave()
	book, err := past.With(first)
	if err != nil {
		return nil, nil
	}
	reply, same := l.changedBy(book, first, past.Number())
	if !same {
		return nil, nil
	}
	replies = append(replies, reply)
	for _, e := range entries[1:] {
		if e.Number != book.Len()+1 {
			break
		}
		if reply, err = taken(book, e); err != nil {
			return nil, nil // the copy is not the book any more
		}
		replies = append(replies, reply)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.book.Len() != past.Number() {
		return nil, nil
	}
	for i, reply := range replies {
		l.replies.add(entries[i].ID, reply)
	}
	l.turnTo(book)
	return replies, nil
}

// changedBy is the reply to the entry by which a copy has more than the book; false where
// the book has gone on.
func (l *live) changedBy(book *ledger.Book, e *ledger.Entry, number int64) (Reply, bool) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	if l.book.Len() != number {
		return Reply{}, false
	}
	return replied(book, book.Changed(l.book), trace.RestingOn(l.book, e)), true
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
