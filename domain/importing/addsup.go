package importing

import (
	"math"

	"pullbook/domain/message"
)

// addsUp asks about a last row that has a date and whose figures are the sums of all those above
// it: a total that does not say so, dated like the others.
func (k *taking) addsUp() bool {
	s := k.sums
	if k.wide != nil || k.row != s.row || !s.dated || k.Mapping.Of == Yards || !s.agree() {
		return false
	}
	switch k.answered("") {
	case Another:
		return false
	case LeftAside:
		k.LeftOut++
		return true
	}
	k.problem(LooksLikeSum, nil, message.F("The figures of this last row are the sums of all those above it. Is it their total, to be left out, or another of them%s?", message.Option("rows: leave_out or another")), string(Another), string(LeftAside))
	return true
}

// agree reports whether the last figures are the sums of those above them, in so many columns or
// rows that chance is hardly to blame.
func (s *sums) agree() bool {
	const noise = 1e-6
	same := 0
	for i, total := range s.total {
		switch last := s.last[i]; {
		case last == 0 && total == 0:
		case math.Abs(last-total) > noise*math.Abs(total):
			return false
		case s.rows[i] >= 2:
			same++
			if s.rows[i] >= 3 {
				same++
			}
		}
	}
	return same >= 2
}
