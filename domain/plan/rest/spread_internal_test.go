package rest

import (
	"math"
	"math/rand/v2"
	"testing"

	"pullbook/domain/ledger"
)

// Four seasons and the one that is foretold from them differ by chance, much less than is usual, as much, or more. Whatever they
// differ by, the band holds about nine in ten.
func TestABandThatIsLearnedFromFourSeasonsHoldsNineInTen(t *testing.T) {
	const tries, draws = 2000, 400
	for _, sd := range []float64{0.1, 0.5, 1, 3} {
		r := rand.New(rand.NewPCG(4, 8))
		held := 0.0
		for range tries {
			seasons := make([]float64, 4)
			mean := 0.0
			for i := range seasons {
				seasons[i] = sd * r.NormFloat64()
				mean += seasons[i] / 4
			}
			s := learned(1, fromOthers(seasons), 4)
			figures := make([]float64, draws)
			for i := range figures {
				figures[i] = mean + s.draw(r)
			}
			if b, came := bandOf(figures), sd*r.NormFloat64(); came >= b.Low && came <= b.High {
				held++
			}
		}
		t.Logf("seasons that differ by %g of the usual: %.3f", sd, held/tries)
		if held/tries < 0.85 || held/tries > 0.95 {
			t.Errorf("seasons that differ by %g of the usual: the band holds %.3f", sd, held/tries)
		}
	}
}

// One season says nothing of how far seasons differ: the usual stands, and twice its square, since the two of them
// are compared.
func TestOneSeasonLeavesTheUsualSpread(t *testing.T) {
	if s := learned(0.25, nil, 1); len(s) != 1 || math.Abs(s[0]-0.25*math.Sqrt2) > 1e-12 {
		t.Errorf("%v", s)
	}
}

// Earlier seasons would have brought 100 supers by day 20 and 400 by day 40. Where nothing else is off, each rest brings
// 200, the middle of the two in times, by day 30: how far they differ is in the spread, and is not drawn once more.
func TestHowFarSeasonsDifferIsDrawnOnce(t *testing.T) {
	var few, many Course
	few.add(Due{ledger.ID{1}, 20, 100})
	many.add(Due{ledger.ID{1}, 10, 300})
	many.add(Due{ledger.ID{2}, 40, 100})
	h := small()
	h.Courses = evened([]Course{few, many, {}})
	for n := range uint64(50) {
		d := newDraws(h, 3, n)
		if d.course.Supers > 0 && (d.supers != 200 || math.Abs(d.course.lastDay()-30) > 1e-9) {
			t.Errorf("%d supers by day %g", d.supers, d.course.lastDay())
		}
	}
	if none := h.Courses[2]; none.Supers != 0 {
		t.Errorf("%+v; a season that gave nothing more still gives nothing more", none)
	}
}
