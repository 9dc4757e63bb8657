package ledger

import "time"

// Forever and SinceEver stand for the infinite times that a database can hold and an
// entry cannot have. Both are finer than a microsecond, so that no entry's own time is
// either.
var (
	Forever   = time.Date(9999, 12, 31, 23, 59, 59, 999_999_999, time.UTC)
	SinceEver = time.Date(1, 1, 1, 0, 0, 0, 1, time.UTC)
)

// endless reports whether a time stands for an infinite one.
func endless(t time.Time) bool { return t.Equal(Forever) || t.Equal(SinceEver) }

// timeText is a time as the digest covers it.
func timeText(t time.Time) string {
	switch {
	case t.Equal(Forever):
		return "infinity"
	case t.Equal(SinceEver):
		return "-infinity"
	}
	return t.UTC().Format(timeLayout)
}
