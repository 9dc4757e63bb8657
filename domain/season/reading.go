package season

import (
	"time"

	"pullbook/domain/ledger"
)

// Moisture is a moisture reading as a report shows it.
type Moisture struct {
	ReadingID ledger.ID
	At        time.Time
	// On is the pull, run, tank, lot or container that was sampled, and Point
	// where in it.
	On    ledger.Place
	Point ledger.Point
	// Instrument is the instrument's name, or the laboratory's.
	InstrumentID ledger.ID
	Instrument   string
	// Pct is moisture at 20 C in percent by mass, StdUncertaintyPct its
	// standard uncertainty; Scale and AsRead are what the instrument showed.
	Pct, StdUncertaintyPct float64
	Scale                  string
	AsRead                 float64
	// order is its place among the readings of its report's book.
	order int
}

// moistureOf is nil where the entry is no moisture reading.
func moistureOf(b *ledger.Book, root ledger.ID, e *ledger.Entry) *Moisture {
	r, ok := e.Body.(*ledger.Reading)
	if !ok || r.Moisture == nil {
		return nil
	}
	m := &Moisture{
		ReadingID: root, At: e.OccurredAt,
		On: ledger.Place{Kind: r.On.Kind, ID: b.Root(r.On.ID)}, Point: r.Point,
		InstrumentID: r.InstrumentID, Instrument: r.Laboratory,
		Pct: r.Moisture.Pct, StdUncertaintyPct: r.Moisture.StdUncertaintyPct,
		Scale: r.Moisture.Scale, AsRead: r.Moisture.AsRead,
	}
	if i := ledger.Named[ledger.Instrument](b, r.InstrumentID); i != nil {
		m.InstrumentID, m.Instrument = b.Root(r.InstrumentID), i.Name
	}
	return m
}
