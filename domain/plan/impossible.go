package plan

import (
	"math"

	"pullbook/domain/optimum"
)

// Impossible says why no blend is what is asked for.
type Impossible struct {
	// HaveKg is the honey that may go in; TooLittle says that it is less than is wanted, that
	// whole containers do not come to between the two masses, or that the shares and the number of
	// sources already keep every blend away.
	HaveKg    float64
	TooLittle bool
	// Alone are the limits of which one alone would have to change, and Together all that
	// would have to change at once where none does alone.
	Alone, Together []Change
	// Unknown says that the time was over before it was known.
	Unknown bool
}

// Change is where the end of a limit would have to be for a blend to keep to it.
type Change struct {
	Limit Limit
	Upper bool
	To    float64
}

// near is what changes of a limit are told to, as a share of the limit.
const near = 1e-4

// whyNot finds what keeps a blend from being made.
func (s *Spec) whyNot(stock []Stock, left func() optimum.Effort) (*Impossible, error) {
	out := &Impossible{}
	for i := range stock {
		out.HaveKg += stock[i].Kg
	}
	free := *s
	free.Limits, free.Weights = nil, Weights{}
	f, err := free.search(stock, aim{}, left())
	if err != nil {
		return nil, err
	}
	if f.kg == nil {
		out.TooLittle, out.Unknown = !f.stopped, f.stopped
		return out, nil
	}
	rows := s.rowsOf(stock)
	for i := range rows {
		change, ok, err := s.alone(stock, rows, i, left())
		if err != nil {
			return nil, err
		}
		if ok {
			out.Alone = append(out.Alone, change)
		}
	}
	if len(out.Alone) == 0 {
		out.Together, err = s.together(stock, rows, left())
	}
	return out, err
}

// alone finds how far one row would have to give way where all others stay: the blend that is
// least beyond it per kilogram. Its mass is not fixed, so that the best is found by Dinkelbach's
// steps (1967, from memory): each search makes beyond - ratio x mass small, with the ratio of the
// blend before.
func (s *Spec) alone(stock []Stock, rows []mixRow, which int, most optimum.Effort) (Change, bool, error) {
	r := &rows[which]
	size := max(1e-3, math.Abs(r.at))
	most.Within = near * size * s.LeastKg
	ratio, best := 0.0, math.Inf(1)
	for range mostRatios {
		f, err := s.search(stock, aim{give: map[int]float64{which: 1}, least: math.Inf(-1), ratio: ratio}, most)
		if err != nil || f.kg == nil {
			return Change{}, false, err
		}
		next := r.beyond(f.kg) / sum(f.kg)
		if next >= best-near*size {
			break
		}
		ratio, best = next, next
	}
	return r.change(s, best), true, nil
}

const mostRatios = 8

// change is the row's end moved outwards.
func (r *mixRow) change(s *Spec, by float64) Change {
	to := r.at + by
	if !r.upper {
		to = r.at - by
	}
	return Change{Limit: s.Limits[r.limit], Upper: r.upper, To: r.scale.back(max(0, to))}
}

// together finds by how much all rows would have to give way, each counted against its own end.
func (s *Spec) together(stock []Stock, rows []mixRow, most optimum.Effort) ([]Change, error) {
	a := aim{give: map[int]float64{}}
	for i := range rows {
		a.give[i] = 1 / (max(1e-3, math.Abs(rows[i].at)) * s.LeastKg)
	}
	most.Within = near
	f, err := s.search(stock, a, most)
	if err != nil || f.kg == nil {
		return nil, err
	}
	var out []Change
	for i := range rows {
		if by := rows[i].beyond(f.kg) / sum(f.kg); by > slack*max(1, math.Abs(rows[i].at)) {
			out = append(out, rows[i].change(s, by))
		}
	}
	return out, nil
}
