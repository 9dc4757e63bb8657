package books

import (
	"context"
	"hash/maphash"
	"slices"
	"sync"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// writersPerPool is how many groups of entries are stored side by side: while one waits
// for the disk, the next is on its way.
const writersPerPool = 2

// mostTogether bounds how many entries share one commit.
const mostTogether = 64

// writer stores entries one group after another. Numbers of one outfit have no gap, so its
// entries can only be stored one after another. Those that wait while a commit is under
// way share the next one, whichever outfits they are of.
type writer struct {
	books *Books
	work  chan *pending
	done  sync.WaitGroup
	// mu is held for reading while a draft is handed over, so that work is not
	// closed in the meantime.
	mu      sync.RWMutex
	stopped bool
}

type pending struct {
	*db.Draft
	live  *live
	reply chan outcome
}

// outcome is what became of a draft. It has no entry and no error where nothing was added:
// the entry was there already, or the principal has to be looked up again.
type outcome struct {
	entry *ledger.Entry
	reply Reply
	// noReply is true where the book had learned of the entry in another way. The reply is
	// still to be worked out.
	noReply bool
	err     error
}

var writerSeed = maphash.MakeSeed()

// writerFor returns an outfit's writer, always the same one, so that its entries come to
// the book in order of their numbers.
func (b *Books) writerFor(outfit uuid.UUID) *writer {
	return b.writers[maphash.Bytes(writerSeed, outfit[:])%uint64(len(b.writers))]
}

func startWriter(b *Books) *writer {
	w := &writer{books: b, work: make(chan *pending, 4*mostTogether)}
	w.done.Go(w.run)
	return w
}

// stop refuses further drafts and waits until those taken are stored.
func (w *writer) stop() {
	w.mu.Lock()
	if !w.stopped {
		w.stopped = true
		close(w.work)
	}
	w.mu.Unlock()
	w.done.Wait()
}

var errStopping = fault.New(fault.Busy, "The service is stopping. Send the entry again with the same id: it will not be booked twice.")

// record hands a draft to the writer and waits for what becomes of it. A caller that leaves
// does not take its draft back.
func (w *writer) record(ctx context.Context, l *live, d *db.Draft) outcome {
	e, content, err := ledger.ReadBack(d.Entry)
	if err != nil {
		return outcome{err: err}
	}
	d.Entry, d.Content = e, content
	p := &pending{Draft: d, live: l, reply: make(chan outcome, 1)}
	if err := w.take(ctx, p); err != nil {
		return outcome{err: err}
	}
	select {
	case o := <-p.reply:
		return o
	case <-ctx.Done():
		return outcome{err: ctx.Err()}
	}
}

func (w *writer) take(ctx context.Context, p *pending) error {
	w.mu.RLock()
	defer w.mu.RUnlock()
	switch {
	case w.stopped:
		return errStopping
	case ctx.Err() != nil:
		return ctx.Err()
	}
	select {
	case w.work <- p:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (w *writer) run() {
	group := make([]*pending, 0, mostTogether)
	for first := range w.work {
		group = append(group[:0], first)
	gather:
		for len(group) < mostTogether {
			select {
			case p, open := <-w.work:
				if !open {
					break gather
				}
				group = append(group, p)
			default:
				break gather
			}
		}
		w.store(group)
	}
}

// store commits a group together. Where the database refuses one of them, each is tried by
// itself, so that none suffers for another.
func (w *writer) store(group []*pending) {
	slices.SortStableFunc(group, func(a, b *pending) int {
		return slices.Compare(a.Outfit[:], b.Outfit[:])
	})
	ctx, cancel := context.WithTimeout(context.Background(), storeWithin)
	defer cancel()
	drafts := make([]*db.Draft, len(group))
	for i, p := range group {
		drafts[i] = p.Draft
	}
	stored, err := w.books.db.Append(ctx, drafts)
	if len(group) > 1 && db.Refused(err) {
		for _, p := range group {
			w.store([]*pending{p})
		}
		return
	}
	for i, p := range group {
		switch {
		case err != nil:
			p.reply <- outcome{err: err}
		case stored[i] && (p.live.late.busy() || p.live.isLate(p.Entry)):
			p.live.late.add(&w.books.late, p, w.applyLate)
		case stored[i]:
			p.reply <- w.applied(ctx, p)
		default:
			p.reply <- outcome{}
		}
	}
}

// applyLate is applied for late entries, and those after them.
func (w *writer) applyLate(waiting []*pending) {
	for len(waiting) > 0 {
		replies, err := w.onCopy(waiting)
		for i, reply := range replies {
			waiting[i].reply <- outcome{entry: waiting[i].Entry, reply: reply}
		}
		if waiting = waiting[len(replies):]; len(replies) > 0 {
			continue
		}
		waiting[0].reply <- w.one(waiting[0], err)
		waiting = waiting[1:]
	}
}

// onCopy takes in on a copy of the book what can be.
func (w *writer) onCopy(waiting []*pending) ([]Reply, error) {
	ctx, cancel := context.WithTimeout(context.Background(), openWithin)
	defer cancel()
	entries := make([]*ledger.Entry, len(waiting))
	for i, p := range waiting {
		entries[i] = p.Entry
	}
	return w.books.takeInOnCopy(ctx, waiting[0].live, entries)
}

// one is what becomes of an entry that no copy took in, with the error of that, if any.
func (w *writer) one(p *pending, err error) outcome {
	if err != nil {
		return outcome{entry: p.Entry, err: err}
	}
	ctx, cancel := context.WithTimeout(context.Background(), openWithin)
	defer cancel()
	return w.applied(ctx, p)
}

// applied brings the book in memory up to the entry just stored.
func (w *writer) applied(ctx context.Context, p *pending) (o outcome) {
	defer recovered(&o.err)
	l := p.live
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := w.books.catchUpHeld(ctx, l, p.Entry.Number-1); err != nil {
		return outcome{err: err}
	}
	if l.book.Len() >= p.Entry.Number {
		reply, known := l.replies.byID[p.Entry.ID]
		return outcome{entry: p.Entry, reply: reply, noReply: !known}
	}
	reply, err := taken(l.book, p.Entry)
	if err != nil {
		if err := l.reopen([]*ledger.Entry{p.Entry}); err != nil {
			return outcome{err: fault.New(fault.Internal, "entry %s is stored, but the program cannot read it into the book: %s", p.Entry.Number, err)}
		}
		reply = Reply{Reply: season.ReplyTo(l.book, ledger.Effect{Entry: l.book.Numbered(p.Entry.Number)}), SupersededUnfinished: true}
	}
	l.replies.add(p.Entry.ID, reply)
	return outcome{entry: p.Entry, reply: reply}
}

// storeWithin bounds how long one group of entries may take to be stored.
const storeWithin = 15 * time.Second
