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
			leadsOn(t, tracer.DrawForward(s))
		}
		b.Of(ledger.KindLot, func(lot ledger.ID, _ *ledger.Entry) bool {
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
