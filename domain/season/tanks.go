package season

import (
	"time"

	"pullbook/domain/ledger"
)

// TankLine is a tank as it stands.
type TankLine struct {
	TankID ledger.ID
	Name   string
	Use    ledger.TankUse
	// Grams is the honey in it; FullPct of CapacityG, nil where the capacity
	// is not known, above 100 where the book has more than it can hold.
	Grams, CapacityG int64
	FullPct          *float64
	// Expected is what the book expects of it; nil where it is empty.
	Expected *ledger.Belief
	// MakeUp splits Grams by yard and pull.
	MakeUp []Source
	// Moisture is the last reading since it was last washed; nil where none.
	Moisture *Moisture
	// LastMoved is when honey last went in or out or it was washed; the zero
	// time where it never did.
	LastMoved time.Time
}

// Tanks lists the tanks that stand, in the order in which they were set up.
func Tanks(b *ledger.Book) []TankLine {
	var out []TankLine
	at := map[ledger.ID]int{}
	b.InForceOf(ledger.KindTank, func(root ledger.ID, e *ledger.Entry) bool {
		t := e.Body.(*ledger.Tank)
		h, _ := b.State().Holder(root)
		l := TankLine{
			TankID: root, Name: t.Name, Use: t.Use, Grams: h.Grams, CapacityG: t.CapacityG,
			FullPct: ratio(100*kg(h.Grams), kg(t.CapacityG)),
		}
		if h.Grams > 0 {
			l.MakeUp = makeUp(b, h.Mix, h.Grams)
			if belief, ok := b.State().BeliefAt(root, b.Latest()); ok {
				l.Expected = &belief
			}
		}
		at[root] = len(out)
		out = append(out, l)
		return true
	})
	moved := func(id ledger.ID, when time.Time) *TankLine {
		if i, ok := at[b.Root(id)]; ok {
			out[i].LastMoved = when
			return &out[i]
		}
		return nil
	}
	for _, e := range b.HappenedOf(ledger.KindMovement, ledger.KindFill, ledger.KindWash, ledger.KindReading) {
		switch body := e.Body.(type) {
		case *ledger.Movement:
			moved(body.From.ID, e.OccurredAt)
			moved(body.To.ID, e.OccurredAt)
		case *ledger.Fill:
			moved(body.TankID, e.OccurredAt)
		case *ledger.Wash:
			if l := moved(body.TankID, e.OccurredAt); l != nil {
				l.Moisture = nil
			}
		case *ledger.Reading:
			if i, ok := at[b.Root(body.On.ID)]; ok && body.Moisture != nil {
				out[i].Moisture = moistureOf(b, e)
			}
		}
	}
	return out
}
