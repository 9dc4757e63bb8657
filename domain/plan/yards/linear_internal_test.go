package yards

import (
	"math"
	"math/rand/v2"
	"testing"
)

// reckon works effects out as a spreadsheet does: levels of seasons and effects in turn, until neither moves.
func (x *Linear) reckon(a *Asked) (effects []float64, ordinary float64) {
	levels := levels(a.Observations, len(a.Seasons), a.Per)
	deviations := func() []float64 {
		mean, sum := make([]float64, len(levels)), make([]float64, len(levels))
		for i, o := range a.Observations {
			mean[o.Season] += x.Weight[i] * o.Kg / levels[o.Season]
			sum[o.Season] += x.Weight[i]
		}
		out, apart := make([]float64, len(a.Yards)), make([]float64, len(x.Apart))
		for i, o := range a.Observations {
			out[o.Yard] += x.Weight[i] * (o.Kg/levels[o.Season] - mean[o.Season]/sum[o.Season])
			for k := range apart {
				apart[k] += x.Weight[i] * x.Apart[k][i] * o.Kg / levels[o.Season]
			}
		}
		for y := range out {
			for k, v := range apart {
				out[y] -= x.Counts[y][k] * v
			}
		}
		return out
	}
	times := func(m [][]float64, q []float64) []float64 {
		out := make([]float64, len(q))
		for i := range m {
			for j, v := range q {
				out[i] += m[i][j] * v
			}
		}
		return out
	}
	for range 20 {
		u := times(x.Fitted, deviations())
		kg, share := make([]float64, len(levels)), make([]float64, len(levels))
		for i, o := range a.Observations {
			kg[o.Season] += x.Weight[i] * o.Kg
			share[o.Season] += x.Weight[i] * (1 + u[o.Yard] + x.Beside[i])
		}
		for s := range levels {
			levels[s] = kg[s] / share[s]
		}
	}
	effects = times(x.Weighed, deviations())
	centre(effects)
	for _, kg := range levels {
		ordinary += kg / float64(len(levels))
	}
	return effects, ordinary
}

// What a plan says of a yard is a sum of what yards were off in their seasons, whichever yards stood in which season, and
// also where hives and boxes are told apart.
func TestEffectsAreSumsOfWhatYardsWereOff(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		outfit
		off float64
	}{{outfit{4, 3, 0.3, 0.1, 1, 0, 0}, 0.002}, {outfit{12, 5, 0.2, 0.2, 0.6, 0, 0}, 0.002}, {outfit{24, 8, 0.1, 0.25, 0.7, -0.05, 0.1}, 0.002}} {
		r := rand.New(rand.NewPCG(20, uint64(c.yards)))
		for range 10 {
			a, _ := c.generate(r)
			p := a.Plan()
			if !p.Told {
				continue
			}
			effects, ordinary := p.Linear().reckon(a)
			if math.Abs(ordinary/p.OrdinaryKg-1) > c.off {
				t.Errorf("%+v: the average yard gives %v, reckoned %v", c, p.OrdinaryKg, ordinary)
			}
			for i, y := range p.Proposals {
				if off := effects[i] - y.Effect.Kg/p.OrdinaryKg; math.Abs(off) > c.off {
					t.Errorf("%+v: %s gives %.4f beside the average yard, reckoned %.4f", c, y.Name, y.Effect.Kg/p.OrdinaryKg, effects[i])
				}
			}
		}
	}
}
