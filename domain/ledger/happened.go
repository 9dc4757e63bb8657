package ledger

import "iter"

// HappenedOf gives the entries of some kinds that stand, set-up apart, in order of occurrence.
// It looks into no others, so that it is quicker than Happened.
func (b *Book) HappenedOf(kinds ...Kind) iter.Seq2[ID, *Entry] {
	wanted := make([]bool, len(kindIndex))
	for _, k := range kinds {
		wanted[kindIndex[k]] = true
	}
	return func(yield func(root ID, e *Entry) bool) {
		for _, f := range b.line {
			if wanted[f.kind] && !yield(f.root.ID, f.Entry) {
				return
			}
		}
	}
}
