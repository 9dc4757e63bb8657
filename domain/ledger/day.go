package ledger

import (
	"sort"
	"time"
)

// day is a day of the outfit on which something happened.
type day struct {
	// until is the end of the day, in microseconds.
	until  int64
	before Totals
}

// begin starts a new day where the fact is the first of one.
func (s *State) begin(f *fact) {
	if n := len(s.days); n > 0 && f.at < s.days[n-1].until {
		return
	}
	y, m, d := time.UnixMicro(f.at).In(s.book.loc).Date()
	end := time.Date(y, m, d+1, 0, 0, 0, 0, s.book.loc)
	s.days = append(s.days, day{end.UnixMicro(), s.totals})
}

// TotalsBefore is what the book came to as a day began in the outfit's time
// zone, from all that the book knows now. at is the first instant of the day.
func (s *State) TotalsBefore(at time.Time) Totals {
	i := sort.Search(len(s.days), func(i int) bool { return s.days[i].until > at.UnixMicro() })
	if i == len(s.days) {
		return s.totals
	}
	return s.days[i].before
}
