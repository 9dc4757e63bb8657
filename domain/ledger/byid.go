package ledger

import (
	"hash/maphash"
	"math/bits"
)

// byID finds the facts of a book by their IDs: a table of some of each ID's hash, and of the
// place of its fact in the book plus one. A replay looks every ID up several times. The table
// takes a third of the memory of a map, and the collector has nothing to look for in it.
type byID []uint64

// idSeed is another one in each process: devices make the IDs, and none may fill the table so
// that it is searched for long.
var idSeed = maphash.MakeSeed()

// makeByID has room for so many IDs.
func makeByID(n int) byID {
	return make(byID, 1<<bits.Len(uint(max(n+n/3, 8))))
}

// slot gives where an ID is looked for first, and what is kept of its hash.
func (t byID) slot(id ID) (at, kept uint64) {
	h := maphash.Comparable(idSeed, id)
	return h & uint64(len(t)-1), h >> 32 << 32
}

// fact finds the fact that an ID names; nil where the book has none.
func (b *Book) fact(id ID) *fact {
	t := b.byID
	mask := uint64(len(t) - 1)
	for at, kept := t.slot(id); t[at] != 0; at = (at + 1) & mask {
		if t[at]>>32<<32 == kept {
			if f := b.facts[uint32(t[at])-1]; f.ID == id {
				return f
			}
		}
	}
	return nil
}

// indexLast makes the book's last fact known by its ID.
func (b *Book) indexLast() {
	if n := len(b.facts); n+n/3 >= len(b.byID) {
		b.byID = makeByID(2 * n)
		for i, f := range b.facts {
			b.byID.put(f.ID, i)
		}
		return
	}
	last := len(b.facts) - 1
	b.byID.put(b.facts[last].ID, last)
}

func (t byID) put(id ID, place int) {
	mask := uint64(len(t) - 1)
	at, kept := t.slot(id)
	for t[at] != 0 {
		at = (at + 1) & mask
	}
	t[at] = kept | uint64(place+1)
}
