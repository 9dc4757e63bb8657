package db

import (
	"context"
	"errors"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
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
	claims, had, err := b.check(ctx, l, e)
	if err != nil {
		return Recorded{}, err
	}
	if had != nil {
		if err := b.StillGood(ctx, p); err != nil {
			return Recorded{}, err
		}
		return b.again(ctx, l, e)
	}
	for range 2 {
		got := b.writerFor(p.Outfit).record(ctx, l, Draft{Principal: p, Entry: e, Claims: claims})
		switch {
		case got.err != nil:
			return Recorded{}, inWords(got.err, e)
		case got.entry != nil:
			return Recorded{Entry: got.entry, Reply: got.reply}, nil
		}
		if p, err = b.renew(ctx, p); err != nil {
			return Recorded{}, err
		}
		if again, err := b.again(ctx, l, e); err == nil || fault.CodeOf(err) == fault.Conflict {
			return again, err
		}
	}
	return Recorded{}, fault.New(fault.Busy, "The outfit's people or tokens are being changed; please send the entry again.")
}

// check asks the book in memory, and if that refuses, the book as the database
// has it: another process may know more.
func (b *Books) check(ctx context.Context, l *live, e *ledger.Entry) ([]ledger.Claim, *ledger.Entry, error) {
	look := func() ([]ledger.Claim, *ledger.Entry, error) {
		l.mu.RLock()
		defer l.mu.RUnlock()
		if err := l.book.Complete(e); err != nil {
			return nil, nil, err
		}
		if err := l.book.Check(e, b.db.Now()); err != nil {
			return nil, nil, err
		}
		had, _ := l.book.Entry(e.ID)
		return l.book.Claims(e), had, nil
	}
	claims, had, err := look()
	if err == nil {
		return claims, had, nil
	}
	head, headErr := b.db.Head(ctx, l.outfit.ID)
	if headErr != nil {
		return nil, nil, headErr
	}
	l.mu.RLock()
	current := l.book.Len() >= head.Number
	l.mu.RUnlock()
	if current {
		return nil, nil, err
	}
	if err := b.catchUp(ctx, l, head.Number); err != nil {
		return nil, nil, err
	}
	return look()
}

// StillGood refuses a principal whose token was revoked since it was looked up.
func (b *Books) StillGood(ctx context.Context, p Principal) error {
	head, err := b.db.Head(ctx, p.Outfit)
	if err != nil || head.Access == p.Access {
		return err
	}
	return b.lookAgain(ctx, p)
}

// again answers an entry that is in the book already.
func (b *Books) again(ctx context.Context, l *live, e *ledger.Entry) (Recorded, error) {
	head, err := b.db.Head(ctx, l.outfit.ID)
	if err != nil {
		return Recorded{}, err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := b.catchUpTo(ctx, l, head.Number); err != nil {
		return Recorded{}, err
	}
	if err := l.book.Check(e, b.db.Now()); err != nil {
		return Recorded{}, err
	}
	had, _ := l.book.Entry(e.ID)
	if had == nil {
		return Recorded{}, fault.New(fault.NotFound, "The book has no entry %s.", e.ID)
	}
	reply, ok := l.recent.byID[e.ID]
	if !ok {
		if reply, err = season.ReplyAsRecorded(l.book, had.Number); err != nil {
			return Recorded{}, err
		}
		l.recent.add(e.ID, reply)
	}
	return Recorded{Entry: had, Reply: reply, Again: true}, nil
}

// inWords says which identity clashed where the database, not the book in
// memory, was the one to see it: another process was quicker.
func inWords(err error, e *ledger.Entry) error {
	switch constraint(err) {
	case "claim_pkey":
		return fault.New(fault.Conflict, "Another %s has taken this name or number in the meantime.", e.Kind)
	case "replaced_once":
		return fault.New(fault.Conflict, "The entry was corrected by somebody else in the meantime: look at it again.")
	}
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		return fault.New(fault.Busy, "The book did not answer in time. Send the entry again with the same id: it will not be booked twice.")
	}
	return err
}

// storeWithin bounds how long one group of entries may take to be stored.
const storeWithin = 15 * time.Second
