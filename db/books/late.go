package books

import (
	"context"
	"sync"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/trace"
)

// An entry is late where it happened long before, or corrects what did: much of the line is
// walked again for it. mostWalkedByWriter is how many facts at most the writer walks, which
// other outfits need too; the rest is the late queue's. mostWalkedHeld is how many are walked
// while nobody can look at the book, some ten milliseconds. For more a copy of the book is
// opened with the entry, and readers go on with the book that is open.
const (
	mostWalkedByWriter = 1 << 12
	mostWalkedHeld     = 1 << 14
)

// lateQueue is where a late entry, and those stored after it, wait to come into the book.
// The writer goes on meanwhile.
type lateQueue struct {
	mu      sync.Mutex
	waiting []*pending
	// held are late entries that are not stored yet: they are stored together once those that
	// wait are taken in, and so are taken in together themselves.
	held    []*pending
	running bool
	// untold are the numbers of entries that this process stored and told nobody of yet.
	untold map[int64]bool
}

func (q *lateQueue) busy() bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.running
}

// holdBack keeps a late entry that is not stored yet while others are taken in, and reports
// whether it does.
func (q *lateQueue) holdBack(p *pending) bool {
	if !q.busy() || p.live.walks([]*pending{p}) <= mostWalkedByWriter {
		return false
	}
	q.mu.Lock()
	defer q.mu.Unlock()
	if !q.running {
		return false
	}
	q.held = append(q.held, p)
	return true
}

// add has stored entries taken in by a writer after those before them. all counts the queues
// at work.
func (q *lateQueue) add(all *sync.WaitGroup, of []*pending, w *writer) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.untold == nil {
		q.untold = map[int64]bool{}
	}
	for _, p := range of {
		q.untold[p.Entry.Number] = true
	}
	q.waiting = append(q.waiting, of...)
	if !q.running {
		q.running = true
		all.Go(func() { q.run(w) })
	}
}

func (q *lateQueue) run(w *writer) {
	for {
		next, held := q.next()
		w.storeAgain(held)
		if next == nil {
			return
		}
		w.applyLate(next)
		q.mu.Lock()
		for _, p := range next {
			delete(q.untold, p.Entry.Number)
		}
		q.mu.Unlock()
	}
}

// next takes those that wait and those that are held back, and ends the run where none waits.
func (q *lateQueue) next() (next, held []*pending) {
	q.mu.Lock()
	defer q.mu.Unlock()
	next, held = q.waiting, q.held
	q.waiting, q.held, q.running = nil, nil, len(next) > 0
	return next, held
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

// walks is how much of the line is walked again for entries, of which the first is the book's
// next or may be.
func (l *live) walks(of []*pending) (most int) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	for _, p := range of {
		most = max(most, l.book.Walks(p.Entry))
	}
	return most
}

// moments gives entries that are stored next their times of recording: one to late ones that
// are taken in together, and else to each its own, which is not that of the book's last one
// either. So whoever makes a reply again knows which were taken in together.
func (l *live) moments(of []*pending, now time.Time) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	if last := l.book.Last(); last != nil && last.RecordedAt.Equal(now) {
		now = now.Add(time.Microsecond)
	}
	late := lateIn(l.book)
	for i, p := range of {
		joins := late.n > 0 && late.add(p.Entry)
		if !joins {
			late = lateIn(l.book)
			late.add(p.Entry)
		}
		if i > 0 && !joins {
			now = now.Add(time.Microsecond)
		}
		p.Entry.RecordedAt = now
	}
}

// takeInOnCopy opens a copy of the book with its next entries, which were recorded at one
// moment, while others read the book without them. It returns the replies to them; none
// where that is not possible, so that they have to be taken in otherwise.
func (b *Books) takeInOnCopy(ctx context.Context, l *live, entries []*ledger.Entry) (replies []Reply, err error) {
	defer recovered(&err)
	if err := l.copying.Acquire(ctx, 1); err != nil {
		return nil, nil
	}
	defer l.copying.Release(1)
	past, err := l.soFar()
	if err != nil || past.Number() != entries[0].Number-1 {
		return nil, err
	}
	leave, err := b.past.enter(ctx, l.outfit.ID, past)
	if err != nil {
		return nil, nil
	}
	defer leave()
	book, err := past.With(entries...)
	if err != nil {
		return nil, nil
	}
	replies = l.changedBy(book, entries)
	if replies == nil {
		return nil, nil
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

// changedBy are the replies to the entries by which a copy has more than the book; nil where
// the book has gone on, or where they are not taken in together.
func (l *live) changedBy(book *ledger.Book, entries []*ledger.Entry) []Reply {
	l.mu.RLock()
	defer l.mu.RUnlock()
	if l.book.Len() != entries[0].Number-1 {
		return nil
	}
	if len(entries) > 1 && !gather(l.book, entries) {
		return nil
	}
	return replied(book, book.Changed(l.book), trace.RestingOn(l.book, entries...))
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
