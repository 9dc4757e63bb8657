package books

import (
	"context"
	"fmt"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/season"
)

// Recorded is an entry that is in the book for good.
type Recorded struct {
	Entry *ledger.Entry
	Reply season.Reply
	// Again is true where the entry was in the book before.
	Again bool
}

// Append checks an entry against the book, stores it durably and returns what it changed.
// The same id with the same content gets the same reply as the first time.
func (b *Books) Append(ctx context.Context, p db.Principal, e *ledger.Entry) (Recorded, error) {
	return b.append(ctx, p, e, nil)
}

// AppendCertificate is Append for an entry that names a file: the file is stored with it,
// in one transaction.
func (b *Books) AppendCertificate(ctx context.Context, p db.Principal, e *ledger.Entry, f *db.CertificateFile) (Recorded, error) {
	return b.append(ctx, p, e, f)
}

func (b *Books) append(ctx context.Context, p db.Principal, e *ledger.Entry, f *db.CertificateFile) (_ Recorded, err error) {
	defer fault.Wrap(&err, "record a %s", e.Kind)
	if c, names := e.Body.(*ledger.LaboratoryCertificate); names != (f != nil) ||
		names && (c.SHA256 != f.Hex() || c.Bytes != int64(len(f.Content)) || c.MediaType != f.MediaType) {
		return Recorded{}, fmt.Errorf("a certificate's entry and its file come together, and the entry says what the file is")
	}
	e.OccurredAt = db.Microseconds(e.OccurredAt)
	e.RecordedBy = p.Name
	l, err := b.live(ctx, p.Outfit)
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
			return b.answerAgain(ctx, l, p, e)
		}
		if err := b.db.CheckRoom(); err != nil {
			return Recorded{}, err
		}
		if err := l.waitForImport(ctx); err != nil {
			return Recorded{}, err
		}
		got = b.writerFor(p.Outfit).record(ctx, l, &db.Draft{Outfit: p.Outfit, Access: p.Access, Entry: e, Claims: claims, File: f})
		l.importing.Release(1)
		switch {
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

// mostTries bounds how often an entry is tried because others were quicker.
const mostTries = 4

// check asks the book in memory, and if that refuses, the book as the database has it:
// another process may know more. had is true where the book has the same entry already.
func (b *Books) check(ctx context.Context, l *live, p db.Principal, e *ledger.Entry) (claims []ledger.Claim, had bool, err error) {
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
	if _, err := b.refresh(ctx, l, p); err != nil {
		return nil, false, err
	}
	return claims, had, look()
}
