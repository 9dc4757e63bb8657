package db

import (
	"context"
	"errors"
	"hash/maphash"
	"slices"
	"sync"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// writersPerPool is how many groups of entries are stored side by side: while
// one waits for the disk, the next is on its way.
const writersPerPool = 2

// mostTogether bounds how many entries share one commit.
const mostTogether = 64

// writer stores entries one group after another. Numbers of one outfit have no
// gap, so its entries can only be stored one after another; those that wait
// while a commit is under way share the next one, whichever outfits they are of.
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
	Draft
	content []byte
	live    *live
	reply   chan outcome
}

// outcome has no entry and no error where nothing was added: the entry was
// there already, or the principal has to be looked up again.
type outcome struct {
	entry *ledger.Entry
	reply season.Reply
	// untold is an entry that the book had learned of in another way, and what it
	// changed is still to be worked out.
	untold bool
	err    error
}

var writerSeed = maphash.MakeSeed()

// writerFor is always the same one for an outfit, so that its entries come to
// the book in memory in order of their numbers.
func (b *Books) writerFor(outfit uuid.UUID) *writer {
	return b.writers[maphash.Bytes(writerSeed, outfit[:])%uint64(len(b.writers))]
}

func startWriter(b *Books) *writer {
	w := &writer{books: b, work: make(chan *pending, 4*mostTogether)}
	w.done.Go(w.run)
	return w
}

// stop takes no more drafts and waits until those taken are stored.
func (w *writer) stop() {
	w.mu.Lock()
	if !w.stopped {
		w.stopped = true
		close(w.work)
	}
	w.mu.Unlock()
	w.done.Wait()
}

var errStopping = fault.New(fault.Busy, "The service is being stopped. Send the entry again with the same id: it will not be booked twice.")

// record hands a draft to the writer and waits for what becomes of it. A caller
// that leaves does not take its draft back.
func (w *writer) record(ctx context.Context, l *live, d Draft) outcome {
	e, content, err := ledger.ReadBack(d.Entry)
	if err != nil {
		return outcome{err: err}
	}
	d.Entry = e
	p := &pending{Draft: d, content: content, live: l, reply: make(chan outcome, 1)}
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

// store commits a group together. Where one of it is refused by the database,
// each is tried by itself, so that none suffers for another.
func (w *writer) store(group []*pending) {
	slices.SortStableFunc(group, func(a, b *pending) int {
		return slices.Compare(a.Principal.Outfit[:], b.Principal.Outfit[:])
	})
	ctx, cancel := context.WithTimeout(context.Background(), storeWithin)
	defer cancel()
	stored, err := w.commit(ctx, group)
	if refused := new(pgconn.PgError); len(group) > 1 && errors.As(err, &refused) {
		for _, p := range group {
			w.store([]*pending{p})
		}
		return
	}
	if constraint(err) == "entry_id_once" {
		err = nil // another process stored the same entry at the same moment
	}
	for i, p := range group {
		switch {
		case err != nil:
			p.reply <- outcome{err: err}
		case stored[i] && (p.live.lane.busy() || p.live.late(p.Entry)):
			p.live.lane.add(&w.books.lanes, p.Entry.Number, func() { p.reply <- w.appliedAside(p) })
		case stored[i]:
			p.reply <- w.applied(ctx, p)
		default:
			p.reply <- outcome{}
		}
	}
}

// commit sends a group as one pipelined batch, which is one transaction.
func (w *writer) commit(ctx context.Context, group []*pending) ([]bool, error) {
	stored := make([]bool, len(group))
	batch := &pgx.Batch{}
	now := micro(w.books.db.Now())
	var outfit uuid.UUID
	for i, p := range group {
		if i == 0 || p.Principal.Outfit != outfit {
			outfit = p.Principal.Outfit
			batch.Queue(sqlThisOutfit, outfit.String())
		}
		e := p.Entry
		e.RecordedAt = now
		sql, args := appendStatement(&p.Draft, e.Canonical(p.content), p.content)
		batch.Queue(sql, args...).QueryRow(func(row pgx.Row) error {
			var digest []byte
			err := row.Scan(&e.Number, &digest)
			if errors.Is(err, pgx.ErrNoRows) {
				return nil
			}
			copy(e.Digest[:], digest)
			stored[i] = err == nil
			return err
		})
	}
	return stored, w.books.db.Pool.SendBatch(ctx, batch).Close()
}

// appliedAside is applied for an entry that came late, or after such a one.
func (w *writer) appliedAside(p *pending) outcome {
	ctx, cancel := context.WithTimeout(context.Background(), readWithin)
	defer cancel()
	reply, done, err := w.books.takeInAside(ctx, p.live, p.Entry)
	if done || err != nil {
		return outcome{entry: p.Entry, reply: reply, err: err}
	}
	return w.applied(ctx, p)
}

// applied brings the book in memory up to the entry just stored.
func (w *writer) applied(ctx context.Context, p *pending) (o outcome) {
	defer unpanicked(&o.err)
	l := p.live
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := w.books.catchUpTo(ctx, l, p.Entry.Number-1); err != nil {
		return outcome{err: err}
	}
	if l.book.Len() >= p.Entry.Number {
		reply, known := l.recent.byID[p.Entry.ID]
		return outcome{entry: p.Entry, reply: reply, untold: !known}
	}
	effect, err := l.book.Append(p.Entry)
	if err != nil {
		if err := l.reopen([]*ledger.Entry{p.Entry}); err != nil {
			return outcome{err: fault.New(fault.Internal, "entry %s is stored, but the book in memory refuses it: %s", p.Entry.Number, err)}
		}
		effect = ledger.Effect{Entry: l.book.Numbered(p.Entry.Number)}
	}
	reply := season.ReplyTo(l.book, effect)
	l.recent.add(p.Entry.ID, reply)
	return outcome{entry: p.Entry, reply: reply}
}
