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
// and then each change. It walks the book once for all of them, and follows the grams alone.
func (b *Book) Holdings(tanks []ID, from, until time.Time) [][]Holding {
	walk, out := &FlowWalk{number: b.Len(), held: map[ID]int64{}}, make([][]Holding, len(tanks))
	n := sort.Search(len(b.line), func(i int) bool { return b.line[i].at >= from.UnixMicro() })
	note := func(at time.Time) {
		for i, tank := range tanks {
			grams := walk.held[b.rootID(tank)]
			if had := len(out[i]); had == 0 || out[i][had-1].Grams != grams {
				out[i] = append(out[i], Holding{at, grams})
			}
		}
	}
	for _, f := range b.line[:n] {
		if kindsMovingHoney[f.kind] {
			walk.follow(b, f)
		}
	}
	note(from)
	for ; n < len(b.line) && b.line[n].at <= until.UnixMicro(); n++ {
		if f := b.line[n]; movesHoney(f.Body) {
			walk.follow(b, f)
			note(f.OccurredAt)
		}
	}
	return out
}
