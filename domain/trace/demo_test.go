package trace_test

import (
	"testing"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

// truths counts how bounds lie to what was truly so in made-up seasons.
type truths struct {
	pairs, promised, above, below int
	// worst is how far a least was above the truth, in parts of the net.
	worst float64
}

func (x *truths) take(of trace.Amount, netG int64, truly float64) {
	x.pairs++
	if of.LeastG > 0 {
		x.promised++
	}
	if over := float64(of.LeastG) - truly; over > 1 {
		x.above++
		x.worst = max(x.worst, over/float64(netG))
	}
	if truly-float64(of.MostG) > 1 {
		x.below++
	}
}

// TestBoundsBesideWhatWasTrulySo makes up seasons whose weights have the errors of scales,
// dips and hoists, and whose runs the book shares among pulls by boxes and weights. The least
// and the most of a drum hold what truly was in it, though the weights are off. Those of a
// whole lot leave no room for that: they may be off as much as weights and shares are, which
// in 6 seasons was 2 % of the lot's net, in 12 of 954 leasts, at the worst.
func TestBoundsBesideWhatWasTrulySo(t *testing.T) {
	t.Parallel()
	var drums, lots truths
	for seed := range uint64(6) {
		made := demo.Outfit(demo.Ordinary(seed + 1))
		b, err := ledger.Open(made.Location, made.Recorded())
		if err != nil {
			t.Fatal(err)
		}
		tracer := trace.Open(b)
		truly := func(container, source ledger.ID) (share float64) {
			for pull, part := range made.Truth.PullShares[container] {
				if pull == source || b.Root(ledger.Named[ledger.Pull](b, pull).YardID) == source {
					share += part
				}
			}
			return share
		}
		b.InForceOf(ledger.KindYard, func(yard ledger.ID, _ *ledger.Entry) bool {
			f := forward(t, b, tracer, yard)
			for _, c := range f.Containers {
				if c.State == season.Held || c.State == season.Dispatched {
					drums.take(c.Of, c.NetG, truly(c.ID, yard)*float64(c.NetG))
				}
			}
			return true
		})
		b.InForceOf(ledger.KindLot, func(lot ledger.ID, _ *ledger.Entry) bool {
			back, err := tracer.Back(lot)
			if err != nil {
				t.Fatal(err)
			}
			for _, o := range append(back.Yards, back.Pulls...) {
				sum := 0.0
				for _, id := range b.State().Lot(lot).Containers {
					sum += truly(id, o.Place.ID) * float64(ledger.Named[ledger.Fill](b, id).NetG())
				}
				lots.take(o.Of, back.NetG, sum)
			}
			return true
		})
	}
	t.Logf("drums: %+v; lots: %+v", drums, lots)
	if drums.above+drums.below > 0 || drums.pairs < 10_000 {
		t.Errorf("of %d pairs of bounds of drums %d and %d are wrong", drums.pairs, drums.above, drums.below)
	}
	if lots.promised < 500 || lots.worst > 0.05 {
		t.Errorf("of %d leasts of lots that promise anything %d are too high, by %.3f of the net at the worst", lots.promised, lots.above, lots.worst)
	}
}
