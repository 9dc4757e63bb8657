// Package ledgertest writes books for tests: by hand, at random, and large.
// Only tests import it.
package ledgertest

import (
	"fmt"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// Start is when the books of this package begin.
var Start = time.Date(2026, 7, 1, 6, 0, 0, 0, time.UTC)

// At is so many hours after Start.
func At(hours float64) time.Time {
	return Start.Add(time.Duration(hours * float64(time.Hour)))
}

// Scribe writes entries down one after the other.
type Scribe struct {
	Entries []*ledger.Entry
}

// ID is the id that a Scribe gives its n-th entry. Its bytes are in no order,
// as those of ids made by many phones are not.
func ID(n int) ledger.ID {
	return uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "entry %d", n))
}

// Next is the id of the entry that will be written next.
func (s *Scribe) Next() ledger.ID { return ID(len(s.Entries) + 1) }

// Put writes an entry as given, with the next number, and the next id, and the
// kind of its body where it has none.
func (s *Scribe) Put(e ledger.Entry) ledger.ID {
	e.Number = int64(len(s.Entries) + 1)
	if e.ID == (ledger.ID{}) {
		e.ID = s.Next()
	}
	e.Kind = e.Body.Kind()
	if e.RecordedAt.IsZero() {
		e.RecordedAt = e.OccurredAt
	}
	if e.RecordedBy == "" {
		e.RecordedBy = "Ada"
	}
	s.Entries = append(s.Entries, &e)
	return e.ID
}

// SetUp writes an entry about the outfit's set-up.
func (s *Scribe) SetUp(body ledger.Body) ledger.ID {
	return s.Put(ledger.Entry{OccurredAt: Start, Body: body})
}

// Write writes what happened so many hours after Start, at that time.
func (s *Scribe) Write(hours float64, body ledger.Body) ledger.ID {
	return s.Put(ledger.Entry{OccurredAt: At(hours), Body: body})
}

// WriteLate writes what happened at one time at another.
func (s *Scribe) WriteLate(happened, written float64, body ledger.Body) ledger.ID {
	return s.Put(ledger.Entry{OccurredAt: At(happened), RecordedAt: At(written), Body: body})
}

// Correct replaces an entry by one that happened at the given hours.
func (s *Scribe) Correct(id ledger.ID, hours float64, body ledger.Body) ledger.ID {
	return s.Put(ledger.Entry{OccurredAt: At(hours), Replaces: id, Reason: "typed wrong", Body: body})
}

// Latest is the last correction or withdrawal of an entry, or the entry itself.
func (s *Scribe) Latest(id ledger.ID) ledger.ID {
	for _, e := range s.Entries {
		if e.Replaces == id {
			id = e.ID
		}
	}
	return id
}

// Withdraw takes an entry back.
func (s *Scribe) Withdraw(id ledger.ID) ledger.ID {
	return s.Put(ledger.Entry{OccurredAt: Start, Replaces: id, Reason: "never happened", Body: &ledger.Withdrawal{}})
}

// Accept settles a flag.
func (s *Scribe) Accept(hours float64, id ledger.ID, flag ledger.Code) ledger.ID {
	return s.Put(ledger.Entry{OccurredAt: At(hours), Reason: "looked into", Body: &ledger.Acceptance{EntryID: id, Flag: flag}})
}

// Open reads the book.
func (s *Scribe) Open() (*ledger.Book, error) { return ledger.Open(time.UTC, s.Entries) }
