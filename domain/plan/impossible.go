package plan

import (
	"math"
	"slices"

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
	// Buy is the least honey that would have to be bought; nil where none would do.
	Buy *Purchase
	// Unknown says that the time was over before it was known.
	Unknown bool
}

// Purchase is honey that would have to be bought, so that a blend of it and of what is here keeps
// to everything. Each limit has room of a tenth in it.
type Purchase struct {
	Kg   float64
	Is   []Bought
	Each []Share
}

// Bought is a figure that bought honey has.
type Bought struct {
	Parameter string
	Figure    float64
}

// Change is where the end of a limit would have to be for a blend to keep to it.
type Change struct {
	Limit Limit
	Upper bool
	To    float64
}

// near is what changes of a limit are told to, as a share of the limit.
const near = 1e-4

// whyNot finds what keeps a blend from being made, and what would make one.
func (s *Spec) whyNot(stock []Stock, left func() optimum.Effort) (*Impossible, error) {
	out, err := s.binding(stock, left)
	if err == nil {
		out.Buy, err = s.buy(stock, left())
	}
	return out, err
}

// binding finds what keeps a blend from being made.
func (s *Spec) binding(stock []Stock, left func() optimum.Effort) (*Impossible, error) {
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

// boughtSource is what honey that is not here yet is called.
const boughtSource = "bought"

// buy finds the least honey that would have to be bought.
func (s *Spec) buy(stock []Stock, most optimum.Effort) (*Purchase, error) {
	out := &Purchase{}
	bought := Stock{Name: boughtSource, Source: boughtSource, Part: true, Kg: s.MostKg, Since: s.Now, Figures: map[string]Figure{}, Declares: map[string][]string{}}
	for i := range s.Limits {
		parameter := s.Limits[i].Parameter
		if _, mixes := scales[parameter]; !mixes || bought.Figures[parameter].Errors != nil {
			continue
		}
		v := s.wellWithin(parameter)
		bought.Figures[parameter] = Figure{Mean: v, Errors: []Spread{{boughtSource, usualSD(parameter, v)}}}
		out.Is = append(out.Is, Bought{parameter, v})
	}
	for _, share := range s.Shares {
		if share.Attribute != "" && share.Least > 0 {
			bought.Declares[share.Attribute] = append(bought.Declares[share.Attribute], share.Value)
			out.Each = append(out.Each, share)
		}
	}
	most.Within = proved
	f, err := s.search(append(slices.Clone(stock), bought), aim{buys: boughtSource}, most)
	if err != nil || f.kg == nil {
		return nil, err
	}
	out.Kg = f.kg[len(stock)]
	return out, nil
}

// wellWithin is a figure that keeps to all limits of a parameter with room of a tenth, or lies in
// their middle.
func (s *Spec) wellWithin(parameter string) float64 {
	var low, high *float64
	for _, l := range s.Limits {
		if l.Parameter == parameter {
			low, high = tighter(low, l.Low, math.Max), tighter(high, l.High, math.Min)
		}
	}
	switch {
	case low == nil || *low <= 0 && high != nil:
		return 0.9 * *high
	case high == nil:
		return 1.1 * *low
	}
	return (*low + *high) / 2
}
