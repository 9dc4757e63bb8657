package season

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// EntryName is how one speaks of an entry: "large tank", "lot 26-014", "the pull
// from Mill Yard on 3 August". What was set up goes by its name alone.
func EntryName(b *ledger.Book, id ledger.ID) message.Text {
	e, _ := b.Entry(id)
	if e != nil && e.Kind == ledger.KindOperator {
		return OperatorSentence(b, e)
	}
	if e != nil && e.Missing() {
		return message.F("entry %s, which is missing", e.Number)
	}
	if e != nil && e.Kind == ledger.KindUnreadable {
		return message.F("entry %s, which cannot be read", e.Number)
	}
	if x := ledger.Named[ledger.Photo](b, id); x != nil {
		return message.F("the picture %s of %s", x.FileName, entryName(b, x.EntryID))
	}
	if c := ledger.Named[ledger.LaboratoryCertificate](b, id); c != nil {
		return message.F("the certificate %s of %s", c.FileName, entryName(b, c.ReadingID))
	}
	if e != nil && e.Kind.SetUp() {
		return message.Verbatim(b.Name(id))
	}
	return entryName(b, id)
}
