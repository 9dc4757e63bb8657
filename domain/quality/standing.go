package quality

import (
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Standing is what stands about a lot, and what has come of it since.
type Standing struct {
	ledger.Decided
	// Outdated says why a release by a check lets nothing go as things are: the check no
	// longer fits the lot, or its figures would not pass on the day. It is empty while it does.
	Outdated message.Text
}

// StandingOf is what stands about a lot on a day.
func StandingOf(b *ledger.Book, lot ledger.ID, on standard.Date) (Standing, error) {
	return DayOf(b, on).Standing(lot)
}

// Standing is StandingOf on the day.
func (d *Day) Standing(lot ledger.ID) (Standing, error) {
	b := d.book
	s := Standing{Decided: b.State().LotStatus(lot)}
	if s.Status != ledger.StatusReleased {
		return s, nil
	}
	x, ok := s.By.Body.(*ledger.LotStatus)
	if !ok || x.CheckID == (ledger.ID{}) {
		return s, nil
	}
	var err error
	if s.Outdated = b.Outdated(x.CheckID); s.Outdated.IsEmpty() {
		s.Outdated, err = d.noLongerMeets(x)
	}
	return s, err
}

// Doubt says in a sentence what has to be known of a lot beside its status: who saw it
// ferment, what opened it again, why its release lets nothing go. It is empty where there
// is nothing.
func (s Standing) Doubt() message.Text {
	switch {
	case s.Status == ledger.StatusHeld && s.Of != (ledger.ID{}):
		return message.F("Honey of another lot is in it, which is held for recall (entry %s). The hold of that lot has to be lifted first.", s.By.Number)
	case s.Status == ledger.StatusHeld && s.By.Kind == ledger.KindReading:
		return message.F("Somebody saw it ferment (entry %s). Only a check made after that lifts the hold.", s.By.Number)
	case s.Status == ledger.StatusOpen && s.Opened != nil:
		return message.F("It was released, and entry %s came after that: look at it, and release the lot again.", s.Opened.Number)
	case !s.Outdated.IsEmpty():
		return message.F("The check that released it no longer speaks for it: %s. What leaves is judged anew, on the day it leaves.", s.Outdated)
	}
	return message.Text{}
}
