package ledger

import (
	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// What a withdrawal takes back.
const (
	// TakesEntry takes all of an entry out, with its corrections.
	TakesEntry = "entry"
	// TakesCorrection takes back one correction: what it corrected stands again.
	TakesCorrection = "correction"
)

// bringBack makes a withdrawal that takes back a correction say what stands afterwards:
// once more what the correction corrected, as a correction of it. So no book keeps a
// withdrawal that leaves anything standing. A withdrawal of all is left as it is.
func (b *Book) bringBack(e *Entry, w *Withdrawal) error {
	takes := w.Takes
	w.Takes = ""
	old := b.fact(e.Replaces)
	if takes != TakesCorrection || old == nil || old.operators() || old.Missing() {
		return nil // all of it, or Check says what is wrong
	}
	wrong := func(why message.Text) error {
		return &fault.Error{Code: fault.Invalid, Message: message.F(NothingStored),
			Fields: []fault.Field{{Pointer: "/takes", Sent: takes, Message: why}}}
	}
	before := b.fact(old.Replaces)
	switch {
	case before == nil:
		return wrong(message.F("Entry %s corrects nothing, so nothing would stand in its place. To take all of it out, withdraw the entry itself (takes: entry).", old.Number))
	case before.unreadable():
		return wrong(message.F("Entry %s corrected entry %s, which cannot be read, so it cannot stand again. Correct entry %s with what was meant, or withdraw it all (takes: entry).", old.Number, before.Number, old.Number))
	case before.Entry.Kind == KindWithdrawal:
		return nil // what it corrected was that nothing stood
	}
	content, err := before.Content()
	if err != nil {
		return err
	}
	e.Kind, e.OccurredAt = before.Entry.Kind, before.OccurredAt
	return e.SetContent(content)
}
