package plan

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// mixRow is one end of a limit: the stock's masses x have to keep to
//
//	mean·x + z S(x) <= 0,   S(x)^2 = sum over keys of (spread·x)^2
//
// where mean is by how much each stock is beyond the limit, and S how far the mix may be off,
// times its mass. That is P(the mix is within) >= the probability that z belongs to, where what
// is not known is normally distributed (a second-order cone; Charnes and Cooper 1959, from
// memory). S is convex, so that its tangents bound it from below: the search adds those that a
// blend breaks until none is broken.
type mixRow struct {
	limit int // its place in the spec
	upper bool
	at    float64 // the end, on the parameter's scale
	scale scale
	z     float64
	mean  []float64
	keys  []string
	// spread is by key, of the stock that has the key.
	spread map[string][]stockSpread
}

// stockSpread is how far the figure of a stock, by its place, may be off by one key, on the parameter's
// scale.
type stockSpread struct {
	stock int
	sd    float64
}

// rowsOf are the ends of the limits that mix.
func (s *Spec) rowsOf(stock []Stock) []mixRow {
	z := distuv.UnitNormal.Quantile(s.Probability)
	var rows []mixRow
	for i, l := range s.Limits {
		sc, mixes := scales[l.Parameter]
		if !mixes {
			continue
		}
		if l.High != nil {
			rows = append(rows, newRow(i, true, *l.High, sc, z, l.Parameter, stock))
		}
		if l.Low != nil && *l.Low > 0 { // nothing has less than nothing
			rows = append(rows, newRow(i, false, *l.Low, sc, z, l.Parameter, stock))
		}
	}
	return rows
}

func newRow(limit int, upper bool, at float64, sc scale, z float64, parameter string, stock []Stock) mixRow {
	r := mixRow{limit: limit, upper: upper, at: sc.on(at), scale: sc, z: z, mean: make([]float64, len(stock)), spread: map[string][]stockSpread{}}
	sign := 1.0
	if !upper {
		sign = -1
	}
	for i := range stock {
		f := stock[i].Figures[parameter]
		r.mean[i] = sign * (sc.on(f.Mean) - r.at)
		off := ErrorsOnScale(parameter, f)
		for _, e := range f.Errors {
			sd, first := off[e.Key]
			if !first {
				continue // its part is in the first of its key
			}
			delete(off, e.Key)
			if r.spread[e.Key] == nil {
				r.keys = append(r.keys, e.Key)
			}
			r.spread[e.Key] = append(r.spread[e.Key], stockSpread{i, sd})
		}
	}
	return r
}

// off is S(x), and by key what it is made of.
func (r *mixRow) off(kg []float64) (s float64, byKey []float64) {
	byKey = make([]float64, len(r.keys))
	for k, key := range r.keys {
		for _, x := range r.spread[key] {
			byKey[k] += x.sd * kg[x.stock]
		}
		s = math.Hypot(s, byKey[k])
	}
	return s, byKey
}

// beyond is by how much a blend is beyond the limit, times its mass; at or below 0 it keeps to it.
func (r *mixRow) beyond(kg []float64) float64 {
	s, _ := r.off(kg)
	return r.means(kg) + r.z*s
}

func (r *mixRow) means(kg []float64) (sum float64) {
	for i, m := range r.mean {
		sum += m * kg[i]
	}
	return sum
}

// tangent is the row with S replaced by its tangent at a blend: by stock, what a kilogram adds.
func (r *mixRow) tangent(kg []float64) []float64 {
	out := append([]float64(nil), r.mean...)
	s, byKey := r.off(kg)
	if s == 0 {
		return out
	}
	for k, key := range r.keys {
		for _, x := range r.spread[key] {
			out[x.stock] += r.z * x.sd * byKey[k] / s
		}
	}
	return out
}
