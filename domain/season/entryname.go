package season

import (
	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

// EntryName is how one speaks of an entry: "large tank", "lot 26-014", "the pull
// from Mill Yard on 3 August". What was set up goes by its name alone.
func EntryName(b *ledger.Book, id ledger.ID) say.Text {
	if e, _ := b.Entry(id); e != nil && e.Kind.SetUp() {
		return say.Verbatim(b.Name(id))
	}
	return entryName(b, id)
}
