package season

import (
	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

// EntryName is how one speaks of an entry: "large tank", "lot 26-014", "the pull
// from Mill Yard on 3 August". What was set up goes by its name alone.
func EntryName(b *ledger.Book, id ledger.ID) say.Text {
	e, _ := b.Entry(id)
	if e != nil && e.Kind == ledger.KindOperator {
		return OperatorSentence(b, e)
	}
	if e != nil && e.Missing() {
		return say.F("entry %s, which is missing", e.Number)
	}
	if e != nil && e.Kind == ledger.KindUnreadable {
		return say.F("entry %s, which cannot be read", e.Number)
	}
	if e != nil && e.Kind.SetUp() {
		return say.Verbatim(b.Name(id))
	}
	return entryName(b, id)
}
