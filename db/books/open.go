package books

import (
	"context"
	"sync"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/semaphore"

	"pullbook/db"
	"pullbook/db/progress"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// live is one outfit's book in memory.
type live struct {
	outfit db.Outfit
	// mu guards outfit, book and replies. It is held for reading while a report is made.
	mu      sync.RWMutex
	book    *ledger.Book
	replies replies
	used    time.Time
	seen    lastSeen
	// copying lets one at a time open a copy of the book, while nobody waits for mu.
	copying *semaphore.Weighted
	late    lateQueue
	// importing lets entries through one by one. An import takes all of it, so that
	// entries that come meanwhile wait here and not in a writer, which other outfits need.
	importing *semaphore.Weighted
}

// allOfImporting is more entries than ever wait at once.
const allOfImporting = 1 << 30

// live returns the outfit's book and opens it if need be. The book may lag behind the
// database: see catchUp.
func (b *Books) live(ctx context.Context, outfit uuid.UUID) (*live, error) {
	b.mu.Lock()
	l := b.open[outfit]
	if l != nil {
		l.used = b.db.Now()
	}
	b.mu.Unlock()
	if l != nil {
		return l, nil
	}
	// Requests that come while a large book is opened wait for the same opening,
	// which does not end when the first of them gives up.
	opening := b.opening.DoChan(outfit.String(), func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), openWithin)
		defer cancel()
		defer context.AfterFunc(b.closing, cancel)()
		return b.openBook(ctx, outfit)
	})
	tired, stop := tiredOfOpening(ctx)
	defer stop()
	select {
	case r := <-opening:
		if r.Err != nil && b.closing.Err() != nil {
			return nil, errStoppingToOpen
		}
		if r.Err != nil {
			return nil, r.Err
		}
		return r.Val.(*live), nil
	case <-tired:
		return nil, &StillOpening{b.openingOf(outfit)}
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

var errStoppingToOpen = fault.New(fault.Busy, "The service is stopping. Ask again in a minute.")

// openWithin bounds how long a book may take to be opened.
const openWithin = 2 * time.Minute

func (b *Books) openBook(ctx context.Context, outfit uuid.UUID) (_ *live, err error) {
	defer recovered(&err)
	defer easeCollector()()
	tell, told := b.tellOfOpening(ctx, outfit)
	defer told()
	o, err := b.db.Outfit(ctx, outfit)
	if err != nil {
		return nil, err
	}
	head, err := b.db.Head(ctx, outfit)
	if err != nil {
		return nil, err
	}
	tell(progress.Read, 0, head.Number)
	entries, err := b.entriesAfter(progress.With(ctx, tell.Of(head.Number)), outfit, nil, head.Number)
	if err != nil {
		return nil, err
	}
	o = withSettings(o, lastSettings(entries)) // they may have changed in between
	loc, err := o.Location()
	if err != nil {
		return nil, err
	}
	book, err := ledger.RestoreAt(tell.In(progress.Replayed), loc, entries)
	if err != nil {
		return nil, err
	}
	logUnreadable(o.ID, book)
	book.GoOn()
	return b.add(&live{outfit: o, book: book, used: b.db.Now(), importing: semaphore.NewWeighted(allOfImporting), copying: semaphore.NewWeighted(1)}), nil
}

// forget has the outfit's book opened anew by whoever asks next.
func (b *Books) forget(l *live) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.open[l.outfit.ID] == l {
		delete(b.open, l.outfit.ID)
	}
}

// add puts a book among the open ones, unless another request was quicker, and closes
// the one that was not used for the longest.
func (b *Books) add(l *live) *live {
	b.mu.Lock()
	defer b.mu.Unlock()
	if had := b.open[l.outfit.ID]; had != nil {
		return had
	}
	b.open[l.outfit.ID] = l
	if len(b.open) > b.most {
		var oldest *live
		for _, o := range b.open {
			if o != l && (oldest == nil || o.used.Before(oldest.used)) {
				oldest = o
			}
		}
		delete(b.open, oldest.outfit.ID)
		b.past.drop(oldest.outfit.ID)
	}
	return l
}
