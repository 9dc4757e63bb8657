package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"golang.org/x/sync/errgroup"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

// TakeOver hands entries that are to follow the book together to emit, one after
// the other, and gives at the end what the import says of them; nil where nothing
// is to be stored. ahead is the book with room for them. It may be asked twice: see
// Books.Import.
type TakeOver func(ahead *ledger.Book, emit func(*ledger.Entry) error) (*ledger.Import, error)

// Import stores many entries and the import that says so, all or none, and gives
// the import; nil where there was nothing to store. id is that of the import.
//
// A sheet that comes to no more than mostReady entries is taken over with nobody
// waiting, and the outfit's book is held only while they are stored. It is held from the
// beginning where there are more, or where something was set up, corrected or withdrawn
// meanwhile. Other entries wait while it is held: see mostWait.
func (b *Books) Import(ctx context.Context, p Principal, id uuid.UUID, take TakeOver) (_ *ledger.Entry, err error) {
	defer fault.Wrap(&err, "import")
	l, err := b.book(ctx, p.Outfit)
	if err != nil {
		return nil, err
	}
	if err := b.db.room(); err != nil {
		return nil, err
	}
	ready, err := b.makeReady(ctx, p, take)
	if err != nil {
		return nil, inWords(err)
	}
	if ready != nil && ready.about == nil {
		return nil, nil
	}
	if err := l.gate.Acquire(ctx, wholeGate); err != nil {
		return nil, inWords(err)
	}
	defer l.gate.Release(wholeGate)
	if p, err = b.current(ctx, l, p); err != nil {
		return nil, err
	}
	var made *ledger.Entry
	err = b.db.inOutfit(ctx, p.Outfit, pgx.TxOptions{}, func(tx pgx.Tx) error {
		head, err := b.db.hold(ctx, tx, p.Outfit)
		if err != nil {
			return err
		}
		if head.Access != p.Access {
			return fault.New(fault.Busy, "The outfit's people or tokens were changed just now: please send it again.")
		}
		if err := b.catchUp(ctx, l, head.Number); err != nil {
			return err
		}
		if ready.good(l.book) {
			take = ready.again
		}
		// Nothing is appended to the book while its head is held.
		made, err = b.db.bulkAppend(ctx, tx, p, head, l.book.Ahead(), id, take)
		return err
	})
	if errors.Is(err, errNothingNew) {
		return nil, nil
	}
	if err != nil {
		return nil, inWords(err)
	}
	// What is new is read here, and not in a writer, which other outfits need too. Where
	// that fails, whoever looks at the book next reads it.
	_ = b.catchUp(context.WithoutCancel(ctx), l, made.Number)
	return made, nil
}

// errNothingNew ends the transaction of an import that has nothing to store.
var errNothingNew = errors.New("nothing new")

const (
	sqlHoldHead = sqlHead + `
   FOR UPDATE`
	// An import waits for the entries that are on their way, and for another import.
	sqlWaitLonger = `SET LOCAL lock_timeout = '30s'`
	sqlMoveHead   = `
UPDATE book
   SET number = $2, digest = $3
 WHERE outfit_id = $1`
)

// hold locks the end of an outfit's book until the transaction ends.
func (d *DB) hold(ctx context.Context, tx pgx.Tx, outfit uuid.UUID) (h Head, err error) {
	if _, err := tx.Exec(ctx, sqlWaitLonger); err != nil {
		return h, err
	}
	err = tx.QueryRow(ctx, sqlHoldHead, outfit).Scan(&h.Number, &h.Digest, &h.Access)
	if errors.Is(err, pgx.ErrNoRows) {
		return h, fault.New(fault.NotFound, "There is no outfit %s.", outfit.String())
	}
	return h, err
}

// handedOver is how many entries are handed from the taking to the storing at once.
const handedOver = 256

// bulkAppend stores what take emits. The entries are made ready and checked on one
// goroutine, numbered and chained on another, while PostgreSQL stores those before.
func (d *DB) bulkAppend(ctx context.Context, tx pgx.Tx, p Principal, head Head, ahead *ledger.Book, id uuid.UUID, take TakeOver) (made *ledger.Entry, err error) {
	c := &chain{by: p.Name, now: micro(d.Now()), number: head.Number}
	copy(c.digest[:], head.Digest)
	group, within := errgroup.WithContext(ctx)
	t := &taker{id: id, work: make(chan []*ledger.Entry, 8), claims: ahead.Claims, done: within.Done()}
	pages := make(chan *page, 4)
	group.Go(func() error {
		defer close(t.work)
		return t.run(ahead, take)
	})
	group.Go(func() (err error) {
		defer close(pages)
		made, err = c.linkAll(t.work, pages, within.Done())
		return err
	})
	group.Go(func() error {
		for page := range pages {
			if err := d.storePage(ctx, tx, p.Outfit, page); err != nil {
				return err
			}
		}
		return nil
	})
	if err := group.Wait(); err != nil {
		return nil, err
	}
	if err := storeClaims(ctx, tx, p.Outfit, t.claimed); err != nil {
		return nil, err
	}
	_, err = tx.Exec(ctx, sqlMoveHead, p.Outfit, c.number, c.digest[:])
	return made, err
}

// storePage stores a page if the disk still has room.
func (d *DB) storePage(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, p *page) error {
	if err := d.room(); err != nil {
		return err
	}
	return p.store(ctx, tx, outfit)
}

// linkAll numbers and chains what was taken over, and gives the last of it.
func (c *chain) linkAll(work <-chan []*ledger.Entry, pages chan<- *page, done <-chan struct{}) (last *ledger.Entry, err error) {
	send := func(p *page) error {
		select {
		case pages <- p:
			return nil
		case <-done:
			return errGivenUp
		}
	}
	for lot := range work {
		for _, e := range lot {
			full, err := c.link(e)
			if err != nil {
				return nil, err
			}
			if full != nil {
				if err := send(full); err != nil {
					return nil, err
				}
			}
			last = e
		}
	}
	if c.page != nil {
		return last, send(c.page)
	}
	return last, nil
}

// taker runs the taking and hands what it emits over in lots.
type taker struct {
	id      uuid.UUID // of the import
	work    chan []*ledger.Entry
	claims  func(*ledger.Entry) []ledger.Claim
	done    <-chan struct{}
	lot     []*ledger.Entry
	claimed []ledger.Claim
}

func (t *taker) run(ahead *ledger.Book, take TakeOver) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic while a sheet was taken over: %v", p)
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

var errImportIDTaken = &fault.Error{Code: fault.Conflict, Message: say.F("Nothing was stored: another entry has the id of this import."),
	Fields: []fault.Field{{Pointer: "/id", Message: say.F("Make a new UUID for the import, and send the sheet again.")}}}

var errGivenUp = errors.New("the storing has ended")

func (t *taker) emit(e *ledger.Entry) error {
	if e.Kind != ledger.KindImport {
		if e.ID == t.id {
			return errImportIDTaken
		}
		t.claimed = append(t.claimed, t.claims(e)...)
	}
	if t.lot = append(t.lot, e); len(t.lot) < handedOver {
		return nil
	}
	return t.handOver()
}

func (t *taker) handOver() error {
	select {
	case t.work <- t.lot:
		t.lot = make([]*ledger.Entry, 0, handedOver)
		return nil
	case <-t.done:
		return errGivenUp
	}
}

// Private gives a book of the caller's own, as the database has it now: it may be
// added to, and nobody waits meanwhile.
func (b *Books) Private(ctx context.Context, p Principal) (o Outfit, book *ledger.Book, err error) {
	var entries []*ledger.Entry
	var loc *time.Location
	err = b.Read(ctx, p, func(outfit Outfit, book *ledger.Book) error {
		o, loc = outfit, book.Location()
		entries = make([]*ledger.Entry, 0, book.Len())
		for e := range book.Entries {
			entries = append(entries, e)
		}
		return nil
	})
	if err != nil {
		return o, nil, err
	}
	book, err = ledger.Restore(loc, entries)
	return o, book, err
}

// Now is the clock by which entries are recorded.
func (b *Books) Now() time.Time { return b.db.Now() }
