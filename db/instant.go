package db

import (
	"errors"
	"time"

	"github.com/jackc/pgx/v5/pgtype"

	"pullbook/domain/ledger"
)

// instant reads an entry's time, infinite ones too: those spoil their entry, and must
// not end the reading of the book.
type instant time.Time

func (i *instant) ScanTimestamptz(v pgtype.Timestamptz) error {
	if !v.Valid {
		return errors.New("an entry has no time")
	}
	switch v.InfinityModifier {
	case pgtype.Infinity:
		*i = instant(ledger.Forever)
	case pgtype.NegativeInfinity:
		*i = instant(ledger.SinceEver)
	default:
		*i = instant(v.Time.UTC())
	}
	return nil
}
