package quality

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// Dated is something that a calendar can show.
type Dated struct {
	// Key tells it from all others of the book, and stays the same while its day moves.
	Key string
	// From is its day, and To its last one: later where it goes on.
	From, To standard.Date
	What     message.Text
	Detail   message.Text
	// About is the lot or the instrument.
	About ledger.ID
	// Kind is that of About.
	Kind ledger.Kind
}

const (
	// nearDays is how far ahead a forecast is told as a day; further ones are told as months
	// (Roughly), which is no day of a calendar.
	nearDays = monthFromDays
	// mostDatedLots bounds the work: the lots that were filled last are looked at.
	mostDatedLots = 200
)

// Dates lists what of a book has a day, in the order of days: lots that are held, from the day
// on which they were until today; lots here that may pass a limit of the rule sets within 90
// days, on the earliest day; and instruments, on the day on which their check stops holding.
func Dates(b *ledger.Book, sets []ledger.Resolved, on standard.Date) ([]Dated, error) {
	day := func(t time.Time) standard.Date { return standard.Date(t.In(b.Location()).Format(time.DateOnly)) }
	var out []Dated
	b.InForceOf(ledger.KindInstrument, func(root ledger.ID, e *ledger.Entry) bool {
		if due, ok := b.CheckDue(root); ok {
			at := day(due)
			out = append(out, Dated{
				Key: "check-" + root.String(), From: at, To: at, About: root, Kind: ledger.KindInstrument,
				What:   message.F("Check the %s against its reference", e.Body.(*ledger.Instrument).Name),
				Detail: message.F("Its last good check holds until this day. Readings after it count as overdue."),
			})
		}
		return true
	})
	var lots []ledger.ID
	for _, l := range season.ShedOf(b).Stock {
		if len(lots) == mostDatedLots {
			break
		}
		lots = append(lots, l.LotID)
		if now := b.State().LotStatus(l.LotID); now.Status == ledger.StatusHeld && now.By != nil {
			from := day(now.By.OccurredAt)
			held := Dated{
				Key: "hold-" + l.LotID.String(), From: from, To: max(from, on), About: l.LotID, Kind: ledger.KindLot,
				What: message.F("Lot %s is on hold", l.Code),
			}
			if s, ok := now.By.Body.(*ledger.LotStatus); ok && s.Why != "" {
				held.Detail = s.Why.Text()
			}
			out = append(out, held)
		}
	}
	near, err := nearLimits(b, lots, sets, on)
	if err != nil {
		return nil, err
	}
	out = append(out, near...)
	slices.SortStableFunc(out, func(x, y Dated) int { return cmp.Or(cmp.Compare(x.From, y.From), cmp.Compare(x.Key, y.Key)) })
	return out, nil
}

// nearLimits are the lots that may pass a limit within 90 days of a day.
func nearLimits(b *ledger.Book, lots []ledger.ID, sets []ledger.Resolved, on standard.Date) (out []Dated, err error) {
	kept, err := Keeping(b, lots, sets, on)
	if err != nil {
		return nil, err
	}
	today, err := time.Parse(time.DateOnly, string(on))
	if err != nil {
		return nil, err
	}
	last := standard.Date(today.AddDate(0, 0, nearDays).Format(time.DateOnly))
	for _, k := range kept {
		first := (*KeepLine)(nil)
		for i := range k.Lines {
			l := &k.Lines[i]
			if l.Leaves != nil && !l.Outside && l.Leaves.Low <= last && (first == nil || l.Leaves.Low < first.Leaves.Low) {
				first = l
			}
		}
		if first != nil {
			out = append(out, Dated{
				Key: "limit-" + k.LotID.String(), From: first.Leaves.Low, To: first.Leaves.Low, About: k.LotID, Kind: ledger.KindLot,
				What: message.F("Lot %s may pass a limit from this day on", k.Code), Detail: first.passes(on),
			})
		}
	}
	return out, nil
}
