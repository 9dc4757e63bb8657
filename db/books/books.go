// Package books keeps the outfits' books open in memory, as current as the database, and
// adds entries to them. A book in memory is never the truth: it is made from the entries
// and can be made again.
package books

import (
	"context"
	"sync"

	"github.com/google/uuid"
	"golang.org/x/sync/singleflight"

	"pullbook/db"
	"pullbook/db/progress"
)

// Books are the open books of the outfits at work.
type Books struct {
	db      *db.DB
	writers []*writer

	mu   sync.Mutex
	open map[uuid.UUID]*live
	// most bounds how many books are open at once.
	most    int
	opening singleflight.Group
	// underWay are the openings of books that are opened just now.
	underWay map[uuid.UUID]*progress.Work
	// principals are who signed in, by their credentials' keys.
	principals sync.Map
	past       *pastBooks
	// late counts the queues of late entries that are at work.
	late      sync.WaitGroup
	followers followers
	// closing ends once the books are closed, and with it the reading of those that are opened.
	closing context.Context
	close   context.CancelFunc
}

// Open opens no book yet. It keeps at most so many books open at once, one at the least.
func Open(d *db.DB, most int) *Books {
	b := &Books{db: d, open: map[uuid.UUID]*live{}, underWay: map[uuid.UUID]*progress.Work{}, most: max(most, 1), past: newPastBooks()}
	b.closing, b.close = context.WithCancel(context.Background())
	for range writersPerPool {
		b.writers = append(b.writers, &writer{books: b})
	}
	return b
}

// Close ends the writers once what they hold is stored. Entries that come afterwards
// are refused. A book that is still read then is not opened.
func (b *Books) Close() {
	defer b.close()
	for _, w := range b.writers {
		w.stop()
	}
	b.late.Wait()
}
