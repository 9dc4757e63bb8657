package quality

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Advice is what the door would say of what was prepared, by what the book knows now.
type Advice struct {
	// Staying are the containers that may not leave for what is known of their lots, or are gone.
	Staying []ledger.Staying
	// Judged is how the others stand on the day against what they are held to.
	Judged []ledger.Leaving
	// NotJudged says why they could not be held to it; nil where they were.
	NotJudged error
}

// AdviseOn asks the door about what was prepared, on the day on which it is to leave, or
// today where that is over. It refuses nothing: what is loaded is judged when it leaves.
func AdviseOn(b *ledger.Book, p *ledger.PreparedDispatch, now time.Time) (a Advice) {
	at := now
	if day, err := time.ParseInLocation(time.DateOnly, string(p.LeavesOn), b.Location()); err == nil && day.After(now) {
		at = day
	}
	d := &ledger.Dispatch{BuyerID: p.BuyerID, Market: p.Market, Containers: b.MayLoad(p)}
	e := &ledger.Entry{Kind: ledger.KindDispatch, OccurredAt: at, Body: d}
	a.Staying = b.Stay(e)
	stays := map[ledger.ID]bool{}
	for _, s := range a.Staying {
		stays[s.FillID] = true
	}
	var leave []ledger.ID
	for _, id := range d.Containers {
		if !stays[id] {
			leave = append(leave, id)
		}
	}
	d.Containers = leave
	a.NotJudged = completeDispatch(b, e, d)
	a.Judged = d.Judged
	return a
}

// Says says what would not pass, lot by lot and rule set by rule set. Why containers stay
// stands with each of them.
func (a Advice) Says(b *ledger.Book) (out []message.Text) {
	if a.NotJudged != nil {
		out = append(out, message.Of(a.NotJudged))
	}
	for i := range a.Judged {
		if x := &a.Judged[i]; !x.Passes() {
			out = append(out, message.F("Lot %s does not meet %s: %s.", b.Name(x.LotID), x.SaidName(), x.WhyNot()))
		}
	}
	return out
}
