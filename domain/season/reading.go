package season

import (
	"time"

	"pullbook/domain/ledger"
)

// Moisture is a moisture reading as a report shows it.
type Moisture struct {
	At time.Time
	// On is the pull, run, tank, lot or container that was sampled.
	On ledger.Place
	// Pct is moisture at 20 C in percent by mass.
	Pct float64
	// order is its place among the readings of its report's book.
	order int
}

// moistureOf is nil where the entry is no moisture reading.
func moistureOf(b *ledger.Book, e *ledger.Entry) *Moisture {
	r, ok := e.Body.(*ledger.Reading)
	if !ok || r.Moisture == nil {
		return nil
	}
	return &Moisture{At: e.OccurredAt, On: ledger.Place{Kind: r.On.Kind, ID: b.Root(r.On.ID)}, Pct: r.Moisture.Pct}
}
