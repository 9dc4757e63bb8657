package db

import (
	"context"
	"errors"
	"io"
	"net"
	"time"

	"github.com/jackc/pgerrcode"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/puddle/v2"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/say"
	"pullbook/domain/season"
)

// Draft is an entry on its way into the book.
type Draft struct {
	Principal Principal
	// Entry lacks its number, its digest and when and by whom it was recorded.
	Entry  *ledger.Entry
	Claims []ledger.Claim
}

// Recorded is an entry that is in the book for good.
type Recorded struct {
	Entry *ledger.Entry
	Reply season.Reply
	// Again is true where the entry was in the book before.
	Again bool
}

// Append checks an entry against the book, stores it durably and says what it
// changed. The same id with the same content is answered as the first time.
func (b *Books) Append(ctx context.Context, p Principal, e *ledger.Entry) (_ Recorded, err error) {
	defer fault.Wrap(&err, "record a %s", e.Kind)
	e.OccurredAt = micro(e.OccurredAt)
	e.RecordedBy = p.Name
	l, err := b.book(ctx, p.Outfit)
	if err != nil {
		return Recorded{}, err
	}
	var got outcome
	for range mostTries {
		claims, had, err := b.check(ctx, l, p, e)
		if err != nil {
			return Recorded{}, err
		}
		if had {
			return b.again(ctx, l, p, e)
		}
		if err := b.db.room(); err != nil {
			return Recorded{}, err
		}
		if err := l.pass(ctx); err != nil {
			return Recorded{}, err
		}
		got = b.writerFor(p.Outfit).record(ctx, l, Draft{Principal: p, Entry: e, Claims: claims})
		l.gate.Release(1)
		switch {
		case got.err != nil && !outrun(got.err):
			return Recorded{}, inWords(got.err)
		case got.entry != nil && got.untold:
			reply, err := b.replyTo(ctx, l, got.entry)
			return Recorded{Entry: got.entry, Reply: reply}, err
		case got.entry != nil:
			return Recorded{Entry: got.entry, Reply: got.reply}, nil
		}
		// Another request or process was quicker: look at what it did.
		if p, err = b.current(ctx, l, p); err != nil {
			return Recorded{}, err
		}
	}
	if got.err != nil {
		return Recorded{}, inWords(got.err)
	}
	return Recorded{}, fault.New(fault.Busy, "The outfit's people or tokens are being changed; please send the entry again.")
}

// mostTries bounds how often an entry is tried again because others were
// quicker.
const mostTries = 4

// check asks the book in memory, and if that refuses, the book as the database
// has it: another process may know more. had is true where the same entry is in
// the book already.
func (b *Books) check(ctx context.Context, l *live, p Principal, e *ledger.Entry) (claims []ledger.Claim, had bool, err error) {
	look := func() error {
		l.mu.RLock()
		defer l.mu.RUnlock()
		if err := quality.Complete(l.book, e); err != nil {
			return err
		}
		if err := l.book.Check(e, b.db.Now()); err != nil {
			return err
		}
		was, _ := l.book.Entry(e.ID)
		claims, had = l.book.Claims(e), was != nil
		return nil
	}
	if err := look(); err == nil {
		return claims, had, nil
	}
	if _, err := b.current(ctx, l, p); err != nil {
		return nil, false, err
	}
	return claims, had, look()
}

// current brings the book in memory up to the database, and gives the principal
// as it is now. It refuses one whose token was revoked.
func (b *Books) current(ctx context.Context, l *live, p Principal) (Principal, error) {
	head, err := b.db.Head(ctx, p.Outfit)
	if err != nil {
		return p, err
	}
	if head.Access != p.Access {
		if p, err = b.renew(ctx, p); err != nil {
			return p, err
		}
	}
	return p, b.catchUp(ctx, l, head.Number)
}

// StillGood refuses a principal whose token was revoked since it was looked up.
func (b *Books) StillGood(ctx context.Context, p Principal) error {
	head, err := b.db.Head(ctx, p.Outfit)
	if err == nil && head.Access != p.Access {
		_, err = b.renew(ctx, p)
	}
	return err
}

// again answers an entry that is in the book already.
func (b *Books) again(ctx context.Context, l *live, p Principal, e *ledger.Entry) (Recorded, error) {
	if err := b.StillGood(ctx, p); err != nil {
		return Recorded{}, err
	}
	l.mu.RLock()
	had, _ := l.book.Entry(e.ID)
	l.mu.RUnlock()
	reply, err := b.replyTo(ctx, l, had)
	return Recorded{Entry: had, Reply: reply, Again: true}, err
}

// replyTo is what an entry of the book was answered when it was recorded.
func (b *Books) replyTo(ctx context.Context, l *live, e *ledger.Entry) (reply season.Reply, err error) {
	l.mu.RLock()
	reply, known := l.recent.byID[e.ID]
	_, past, err := l.past(e.Number)
	l.mu.RUnlock()
	if known || err != nil {
		return reply, err
	}
	err = b.pasts.read(ctx, l.outfit.ID, past, func(then *ledger.Book) (err error) {
		reply, err = season.ReplyAsRecorded(then, e.Number)
		return err
	})
	if err != nil {
		return reply, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.recent.add(e.ID, reply)
	return reply, nil
}

// outrun reports whether another process took in the meantime what an entry
// wanted: a name, a number, or the entry that it replaces.
func outrun(err error) bool {
	switch constraint(err) {
	case "claim_pkey", "replaced_once":
		return true
	}
	return false
}

// inWords turns what the database refused into a fault that helps.
func inWords(err error) error {
	switch pg := new(pgconn.PgError); {
	case outrun(err):
		return fault.New(fault.Conflict, "Another entry took this name, this number or this correction's place in the meantime: look at the book again.")
	case errors.As(err, &pg) && pg.Code == pgerrcode.CheckViolation:
		return fault.New(fault.Invalid, "Nothing was stored: the book does not take this (its rule %s).", pg.ConstraintName)
	case errors.As(err, &pg) && (pgerrcode.IsDataException(pg.Code) || pgerrcode.IsProgramLimitExceeded(pg.Code)):
		return fault.New(fault.Invalid, "Nothing was stored: the database does not take this (%s).", pg.Message)
	case OutOfRoom(err):
		return ErrFull("")
	case errors.As(err, &pg) && pg.Code == pgerrcode.LockNotAvailable:
		return errBookHeld
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return fault.New(fault.Busy, "The book did not answer in time. Send the entry again with the same id: it will not be booked twice.")
	}
	return err
}

var errBookHeld = fault.New(fault.Busy, "A sheet is being brought into the book just now, which holds it for a while. Send this again with the same id: it will not be booked twice.")

// mostWait is how long an entry waits for an import before it is asked to come again.
const mostWait = 5 * time.Second

// pass lets an entry to the writer, or tells it to come again where an import holds the
// book for longer than mostWait. The caller releases the gate.
func (l *live) pass(ctx context.Context) error {
	within, cancel := context.WithTimeout(ctx, mostWait)
	defer cancel()
	switch err := l.gate.Acquire(within, 1); {
	case err == nil:
		return nil
	case ctx.Err() != nil:
		return inWords(ctx.Err())
	}
	return errBookHeld
}

// OutOfRoom reports whether the database could not write for want of disk.
func OutOfRoom(err error) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && pg.Code == pgerrcode.DiskFull
}

// ErrFull says that the disk of the book is full. folder is "" where the database
// is somebody else's to run.
func ErrFull(folder string) error {
	if folder == "" {
		return fault.New(fault.Full, "The disk of the book's database is full: nothing of this was stored, and what was recorded before is safe. Whoever runs the database has to make room; then send this again with the same id.")
	}
	return fault.New(fault.Full, "The disk of the book is full: nothing of this was stored, and what was recorded before is safe. Free space on the disk of %s by moving other files away, and delete none in that folder; then send this again with the same id.", say.Quoted(folder))
}

// Unavailable reports whether an error says that the database cannot be
// reached, or not now, rather than that it was asked something wrong.
func Unavailable(err error) bool {
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		return false // it was not waited for
	}
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pgerrcode.IsConnectionException(pg.Code) || pgerrcode.IsInsufficientResources(pg.Code) || pgerrcode.IsOperatorIntervention(pg.Code)
	}
	var connect *pgconn.ConnectError
	var network net.Error
	return errors.As(err, &connect) || errors.As(err, &network) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, puddle.ErrClosedPool)
}

// storeWithin bounds how long one group of entries may take to be stored.
const storeWithin = 15 * time.Second
