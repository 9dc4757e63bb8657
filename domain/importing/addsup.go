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

// agree reports whether the last figures are the sums of those above them, and chance is hardly to
// blame: small counts often make another one, so that one of the sums has to be large, and to be
// that of several rows or to have another sum beside it.
func (s *sums) agree() bool {
	const noise, large, several = 1e-6, 100, 3
	same, sure := 0, false
	for i, total := range s.total {
		switch last := s.last[i]; {
		case last == 0 && total == 0:
		case math.Abs(last-total) > noise*math.Abs(total):
			return false
		case s.rows[i] > 1:
			same++
			sure = sure || total >= large
			if s.rows[i] >= several && total >= large {
				same++
			}
		}
	}
	return sure && same > 1
}
