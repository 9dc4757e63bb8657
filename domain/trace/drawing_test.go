package trace_test

import (
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/trace"
)

// TestADrawingLeadsFromLeftToRightAndLosesNothing: whatever went round, bands
// lead to later columns, and as much leaves each tank in the drawing of a lot as
// came to it.
func TestADrawingLeadsFromLeftToRightAndLosesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := mustOpen(t, anyBook(t).Entries)
		tracer := trace.Open(b)
		for _, s := range subjects(t, b) {
			d := tracer.DrawForward(s)
			leadsOn(t, d)
			if d.NotDrawnG == 0 {
				staysInTanks(t, d, tracer.Forward(s))
			}
		}
		b.InForceOf(ledger.KindLot, func(lot ledger.ID, _ *ledger.Entry) bool {
			d, err := tracer.DrawBack(lot)
			if err != nil {
				t.Fatalf("%v", err)
			}
			leadsOn(t, d)
			if d.NotDrawnG == 0 {
				balanced(t, d)
			}
			return true
		})
	})
}

func leadsOn(t *rapid.T, d *trace.Drawing) {
	for _, b := range d.Bands {
		if from, to := d.Nodes[b.From], d.Nodes[b.To]; from.Column >= to.Column || b.Grams <= 0 {
			t.Fatalf("%s: %d g from %s in column %d to %s in column %d", d.Name, b.Grams, from.Name, from.Column, to.Name, to.Column)
		}
	}
}

// staysInTanks: what came to the tanks and did not leave them is what they hold now.
func staysInTanks(t *rapid.T, d *trace.Drawing, f *trace.Forward) {
	var stays int64
	for _, b := range d.Bands {
		if d.Nodes[b.From].Kind == ledger.PlaceTank {
			stays -= b.Grams
		}
		if d.Nodes[b.To].Kind == ledger.PlaceTank {
			stays += b.Grams
		}
	}
	switch f.Subject.Place.Kind {
	case ledger.PlaceYard, ledger.PlacePull, ledger.PlaceRun:
	default:
		return // it begins on the way, with honey from nowhere in the drawing
	}
	// Half a gram and less that a move carried is not drawn.
	if off, rounding := stays-f.InTanks.Grams, int64(len(d.Bands))*20+100; off < -rounding || off > rounding {
		t.Fatalf("%s: %d g stay in the tanks of the drawing, %d g are there: %+v", d.Name, stays, f.InTanks.Grams, d)
	}
}

func balanced(t *rapid.T, d *trace.Drawing) {
	in, out := make([]int64, len(d.Nodes)), make([]int64, len(d.Nodes))
	for _, b := range d.Bands {
		out[b.From] += b.Grams
		in[b.To] += b.Grams
	}
	rounding := int64(len(d.Bands)) * 2
	for i, n := range d.Nodes {
		if n.Kind != ledger.PlaceTank {
			continue
		}
		if diff := in[i] - out[i]; diff < -rounding || diff > rounding {
			t.Fatalf("%s: %d g came to %s and %d left it: %+v", d.Name, in[i], n.Name, out[i], d)
		}
	}
}
