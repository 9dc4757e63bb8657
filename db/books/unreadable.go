package books

import (
	"log/slog"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// logUnreadable writes to the log which entries of a book that was opened cannot be read,
// except those that were corrected or withdrawn.
func logUnreadable(outfit uuid.UUID, book *ledger.Book) {
	for e, by := range book.Unreadable() {
		switch {
		case e.Missing():
			slog.Error("entries are missing in the database", "outfit", outfit, "first", e.Number, "last", book.MissingUpTo(e))
		case by == nil:
			slog.Error("an entry cannot be read, and has no effect", "outfit", outfit, "number", e.Number, "id", e.ID, "why", e.Body.(*ledger.Unreadable).Why)
		}
	}
}
