package db

import (
	"context"
	"crypto/sha256"
	"errors"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"
	"golang.org/x/sync/errgroup"

	"pullbook/domain/ledger"
)

// Bulk adds many entries to an outfit's book in one transaction, which holds the head of
// the book.
type Bulk struct {
	Head   Head
	db     *DB
	tx     pgx.Tx
	outfit uuid.UUID
}

// Bulk runs f while the head of an outfit's book is held, and commits what f stored if f
// returns no error.
func (d *DB) Bulk(ctx context.Context, outfit uuid.UUID, f func(*Bulk) error) error {
	return d.inOutfit(ctx, outfit, pgx.TxOptions{}, func(tx pgx.Tx) error {
		head, err := d.hold(ctx, tx, outfit)
		if err != nil {
			return err
		}
		return f(&Bulk{Head: head, db: d, tx: tx, outfit: outfit})
	})
}

// Store stores the entries that come, recorded by somebody, and returns the last of them.
// The entries are numbered and chained on one goroutine while PostgreSQL stores those
// before. Store gives up when the context within ends. It is called once.
func (b *Bulk) Store(ctx, within context.Context, by string, come <-chan []*ledger.Entry) (last *ledger.Entry, err error) {
	c := &chain{by: by, now: Microseconds(b.db.Now()), number: b.Head.Number}
	copy(c.digest[:], b.Head.Digest)
	pages := make(chan *page, 4)
	group, within := errgroup.WithContext(within)
	group.Go(func() (err error) {
		defer close(pages)
		last, err = c.linkAll(come, pages, within.Done())
		return err
	})
	group.Go(func() error {
		for page := range pages {
			if err := b.db.storePage(ctx, b.tx, b.outfit, page); err != nil {
				return err
			}
		}
		return nil
	})
	if err := group.Wait(); err != nil {
		return nil, err
	}
	_, err = b.tx.Exec(ctx, sqlMoveHead, b.outfit, c.number, c.digest[:])
	return last, err
}

// Claim stores the names and codes that entries took.
func (b *Bulk) Claim(ctx context.Context, claims []ledger.Claim) error {
	return storeClaims(ctx, b.tx, b.outfit, claims)
}

// storePage stores a page if the disk still has room.
func (d *DB) storePage(ctx context.Context, tx pgx.Tx, outfit uuid.UUID, p *page) error {
	if err := d.CheckRoom(); err != nil {
		return err
	}
	return p.store(ctx, tx, outfit)
}

var errGivenUp = errors.New("nobody waits for the storing any more")

// linkAll numbers and chains the entries that come, and returns the last of them.
func (c *chain) linkAll(come <-chan []*ledger.Entry, pages chan<- *page, done <-chan struct{}) (last *ledger.Entry, err error) {
	send := func(p *page) error {
		select {
		case pages <- p:
			return nil
		case <-done:
			return errGivenUp
		}
	}
	for some := range come {
		for _, e := range some {
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

// sqlInsertEntries stores many entries in one statement, column by column. (PostgreSQL
// refuses COPY FROM on a table with row-level security.)
const sqlInsertEntries = `
INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at,
                   recorded_by, replaces, reason, content, digest)
SELECT $1, $2 + x.place - 1, x.entry_id, x.kind, x.occurred_at, x.recorded_at,
       x.recorded_by, x.replaces, x.reason, x.content::json, x.digest
  FROM unnest($3::uuid[], $4::text[], $5::timestamptz[], $6::timestamptz[], $7::text[], $8::uuid[], $9::text[], $10::text[], $11::bytea[])
       WITH ORDINALITY AS x (entry_id, kind, occurred_at, recorded_at, recorded_by, replaces, reason, content, digest, place)`

// page is entries as columns, with numbers from first on.
type page struct {
	first             int64
	ids               [][16]byte
	kinds             []string
	occurred          []time.Time
	recorded          []time.Time
	by                []string
	replaces          []pgtype.UUID
	reasons, contents []string
	digests           [][]byte
}

// pageRows is how many entries are stored by one statement.
const pageRows = 1024

// newPage returns a page with room for so many entries.
func newPage(first int64, rows int) *page {
	return &page{
		first: first, ids: make([][16]byte, 0, rows), kinds: make([]string, 0, rows),
		occurred: make([]time.Time, 0, rows), recorded: make([]time.Time, 0, rows), by: make([]string, 0, rows),
		replaces: make([]pgtype.UUID, 0, rows), reasons: make([]string, 0, rows), contents: make([]string, 0, rows),
		digests: make([][]byte, 0, rows),
	}
}

func (p *page) add(e *ledger.Entry, content []byte) {
	p.ids, p.kinds = append(p.ids, e.ID), append(p.kinds, string(e.Kind))
	p.occurred, p.recorded = append(p.occurred, e.OccurredAt), append(p.recorded, e.RecordedAt)
	p.by, p.reasons = append(p.by, e.RecordedBy), append(p.reasons, e.Reason)
	p.replaces = append(p.replaces, pgtype.UUID{Bytes: e.Replaces, Valid: e.Replaces != ledger.ID{}})
	p.contents, p.digests = append(p.contents, string(content)), append(p.digests, e.Digest[:])
}

func (p *page) store(ctx context.Context, tx pgx.Tx, outfit uuid.UUID) error {
	_, err := tx.Exec(ctx, sqlInsertEntries, outfit, p.first, p.ids, p.kinds, p.occurred, p.recorded, p.by, p.replaces, p.reasons, p.contents, p.digests)
	return err
}

// chain gives entries their numbers and digests. It does in Go what sqlAppend does
// in the database.
type chain struct {
	by     string
	now    time.Time
	number int64
	digest [sha256.Size]byte
	page   *page
}

// link makes an entry the next one, and returns the page once it is full.
func (c *chain) link(e *ledger.Entry) (full *page, err error) {
	e.RecordedAt, e.RecordedBy = c.now, c.by
	if e.Kind == ledger.KindImport {
		e.OccurredAt = c.now
	}
	_, content, err := ledger.ReadBack(e)
	if err != nil {
		return nil, err
	}
	c.number++
	c.digest = ledger.Chain(c.digest, c.number, e.Canonical(content))
	e.Number, e.Digest = c.number, c.digest
	if c.page == nil {
		c.page = newPage(c.number, pageRows)
	}
	c.page.add(e, content)
	if len(c.page.ids) < pageRows {
		return nil, nil
	}
	full, c.page = c.page, nil
	return full, nil
}
