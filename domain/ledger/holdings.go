package ledger

import (
	"sort"
	"time"
)

// Holding is what a tank holds from an instant on.
type Holding struct {
	At    time.Time
	Grams int64
}

// Holdings follows what tanks hold from one instant until another: what each held just before the first,
// and then each change. It walks the book once for all of them.
func (b *Book) Holdings(tanks []ID, from, until time.Time) [][]Holding {
	state, out := newState(b), make([][]Holding, len(tanks))
	n := sort.Search(len(b.line), func(i int) bool { return b.line[i].at >= from.UnixMicro() })
	note := func(at time.Time) {
		for i, tank := range tanks {
			h, _ := state.Holder(tank)
			if had := len(out[i]); had == 0 || out[i][had-1].Grams != h.Grams {
				out[i] = append(out[i], Holding{at, h.Grams})
			}
		}
	}
	state.replay(n)
	note(from)
	for ; n < len(b.line) && b.line[n].at <= until.UnixMicro(); n++ {
		state.replay(n + 1)
		note(b.line[n].OccurredAt)
	}
	return out
}
