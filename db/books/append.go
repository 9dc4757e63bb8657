package books

import (
	"context"
	"fmt"
	"time"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
)

// Recorded is an entry that is in the book for good.
type Recorded struct {
	Entry *ledger.Entry
	Reply Reply
	// Again is true where the entry was in the book before.
	Again bool
}

// Append checks an entry against the book, stores it durably and returns what it changed.
// The same id with the same content gets the same reply as the first time.
func (b *Books) Append(ctx context.Context, p db.Principal, e *ledger.Entry) (Recorded, error) {
	return b.append(ctx, p, e, nil)
}

// AppendFiling is Append for an entry that names a file: the file is stored with it,
// in one transaction.
func (b *Books) AppendFiling(ctx context.Context, p db.Principal, e *ledger.Entry, f *db.CertificateFile) (Recorded, error) {
	return b.append(ctx, p, e, f)
}

func (b *Books) append(ctx context.Context, p db.Principal, e *ledger.Entry, f *db.CertificateFile) (_ Recorded, err error) {
	defer fault.Wrap(&err, "record a %s", e.Kind)
	x, names := e.Body.(ledger.Filing)
	if names != (f != nil) {
		return Recorded{}, fmt.Errorf("an entry that names a file and the file come together")
	}
	if names && (x.File().SHA256 != f.Hex() || x.File().Bytes != int64(len(f.Content)) || x.File().MediaType != f.MediaType) {
		return Recorded{}, fmt.Errorf("the entry says of its file what it is not")
	}
	e.OccurredAt = db.Microseconds(e.OccurredAt)
	e.RecordedBy = p.Name
	l, err := b.live(ctx, p.Outfit)
	if err != nil {
		return Recorded{}, err
	}
	tries, places := mostTries, int64(1)
	if restsOnAll(p, e) {
		tries, places = mostTriesOfAll, allOfImporting
	}
	var got outcome
	for range tries {
		if err := b.db.CheckRoom(); err != nil {
			return Recorded{}, err
		}
		var had bool
		if got, had, err = b.tryOnce(ctx, l, p, &db.Draft{Outfit: p.Outfit, Access: p.Access, Entry: e, File: f}, places); err != nil {
			return Recorded{}, err
		}
		switch {
		case had:
			return b.answerAgain(ctx, l, p, e)
		case got.err != nil && !db.Overtaken(got.err):
			return Recorded{}, db.Explain(got.err)
		case got.entry != nil && got.noReply:
			reply, err := b.replyTo(ctx, l, got.entry)
			return Recorded{Entry: got.entry, Reply: reply}, err
		case got.entry != nil:
			return Recorded{Entry: got.entry, Reply: got.reply}, nil
		}
		// Another request or process was quicker: look at what it did.
		if p, err = b.refresh(ctx, l, p); err != nil {
			return Recorded{}, err
		}
	}
	if got.err != nil {
		return Recorded{}, db.Explain(got.err)
	}
	return Recorded{}, fault.New(fault.Busy, "Somebody is changing the outfit's people or tokens: please send the entry again.")
}

// mostTries bounds how often an entry is tried because others were quicker, and
// mostTriesOfAll how often one that rests on all entries before it: there only other
// processes can be quicker, and any entry of theirs counts.
const (
	mostTries      = 4
	mostTriesOfAll = 50
)

// restsOnAll reports whether an entry may be taken only by a book that has every entry
// before it: whether honey may leave, and be paid for, and whether somebody may still put the
// own slip right, can change with any of them.
func restsOnAll(p db.Principal, e *ledger.Entry) bool {
	if e.Replaces != (ledger.ID{}) && p.Role != db.Manager {
		return true // whether a lot was released or sent on it
	}
	switch e.Kind {
	case ledger.KindPreparedDispatch, ledger.KindDispatch, ledger.KindLotStatus, ledger.KindSettlement:
		return true
	}
	return false
}

// tryOnce checks an entry and hands it to the writer. While all places among those that
// record are taken, no other request of this process changes the book in between. had is
// true where the book has the same entry already.
func (b *Books) tryOnce(ctx context.Context, l *live, p db.Principal, d *db.Draft, places int64) (got outcome, had bool, err error) {
	if err := l.waitForImport(ctx, places); err != nil {
		return outcome{}, false, err
	}
	defer l.importing.Release(places)
	seen, claims, had, err := b.check(ctx, l, p, d.Entry)
	if err != nil || had {
		return outcome{}, had, err
	}
	if d.Claims = claims; restsOnAll(p, d.Entry) {
		d.After = seen
	}
	return b.writerFor(p.Outfit).record(ctx, l, d), false, nil
}

// check asks the book in memory, and if that refuses, the book as the database has it:
// another process may know more. seen is the last entry of the book that was asked. had is
// true where the book has the same entry already.
func (b *Books) check(ctx context.Context, l *live, p db.Principal, e *ledger.Entry) (seen int64, claims []ledger.Claim, had bool, err error) {
	look := func() error {
		l.mu.RLock()
		defer l.mu.RUnlock()
		if err := quality.Complete(l.book, e); err != nil {
			return err
		}
		if err := allowed(l.book, p, e, b.db.Now()); err != nil {
			return err
		}
		was, _ := l.book.Entry(e.ID)
		seen, claims, had = l.book.Len(), l.book.Claims(e), was != nil
		return nil
	}
	if err := look(); err == nil {
		return seen, claims, had, nil
	}
	if _, err := b.refresh(ctx, l, p); err != nil {
		return 0, nil, false, err
	}
	err = look()
	return seen, claims, had, err
}

// allowed says why an entry cannot go into the book: because of what it says, or because a
// manager alone may bring it: it puts right what somebody else recorded, or sends off what
// nobody prepared.
func allowed(book *ledger.Book, p db.Principal, e *ledger.Entry, now time.Time) error {
	if p.Role != db.Manager {
		if err := book.AsPrepared(e); err != nil {
			return err
		}
	}
	if e.Replaces != (ledger.ID{}) && p.Role != db.Manager {
		if err := book.OwnSlip(e, now); err != nil {
			return err
		}
	}
	return book.Check(e, now)
}
