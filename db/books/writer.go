package books

import (
	"context"
	"hash/maphash"
	"iter"
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
// way share the next one, whichever outfits they are of. Whoever records while nothing is under
// way stores the entry by itself, so that nobody waits for another goroutine to wake up.
type writer struct {
	books *Books
	// done counts those who store.
	done sync.WaitGroup

	mu      sync.Mutex
	waiting []*pending
	storing bool
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

// stop refuses further drafts and waits until those taken are stored.
func (w *writer) stop() {
	w.mu.Lock()
	w.stopped = true
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
	if ctx.Err() != nil {
		return outcome{err: ctx.Err()}
	}
	p := &pending{Draft: d, live: l, reply: make(chan outcome, 1)}
	switch first, err := w.take(p); {
	case err != nil:
		return outcome{err: err}
	case first:
		w.storeNext()
	}
	select {
	case o := <-p.reply:
		return o
	case <-ctx.Done():
		return outcome{err: ctx.Err()}
	}
}

// take puts a draft among those that wait. first is true where nothing is under way, so that
// the caller has to have it stored.
func (w *writer) take(p *pending) (first bool, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.stopped {
		return false, errStopping
	}
	w.waiting = append(w.waiting, p)
	if w.storing {
		return false, nil
	}
	w.storing = true
	w.done.Add(1)
	return true, nil
}

// storeNext stores a group of those that wait, and has the next ones stored if there are any.
func (w *writer) storeNext() {
	defer w.goOn() // also where a draft breaks it down
	w.store(w.next())
}

func (w *writer) goOn() {
	defer w.done.Done()
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.storing = len(w.waiting) > 0; w.storing {
		w.done.Add(1)
		go w.storeNext()
	}
}

// next takes some of those that wait.
func (w *writer) next() []*pending {
	w.mu.Lock()
	defer w.mu.Unlock()
	n := min(len(w.waiting), mostTogether)
	group := w.waiting[:n:n]
	if w.waiting = w.waiting[n:]; len(w.waiting) == 0 {
		w.waiting = nil
	}
	return group
}

// store commits a group together. Where the database refuses one of them, each is tried by
// itself, so that none suffers for another.
func (w *writer) store(group []*pending) {
	group = slices.DeleteFunc(group, func(p *pending) bool { return p.live.late.holdBack(p) })
	slices.SortStableFunc(group, func(a, b *pending) int {
		return slices.Compare(a.Outfit[:], b.Outfit[:])
	})
	now := db.Microseconds(w.books.db.Now())
	for of := range partedBy(group, ofOneOutfit) {
		of[0].live.moments(of, now)
	}
	w.storeAt(group)
}

func ofOneOutfit(a, b *pending) bool { return a.Outfit == b.Outfit }

func ofOneMoment(a, b *pending) bool {
	return ofOneOutfit(a, b) && a.Entry.RecordedAt.Equal(b.Entry.RecordedAt)
}

// partedBy parts a list where one does not go with the first of those before it.
func partedBy[T any](list []T, together func(a, b T) bool) iter.Seq[[]T] {
	return func(yield func([]T) bool) {
		for len(list) > 0 {
			n := 1
			for n < len(list) && together(list[0], list[n]) {
				n++
			}
			if !yield(list[:n:n]) {
				return
			}
			list = list[n:]
		}
	}
}

// storeAt commits drafts that have their times of recording.
func (w *writer) storeAt(group []*pending) {
	if len(group) == 0 {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), storeWithin)
	defer cancel()
	drafts := make([]*db.Draft, len(group))
	for i, p := range group {
		drafts[i] = p.Draft
	}
	stored, err := w.books.db.Append(ctx, drafts)
	if len(group) > 1 && db.Refused(err) {
		at := group[0].Entry.RecordedAt
		for i, p := range group { // each at a moment of its own, since each is taken in by itself
			p.Entry.RecordedAt = at.Add(time.Duration(i) * time.Microsecond)
			w.storeAt([]*pending{p})
		}
		return
	}
	var done []*pending
	for i, p := range group {
		switch {
		case err != nil:
			p.reply <- outcome{err: err}
		case stored[i]:
			done = append(done, p)
		default:
			p.reply <- outcome{}
		}
	}
	for of := range partedBy(done, ofOneMoment) {
		w.takeIn(ctx, of)
	}
}

// takeIn brings the book in memory up to entries that are stored, and were recorded at one
// moment.
func (w *writer) takeIn(ctx context.Context, of []*pending) {
	if l := of[0].live; l.late.busy() || l.walks(of) > mostWalkedByWriter {
		l.late.add(&w.books.late, of, w)
		return
	}
	w.answer(ctx, of)
}

// storeAgain has drafts stored that were held back.
func (w *writer) storeAgain(held []*pending) {
	for _, p := range held {
		switch first, err := w.take(p); {
		case err != nil:
			p.reply <- outcome{err: err}
		case first:
			go w.storeNext()
		}
	}
}

// answer is takeIn that does not wait for late entries.
func (w *writer) answer(ctx context.Context, of []*pending) {
	for i, o := range w.applied(ctx, of) {
		of[i].reply <- o
	}
}

// applyLate is takeIn for late entries, and those after them.
func (w *writer) applyLate(waiting []*pending) {
	for of := range partedBy(waiting, ofOneMoment) {
		w.answerLate(of)
	}
}

func (w *writer) answerLate(of []*pending) {
	ctx, cancel := context.WithTimeout(context.Background(), openWithin)
	defer cancel()
	if of[0].live.walks(of) <= mostWalkedHeld {
		w.answer(ctx, of)
		return
	}
	replies, err := w.books.takeInOnCopy(ctx, of[0].live, entriesOf(of))
	if err == nil && replies == nil {
		w.answer(ctx, of)
		return
	}
	for i, p := range of {
		o := outcome{entry: p.Entry, err: err}
		if err == nil {
			o.reply = replies[i]
		}
		p.reply <- o
	}
}

func entriesOf(of []*pending) []*ledger.Entry {
	entries := make([]*ledger.Entry, len(of))
	for i, p := range of {
		entries[i] = p.Entry
	}
	return entries
}

// applied brings the book in memory up to entries that are stored, and were recorded at one
// moment.
func (w *writer) applied(ctx context.Context, of []*pending) (out []outcome) {
	out = make([]outcome, len(of))
	for i, p := range of {
		out[i].entry = p.Entry
	}
	var err error
	defer func() {
		recovered(&err)
		for i := range out {
			if err != nil {
				out[i] = outcome{err: err}
			}
		}
	}()
	err = w.apply(ctx, of, out)
	return out
}

func (w *writer) apply(ctx context.Context, of []*pending, out []outcome) error {
	l, entries := of[0].live, entriesOf(of)
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := w.books.catchUpHeld(ctx, l, entries[0].Number-1); err != nil {
		return err
	}
	if l.book.Len() >= entries[0].Number { // it learned of them in another way
		if err := w.books.catchUpHeld(ctx, l, entries[len(entries)-1].Number); err != nil {
			return err
		}
		for i, e := range entries {
			reply, known := l.replies.byID[e.ID]
			out[i].reply, out[i].noReply = reply, !known
		}
		return nil
	}
	replies, err := taken(l.book, entries...)
	if err != nil {
		if err := l.reopen(entries); err != nil {
			return fault.New(fault.Internal, "entry %s is stored, but the program cannot read it into the book: %s", entries[0].Number, err)
		}
		for i, e := range entries {
			out[i].reply = Reply{Reply: season.ReplyTo(l.book, ledger.Effect{Entry: l.book.Numbered(e.Number)}), SupersededUnfinished: true}
		}
		return nil
	}
	for i, e := range entries {
		out[i].reply = replies[i]
		l.replies.add(e.ID, replies[i])
	}
	return nil
}

// storeWithin bounds how long one group of entries may take to be stored.
const storeWithin = 15 * time.Second
