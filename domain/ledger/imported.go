package ledger

import (
	"encoding/json"
	"maps"
	"slices"
	"sort"
)

// Import says of the entries right before it that they were brought in together
// from one sheet of an older record. They are withdrawn
// together by withdrawing this entry, for good: the sheet can be brought in anew.
type Import struct {
	// Of is the kind of table: "readings".
	Of string `json:"of"`
	// File and Sheet are what it was called, SHA256 the hexadecimal digest of
	// the file's bytes.
	File   string `json:"file,omitempty"`
	Sheet  string `json:"sheet,omitempty"`
	SHA256 string `json:"sha256"`
	// Entries is how many entries right before this one came with it, at least 1.
	Entries int64 `json:"entries"`
	// Rows is how many rows of the sheet were read, HadRows how many of those the
	// book had already, and LeftOut how many were left out as totals.
	Rows    int64 `json:"rows"`
	HadRows int64 `json:"had_rows,omitempty"`
	LeftOut int64 `json:"left_out,omitempty"`
	// Headings is the digest of the sheet's headings, by which Mapping is found
	// again next year.
	Headings string `json:"headings"`
	// Mapping is what each column was taken for.
	Mapping json.RawMessage `json:"mapping"`
}

func (*Import) Kind() Kind { return KindImport }

// takeBack marks what came with an import as withdrawn. What it corrected was there before,
// and stays as it was corrected.
func (b *Book) takeBack(root *fact) {
	first := root.Number - 1 - root.Body.(*Import).Entries
	for _, f := range b.facts[first : root.Number-1] {
		if f.root.Number > first {
			f.root.takenBack = true
		}
	}
}

// importOf is the import that a chain of corrections came with; nil where it was
// recorded by itself.
func (b *Book) importOf(root *fact) *fact {
	all := b.roots[kindIndex[KindImport]]
	i := sort.Search(len(all), func(i int) bool { return all[i].Number > root.Number })
	if i < len(all) && all[i].Number-all[i].Body.(*Import).Entries <= root.Number {
		return all[i]
	}
	return nil
}

// takenBackBy reports whether the import that a chain came with had been withdrawn
// when the book's last entry was the one numbered n.
func (b *Book) takenBackBy(root *fact, n int64) bool {
	return root.takenBack && b.importOf(root).by.Number <= n
}

// TakenBack reports whether an entry came with an import that was withdrawn whole.
func (b *Book) TakenBack(id ID) bool {
	f := b.fact(id)
	return f != nil && f.root.takenBack
}

// Ahead is the book with room for entries that are to follow together, so that
// each can be held against those before it though none is stored yet. It takes no
// replay: its state is that of the book it was had from, which must not be
// appended to while Ahead is in use.
func (b *Book) Ahead() *Book {
	c := *b
	c.facts = slices.Clip(b.facts)
	c.byID = slices.Clone(b.byID)
	c.roots, c.ofKind = slices.Clone(b.roots), slices.Clone(b.ofKind)
	for i := range c.roots {
		c.roots[i], c.ofKind[i] = slices.Clip(c.roots[i]), slices.Clip(c.ofKind[i])
	}
	c.owners = maps.Clone(b.owners)
	c.told = maps.Clone(b.told)
	for id, facts := range c.told {
		c.told[id] = slices.Clip(facts)
	}
	return &c
}

// Follow adds the next entry to what Ahead gave. The entry replaces nothing.
func (b *Book) Follow(e *Entry) error { return b.register(new(fact), e) }

// Names looks a thing up by its name or code, of whatever case; false where
// nothing that stands goes by it.
func (b *Book) Names(noun Kind, name string) (root ID, known bool) {
	if noun == KindFill {
		if e := b.ContainerInUse(name); e != nil {
			return b.rootID(e.ID), true
		}
		return ID{}, false
	}
	had, now := b.claimed(noun, claimKey(name))
	if had == nil || !now || had.withdrawn() {
		return ID{}, false
	}
	return had.ID, true
}
