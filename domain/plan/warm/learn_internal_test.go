package warm

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
)

var noon = time.Date(2026, 8, 1, 12, 0, 0, 0, time.UTC)

// logOf is what a logger shows of a tank: held warm, then left to itself, as often as asked; one reading in three
// hours, off by a tenth of a kelvin.
func logOf(t testing.TB, r *rand.Rand, tank heat.Tank, heaterW, aroundC float64, holds ...int) (out []heat.Point) {
	t.Helper()
	var stages []heat.Stage
	for _, c := range holds {
		stages = append(stages, heat.Stage{Hours: 45, HeaterW: heaterW, ControlC: float64(c), AmbientC: aroundC}, heat.Stage{Hours: 36, AmbientC: aroundC})
	}
	c, err := heat.Warm(tank, aroundC+4, stages)
	if err != nil {
		t.Fatal(err)
	}
	for h := 0.0; h <= 81*float64(len(holds)); h += 3 {
		out = append(out, heat.Point{At: noon.Add(time.Duration(h * float64(time.Hour))), TemperatureC: c.TemperatureC(h) + 0.1*r.NormFloat64()})
	}
	return out
}

// A tank's log gives back the loss that made it, within what it says it may be off, and what was held last.
func TestATanksLogTellsItsLossAndWhatWasHeld(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 8))
	within, n := 0, 0
	for range 40 {
		tank := heat.Tank{MassKg: 400 + 1600*r.Float64(), MoisturePct: 17.4, LossWPerK: 10 + 40*r.Float64()}
		log := logOf(t, r, tank, 8000, 18, 45, 42, 40)
		held := []ledger.Holding{{At: noon.Add(-time.Hour), Grams: int64(tank.MassKg * 1000)}}
		l, ok := learned(coolings(log, 18), held, tank.MassKg*1000, 17.4, 18)
		if !ok {
			continue
		}
		n++
		if math.Abs(l.WPerK-tank.LossWPerK) <= 2*l.SDWPerK {
			within++
		}
		if last, ok := lastHeld(log, 18); !ok || last.SetC != 40 {
			t.Errorf("held last: %+v, want 40 C", last)
		}
	}
	t.Logf("of %d tanks %d within two standard deviations", n, within)
	if n < 35 || within < n*85/100 {
		t.Errorf("of 40 tanks %d are learned, %d of them within two standard deviations", n, within)
	}
}

func TestALogThatShowsNeitherCoolingNorHoldingTeachesNothing(t *testing.T) {
	t.Parallel()
	var rising []heat.Point
	for h := range 40 {
		rising = append(rising, heat.Point{At: noon.Add(time.Duration(h) * time.Hour), TemperatureC: 20 + float64(h)/2})
	}
	if c := coolings(rising, 18); len(c) != 0 {
		t.Errorf("a tank that warms cools: %v", c)
	}
	if h, ok := lastHeld(rising, 18); ok {
		t.Errorf("a tank that warms is held at %+v", h)
	}
	if _, ok := lastHeld(nil, 18); ok {
		t.Error("without a log something is held")
	}
	// Honey that came in while it cooled takes the cooling's loss with it.
	tank := heat.Tank{MassKg: 800, MoisturePct: 17.4, LossWPerK: 30}
	log := logOf(t, rand.New(rand.NewPCG(1, 1)), tank, 8000, 18, 45)
	held := []ledger.Holding{{At: noon.Add(-time.Hour), Grams: 500_000}, {At: noon.Add(60 * time.Hour), Grams: 800_000}}
	if l, ok := learned(coolings(log, 18), held, 1e6, 17.4, 18); ok {
		t.Errorf("a tank that was filled while it cooled: %+v", l)
	}
}
