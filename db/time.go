package db

import (
	"time"
)

// Microseconds returns t in UTC with the precision that the database keeps.
func Microseconds(t time.Time) time.Time { return t.UTC().Truncate(time.Microsecond) }

// utc returns a time as the book writes it; nil where there is none.
func utc(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	u := t.UTC()
	return &u
}
