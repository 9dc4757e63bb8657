package db

import (
	"context"
	"errors"

	"github.com/jackc/pgerrcode"
	"github.com/jackc/pgx/v5/pgconn"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// constraint returns the name of the constraint that err says was broken.
func constraint(err error) string {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		return pg.ConstraintName
	}
	return ""
}

// Refused reports whether the database answered, and refused what it was asked.
func Refused(err error) bool { return errors.As(err, new(*pgconn.PgError)) }

// Overtaken reports whether another process took in the meantime what an entry wanted:
// a name, a number, or the entry that it replaces.
func Overtaken(err error) bool {
	switch constraint(err) {
	case "claim_pkey", "replaced_once":
		return true
	}
	return false
}

// Explain turns what the database refused into a fault that says what to do.
func Explain(err error) error {
	switch pg := new(pgconn.PgError); {
	case Overtaken(err):
		return fault.New(fault.Conflict, "Somebody else just recorded this name, this number or this correction. Look at the book again.")
	case errors.As(err, &pg) && pg.Code == pgerrcode.CheckViolation:
		return fault.New(fault.Invalid, "Nothing was stored: the book's database refused this by its rule %s. Ask whoever keeps the program running.", pg.ConstraintName)
	case errors.As(err, &pg) && (pgerrcode.IsDataException(pg.Code) || pgerrcode.IsProgramLimitExceeded(pg.Code)):
		return fault.New(fault.Invalid, "Nothing was stored: the database does not take this (%s).", pg.Message)
	case OutOfRoom(err):
		return ErrFull("")
	case errors.As(err, &pg) && pg.Code == pgerrcode.LockNotAvailable:
		return ErrImporting
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, context.Canceled):
		return fault.New(fault.Busy, "The book did not answer in time. Send the entry again with the same id: it will not be booked twice.")
	}
	return err
}

// ErrImporting says that an import holds the book.
var ErrImporting = fault.New(fault.Busy, "The book is taking in a sheet just now, and takes nothing else until it is done. Send this again with the same id: it will not be booked twice.")

// OutOfRoom reports whether the database could not write for want of disk.
func OutOfRoom(err error) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && pg.Code == pgerrcode.DiskFull
}

// ErrFull returns the fault that the disk of the book is full. folder is "" where
// somebody else runs the database.
func ErrFull(folder string) error {
	if folder == "" {
		return fault.New(fault.Full, "The disk of the book's database is full: nothing of this was stored, and what was recorded before is safe. Whoever runs the database has to make room; then send this again with the same id.")
	}
	return fault.New(fault.Full, "The disk of the book is full: nothing of this was stored, and what was recorded before is safe. Free space on the disk of %s by moving other files away, and delete none in that folder; then send this again with the same id.", message.Quoted(folder))
}
