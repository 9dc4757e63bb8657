package balance

import (
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Period is what is reconciled: from its first instant up to but not including
// the instant To.
type Period struct {
	// Name is "season 2026" or "2026-08-12".
	Name     string
	From, To time.Time
	said     message.Text
}

// Said is its name in a sentence.
func (p Period) Said() message.Text { return p.said }

func (p Period) holds(at time.Time) bool { return !at.Before(p.From) && at.Before(p.To) }

// Season is the dates of a season. It fails as not found where none stands
// by that id.
func Season(b *ledger.Book, id ledger.ID) (Period, error) {
	if e := b.InForce(id); e != nil {
		if s, ok := e.Body.(*ledger.Season); ok {
			from, _ := s.First.On(b.Location())
			last, _ := s.Last.On(b.Location())
			said := message.F("season %s", s.Name)
			return Period{said.String(), from, last.AddDate(0, 0, 1), said}, nil
		}
	}
	return Period{}, fault.New(fault.NotFound, "The book has no season %s.", id)
}

// Day is one day where the outfit is.
func Day(b *ledger.Book, day ledger.Date) (Period, error) {
	from, err := day.On(b.Location())
	if err != nil {
		return Period{}, err
	}
	return Period{string(day), from, from.AddDate(0, 0, 1), message.F("%s", message.Date(day))}, nil
}
