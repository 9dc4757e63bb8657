package books

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/errgroup"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// ImportFunc makes the entries of an import and hands them to emit, one after the other. It
// returns at the end what the import says of them; nil where nothing is to be stored. ahead
// is the book with room for them. Import may call it twice.
type ImportFunc func(ahead *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error)

// Import stores many entries and the import that says so, all or none, and returns the
// import; nil where there was nothing to store. id is that of the import.
//
// While no more than mostPrepared entries are made, nobody waits, and the outfit's book is
// held only to store them. The book is held from the beginning where there are more, or
// where something was set up, corrected or withdrawn meanwhile. Other entries wait for
// mostWaitForImport while the book is held.
func (b *Books) Import(ctx context.Context, p db.Principal, id uuid.UUID, take ImportFunc) (made *ledger.Entry, err error) {
	defer fault.Wrap(&err, "import")
	l, err := b.live(ctx, p.Outfit)
	if err != nil {
		return nil, err
	}
	if err := b.db.CheckRoom(); err != nil {
		return nil, err
	}
	ready, err := b.prepare(ctx, p, take)
	if err != nil {
		return nil, db.Explain(err)
	}
	if ready != nil && ready.about == nil {
		return nil, nil
	}
	if err := l.importing.Acquire(ctx, allOfImporting); err != nil {
		return nil, db.Explain(err)
	}
	defer l.importing.Release(allOfImporting)
	if p, err = b.refresh(ctx, l, p); err != nil {
		return nil, err
	}
	err = b.db.Bulk(ctx, p.Outfit, func(bulk *db.Bulk) error {
		if bulk.Head.Access != p.Access {
			return fault.New(fault.Busy, "Somebody changed the outfit's people or tokens just now: please send it again.")
		}
		if err := b.catchUp(ctx, l, bulk.Head.Number); err != nil {
			return err
		}
		if ready.canFollow(l.book) {
			take = ready.emit
		}
		// Nothing is appended to the book while its head is held.
		made, err = storeImport(ctx, bulk, p, l.book.Ahead(), id, take)
		return err
	})
	if errors.Is(err, errNothingNew) {
		return nil, nil
	}
	if err != nil {
		return nil, db.Explain(err)
	}
	// The new entries are read here, and not by a writer, which other outfits need too.
	// Where that fails, whoever looks at the book next reads them.
	_ = b.catchUp(context.WithoutCancel(ctx), l, made.Number)
	return made, nil
}

// errNothingNew ends the transaction of an import that has nothing to store.
var errNothingNew = errors.New("nothing new")

// handedOver is how many entries are handed from the making to the storing at once.
const handedOver = 256

// storeImport stores what take emits. The entries are made on one goroutine while others
// store those before.
func storeImport(ctx context.Context, bulk *db.Bulk, p db.Principal, ahead *ledger.Book, id uuid.UUID, take ImportFunc) (made *ledger.Entry, err error) {
	group, within := errgroup.WithContext(ctx)
	t := &taker{id: id, work: make(chan []*ledger.Entry, 8), claims: ahead.Claims, done: within.Done()}
	group.Go(func() error {
		defer close(t.work)
		return t.run(ahead, take)
	})
	group.Go(func() (err error) {
		made, err = bulk.Store(ctx, within, p.Name, t.work)
		return err
	})
	if err := group.Wait(); err != nil {
		return nil, err
	}
	return made, bulk.Claim(ctx, t.claimed)
}

// taker runs an ImportFunc and hands over what it emits, some entries at a time.
type taker struct {
	id      uuid.UUID // of the import
	work    chan []*ledger.Entry
	claims  func(*ledger.Entry) []ledger.Claim
	done    <-chan struct{}
	some    []*ledger.Entry
	claimed []ledger.Claim
}

func (t *taker) run(ahead *ledger.Book, take ImportFunc) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic while an import was made: %v", p)
		}
	}()
	about, err := take(ahead, t.emit)
	if err != nil {
		return err
	}
	if about == nil {
		return errNothingNew
	}
	if had, _ := ahead.Entry(t.id); had != nil {
		return errImportIDTaken
	}
	if err := t.emit(&ledger.Entry{ID: t.id, Kind: ledger.KindImport, Body: about}); err != nil {
		return err
	}
	return t.handOver()
}

var errImportIDTaken = &fault.Error{Code: fault.Conflict, Message: message.F("Nothing was stored: another entry has the id of this import."),
	Fields: []fault.Field{{Pointer: "/id", Message: message.F("Make a new UUID for the import, and send the sheet again.")}}}

var errGivenUp = errors.New("the storing has ended")

func (t *taker) emit(e *ledger.Entry) error {
	if e.Kind != ledger.KindImport {
		if e.ID == t.id {
			return errImportIDTaken
		}
		t.claimed = append(t.claimed, t.claims(e)...)
	}
	if t.some = append(t.some, e); len(t.some) < handedOver {
		return nil
	}
	return t.handOver()
}

func (t *taker) handOver() error {
	select {
	case t.work <- t.some:
		t.some = make([]*ledger.Entry, 0, handedOver)
		return nil
	case <-t.done:
		return errGivenUp
	}
}

// Now returns the time by the clock by which entries are recorded.
func (b *Books) Now() time.Time { return b.db.Now() }

// mostWaitForImport is how long an entry waits for an import before it is refused.
const mostWaitForImport = 5 * time.Second

// waitForImport lets an entry to the writer, or refuses it where an import holds the book
// for longer than mostWaitForImport. The caller releases so many places of l.importing.
func (l *live) waitForImport(ctx context.Context, places int64) error {
	if l.importing.TryAcquire(places) {
		return nil
	}
	within, cancel := context.WithTimeout(ctx, mostWaitForImport)
	defer cancel()
	switch err := l.importing.Acquire(within, places); {
	case err == nil:
		return nil
	case ctx.Err() != nil:
		return db.Explain(ctx.Err())
	}
	return db.ErrImporting
}
