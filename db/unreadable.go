package db

import (
	"fmt"
	"log/slog"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// tellUnreadable writes to the log which entries of a book that was opened cannot be
// read. Those that were corrected or withdrawn need nobody's eye any more.
func tellUnreadable(outfit uuid.UUID, book *ledger.Book) {
	for e, by := range book.Unreadable() {
		switch {
		case e.Missing():
			slog.Error("entries are missing in the database", "outfit", outfit, "first", e.Number, "last", book.MissingUpTo(e))
		case by == nil:
			slog.Error("an entry cannot be read, and has no effect", "outfit", outfit, "number", e.Number, "id", e.ID, "why", e.Body.(*ledger.Unreadable).Why)
		}
	}
}

// unpanicked turns a panic into an error, for what runs beside the requests: there
// nobody else catches it, and the whole process would end.
func unpanicked(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("panic: %v", p)
	}
}
