package plan

import (
	"math"
	"reflect"
	"slices"

	"pullbook/domain/optimum"
)

// A blend is searched for in two steps, over and over: which sources, where containers may be
// parted, and then which whole containers of those. The first has few choices and bounds every
// blend from below; the second has few containers. What the second has looked into the first
// leaves out, and the search ends once nothing that is left can be better.

// mostSteps bounds how often sources are chosen, and how often tangents are added to a program.
const mostSteps = 500

// slack is by how much a row may be broken, as a share of its end and per kilogram of the blend: the
// probability is then off by less than a thousandth. A rough model bounds what follows and is not
// looked into so finely.
const (
	slack      = 1e-6
	roughSlack = 1e-4
)

// found is what a search came to.
type found struct {
	// kg are the masses by stock, nil where there is no blend or none was found in time. gives is
	// by how much each row is broken that may be.
	kg          []float64
	gives       map[int]float64
	sources     []string
	cost, bound float64
	// stopped says that the time was over.
	stopped bool
}

// search finds the cheapest blend of some stock, or one that no other is cheaper than by more than
// most.Within.
func (s *Spec) search(stock []Stock, a aim, most optimum.Effort) (found, error) {
	return s.searchIn(newRough(s, stock, a), stock, a, nil, most)
}

func newRough(s *Spec, stock []Stock, a aim) *model {
	m := newModel(s, parted(stock), a, nil)
	m.rough = true
	return m
}

// searchIn is search over a rough model, to which it adds tangents, of blends without one at least of
// the sources of each list in without.
func (s *Spec) searchIn(roughly *model, stock []Stock, a aim, without [][]string, most optimum.Effort) (found, error) {
	best := found{cost: math.Inf(1), bound: math.Inf(1)}
	step := most
	step.Within /= 2 // what both steps may be off comes to the whole
	left := step.Left()
	defer roughly.afresh()
	for range mostSteps {
		r, err := roughly.solve(left())
		if err != nil {
			return best, err
		}
		best.stopped = best.stopped || r.stopped
		if r.kg == nil || r.bound >= best.cost-most.Within {
			best.bound = min(best.bound, r.bound)
			break
		}
		of := ofSources(stock, r.sources)
		exactly := newModel(s, pick(stock, of), a, without)
		e, err := exactly.solve(left())
		if err != nil {
			return best, err
		}
		if e.kg != nil && e.cost < best.cost {
			best.kg, best.gives, best.sources, best.cost = spread(e.kg, of, len(stock)), e.gives, e.sources, e.cost
		}
		best.bound, best.stopped = min(best.bound, max(e.bound, r.bound)), best.stopped || e.stopped
		if e.stopped {
			best.bound = min(best.bound, r.bound)
			break
		}
		if !roughly.another(r.sources) {
			break
		}
	}
	best.bound = min(best.bound, best.cost)
	return best, nil
}

// parted is the stock of which any part may go: containers that are alike but for their mass and age
// are one, as old as the oldest. How far a container may be off by itself is left out. Both only
// make blends cheaper, so that what bounds them here bounds them.
func parted(stock []Stock) (out []Stock) {
	place, uses := map[string][]int{}, usesOf(stock)
	for _, s := range stock {
		s.Part, s.Figures = true, shared(s.Figures, uses)
		i := alikeAmong(out, place[s.Source], &s)
		if i >= 0 {
			out[i].Kg += s.Kg
			if s.Since.Before(out[i].Since) {
				out[i].Since = s.Since
			}
			continue
		}
		place[s.Source] = append(place[s.Source], len(out))
		out = append(out, s)
	}
	return out
}

// usesOf counts how many containers and tanks have each key of a spread.
func usesOf(stock []Stock) map[string]int {
	uses, last := map[string]int{}, map[string]int{}
	for i := range stock {
		for _, f := range stock[i].Figures {
			for _, e := range f.Errors {
				if seen, ok := last[e.Key]; !ok || seen != i {
					uses[e.Key]++
					last[e.Key] = i
				}
			}
		}
	}
	return uses
}

// shared are figures with those spreads alone that more than one container has.
func shared(figures map[string]Figure, uses map[string]int) map[string]Figure {
	out := make(map[string]Figure, len(figures))
	for parameter, f := range figures {
		f.Errors = slices.DeleteFunc(slices.Clone(f.Errors), func(e Spread) bool { return uses[e.Key] < 2 })
		out[parameter] = f
	}
	return out
}

// alikeAmong is the first place among some of a stock whose honey is as another's; -1 where none is.
// Which of them is older only lowers what the whole costs.
func alikeAmong(stock []Stock, places []int, other *Stock) int {
	for _, i := range places {
		if reflect.DeepEqual(stock[i].Figures, other.Figures) && reflect.DeepEqual(stock[i].Declares, other.Declares) && reflect.DeepEqual(stock[i].Origins, other.Origins) {
			return i
		}
	}
	return -1
}

// ofSources are the places of the stock that is of some sources.
func ofSources(stock []Stock, sources []string) (out []int) {
	for i := range stock {
		if slices.Contains(sources, stock[i].Source) {
			out = append(out, i)
		}
	}
	return out
}

func pick(stock []Stock, places []int) (out []Stock) {
	for _, i := range places {
		out = append(out, stock[i])
	}
	return out
}

// spread puts masses back at their places among n.
func spread(kg []float64, places []int, n int) []float64 {
	out := make([]float64, n)
	for i, place := range places {
		out[place] = kg[i]
	}
	return out
}

// solve finds the cheapest blend of the model. Tangents are added until the blend breaks no cone: first
// where everything may be parted, which is quick, and then to the program itself. No blend is lost
// by them. A rough model is left with what it breaks: its bound holds all the same, and the next
// search in it knows the tangents.
func (m *model) solve(most optimum.Effort) (found, error) {
	left := most.Left()
	loose := optimum.Problem{Variables: slices.Clone(m.Variables)}
	for i := range loose.Variables {
		loose.Variables[i].Whole = false
	}
	for range mostSteps {
		loose.Limits = m.Limits
		s, err := optimum.Solve(&loose, left())
		if err != nil {
			return found{}, err
		}
		if s.Outcome == optimum.Impossible {
			return none, nil
		}
		if !s.Found || !m.cut(s.At) {
			break
		}
	}
	bound := math.Inf(-1)
	for range mostSteps {
		s, err := optimum.Solve(&m.Problem, left())
		if err != nil {
			return found{}, err
		}
		if s.Outcome == optimum.Impossible {
			return none, nil
		}
		bound = max(bound, s.Bound)
		if s.Found && (!m.cut(s.At) || m.rough) {
			return m.found(s, bound), nil
		}
		if s.Outcome == optimum.Stopped {
			break
		}
	}
	return found{cost: math.Inf(1), bound: bound, stopped: true}, nil
}

// none is that there is no blend.
var none = found{cost: math.Inf(1), bound: math.Inf(1)}

func (m *model) found(s *optimum.Solution, bound float64) found {
	out := found{kg: m.kg(s.At), gives: map[int]float64{}, cost: s.Cost, bound: bound, stopped: s.Outcome == optimum.Stopped}
	for row, give := range m.gives {
		out.gives[row] = s.At[give]
	}
	for _, name := range m.sources {
		if s.At[m.goes[name]] > 0.5 {
			out.sources = append(out.sources, name)
		}
	}
	return out
}

// another makes the next choice of sources take one at least that is not among these; false where
// there is none.
func (m *model) another(sources []string) bool {
	rest := slices.DeleteFunc(slices.Clone(m.sources), func(name string) bool { return slices.Contains(sources, name) })
	if len(rest) == 0 {
		return false
	}
	m.lookedInto = append(m.lookedInto, m.Keep(1, math.Inf(1), m.of(rest)...))
	return true
}

// afresh forgets which sources were looked into.
func (m *model) afresh() {
	for _, i := range m.lookedInto {
		m.Limits[i].Low = math.Inf(-1)
	}
	m.lookedInto = nil
}

// cut adds the tangents that a solution breaks, and reports whether it breaks any.
func (m *model) cut(at []float64) bool {
	kg, broken, let := m.kg(at), false, slack
	if m.rough {
		let = roughSlack
	}
	total := sum(kg)
	for i := range m.rows {
		r := &m.rows[i]
		beyond := r.beyond(kg)
		if give, gives := m.gives[i]; gives {
			beyond -= at[give]
		}
		if beyond > let*total*max(1, math.Abs(r.at)) {
			m.keepRow(i, r.tangent(kg))
			broken = true
		}
	}
	return broken
}

func sum(kg []float64) (total float64) {
	for _, x := range kg {
		total += x
	}
	return total
}
