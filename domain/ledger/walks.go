package ledger

import "math"

// Walks is how many facts of the line have to be walked again if the next entry is e, and
// rather more than fewer. It only looks at the book, which may not have e yet.
func (b *Book) Walks(e *Entry) int {
	kind, known := kindIndex[e.Kind]
	if !known || e.Kind == KindUnreadable {
		return 0
	}
	if b.missing[e.ID] {
		return len(b.line)
	}
	f := &fact{Entry: e, Kind: e.Kind, at: e.OccurredAt.UnixMicro(), kind: int8(kind), slot: -1}
	f.root, f.last = f, f
	if old := b.fact(e.Replaces); old != nil {
		return b.walksInStead(f, old)
	}
	return len(b.line) - b.firstChanged(f)
}

// walksInStead is Walks for a fact that replaces another.
func (b *Book) walksInStead(f, old *fact) int {
	f.root = old.root
	was := f.root.last
	if f.Kind.SetUp() || f.root.Kind.SetUp() || f.root.Kind == KindImport || was == nil || was.Kind == KindWithdrawal || was.unreadable() {
		return len(b.line)
	}
	first := min(b.firstChanged(was), b.firstChanged(f))
	if f.Kind == KindWithdrawal {
		first = min(b.firstChanged(was), b.firstNaming(f.root))
	}
	return len(b.line) - first
}

// firstChanged is the first place in the line that a fact takes or that rests on it.
func (b *Book) firstChanged(f *fact) int {
	first := b.firstResting(f)
	if f.Kind.SetUp() || f.Kind == KindWithdrawal {
		return first
	}
	// Its rank among those of the same instant may come of its root.
	instant := &fact{Entry: f.Entry, at: f.at, kind: math.MinInt8, root: f.root}
	return min(first, b.position(instant))
}
