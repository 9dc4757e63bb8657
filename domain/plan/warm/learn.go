package warm

import (
	"cmp"
	"math"
	"slices"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
)

// Held is a temperature that a log shows as held by a thermostat.
type Held struct {
	SetC int
	Last time.Time
}

// What counts as held, and as cooling by itself (common practice; no source).
const (
	heldHours, heldWithinK = 12.0, 1.5
	heldFromC, heldAboveK  = 32.0, 8.0
	coolsHours, coolsByK   = 12.0, 3.0
	risesByK, topWithinK   = 0.2, 0.5 // what a logger's figures scatter by
	longestSilence         = 6 * time.Hour
	learnFrom              = 400 * 24 * time.Hour
	mostCoolings           = 40
	leastLossSD, guessedSD = 0.05, 0.30 // of the loss
)

// lastHeld finds the temperature that a thermostat held last, in points in order of time.
func lastHeld(points []heat.Point, aroundC float64) (Held, bool) {
	least := max(heldFromC, aroundC+heldAboveK)
	for end := len(points) - 1; end > 0; end-- {
		if points[end].TemperatureC < least-heldWithinK {
			continue
		}
		low, high, sum, begin := points[end].TemperatureC, points[end].TemperatureC, 0.0, end
		for i := end; i >= 0; i-- {
			c := points[i].TemperatureC
			if i < end && points[i+1].At.Sub(points[i].At) > 2*longestSilence || max(high, c)-min(low, c) > heldWithinK {
				break
			}
			low, high, sum, begin = min(low, c), max(high, c), sum+c, i
		}
		mean := sum / float64(end-begin+1)
		if points[end].At.Sub(points[begin].At).Hours() >= heldHours && mean >= least {
			return Held{int(math.Round(mean)), points[end].At}, true
		}
	}
	return Held{}, false
}

// stretch is a part of a log, from one of its points to another.
type stretch struct{ points []heat.Point }

func (s stretch) from() time.Time { return s.points[0].At }
func (s stretch) to() time.Time   { return s.points[len(s.points)-1].At }

// coolings finds where a tank cooled by itself, the latest first.
func coolings(points []heat.Point, aroundC float64) (out []stretch) {
	for end := len(points) - 1; end > 0 && len(out) < mostCoolings; {
		begin := end
		for begin > 0 && points[begin-1].TemperatureC > points[begin].TemperatureC-risesByK && points[begin].At.Sub(points[begin-1].At) <= longestSilence {
			begin--
		}
		s := stretch{points[begin : end+1]}.fromTop()
		if s.to().Sub(s.from()).Hours() >= coolsHours && s.points[0].TemperatureC-points[end].TemperatureC >= coolsByK && points[end].TemperatureC > aroundC {
			out = append(out, s)
		}
		end = min(begin, end-1)
	}
	return out
}

// fromTop leaves out what a thermostat held before.
func (s stretch) fromTop() stretch {
	top := slices.MaxFunc(s.points, func(a, b heat.Point) int { return cmp.Compare(a.TemperatureC, b.TemperatureC) }).TemperatureC
	for i := len(s.points) - 1; ; i-- {
		if s.points[i].TemperatureC >= top-topWithinK {
			return stretch{s.points[i:]}
		}
	}
}

// wetted is the share of a full tank's surface that its honey has, wall and both ends, where it is as wide as high
// and so full: honey loses heat where it is.
func wetted(full float64) float64 { return (0.5 + min(full, 1)) / 1.5 }

// Loss is what a tank loses, with its standard deviation.
type Loss struct {
	WPerK, SDWPerK float64
	// Coolings is from how many coolings it was learned; 0 where it is that of its surface.
	Coolings int
}

// lossOf learns what a tank loses from its log where it cooled by itself and nothing came in or went
// out. Else it is that of an upright cylinder as wide as high without insulation, which is the most.
func lossOf(b *ledger.Book, tank ledger.ID, t *ledger.Tank, grams int64, moisturePct, aroundC float64, now time.Time) (Loss, error) {
	full := float64(grams) / float64(t.CapacityG)
	var logged []heat.Point
	for _, p := range b.Logged(tank) {
		if !p.At.After(now) && p.At.After(now.Add(-learnFrom)) {
			logged = append(logged, p)
		}
	}
	cooled := coolings(logged, aroundC)
	if len(cooled) > 0 {
		held := b.Holdings([]ledger.ID{tank}, cooled[len(cooled)-1].from(), now)[0]
		if l, ok := learned(cooled, held, float64(t.CapacityG), moisturePct, aroundC); ok {
			l.WPerK, l.SDWPerK = l.WPerK*wetted(full), l.SDWPerK*wetted(full)
			return l, nil
		}
	}
	const density = 1.42 // kg/L, about what honey has
	across := math.Cbrt(4 / math.Pi * float64(t.CapacityG) / 1e6 / density)
	loss, err := heat.LossOfSurface(1.5*math.Pi*across*across*wetted(full), 0, 0)
	return Loss{WPerK: loss, SDWPerK: guessedSD * loss}, err
}

// learned is the loss by coolings, as of a full tank, weighted alike: what they differ by says how well it is known.
func learned(cooled []stretch, held []ledger.Holding, capacityG, moisturePct, aroundC float64) (Loss, bool) {
	var fits []float64
	var sum, widest float64
	for _, s := range cooled {
		grams, still := holding(held, s.from(), s.to())
		if !still || float64(grams) < 0.1*capacityG {
			continue
		}
		log, err := heat.FromPoints(s.points, nil)
		if err != nil {
			continue
		}
		fit, err := heat.FitLoss(heat.Tank{MassKg: float64(grams) / 1000, MoisturePct: moisturePct}, log, 0, aroundC)
		if err != nil {
			continue
		}
		whole := 1 / wetted(float64(grams)/capacityG)
		fits, sum, widest = append(fits, whole*fit.LossWPerK), sum+whole*fit.LossWPerK, max(widest, whole*fit.SDWPerK)
	}
	if len(fits) == 0 {
		return Loss{}, false
	}
	mean, squares := sum/float64(len(fits)), 0.0
	for _, f := range fits {
		squares += (f - mean) * (f - mean)
	}
	sd := guessedSD * mean // of a single cooling nobody knows how well the surroundings are known
	if n := float64(len(fits)); n > 1 {
		sd = math.Sqrt(squares / (n - 1) / n)
	}
	return Loss{mean, max(sd, widest/math.Sqrt(float64(len(fits))), leastLossSD*mean), len(fits)}, true
}

// holding is what a tank held over a stretch; false where that changed.
func holding(held []ledger.Holding, from, to time.Time) (grams int64, still bool) {
	for _, h := range held {
		if !h.At.After(from) {
			grams = h.Grams
		} else if !h.At.After(to) {
			return 0, false
		}
	}
	return grams, true
}
