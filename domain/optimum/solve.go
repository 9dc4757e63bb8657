package optimum

import (
	"fmt"
	"math"
)

// Outcome says what a search came to.
type Outcome int

const (
	// Best: nothing keeps to the limits that is cheaper by more than Within.
	Best Outcome = iota
	// Stopped: the time was over. A choice may have been found; Bound says how much cheaper
	// the best may be.
	Stopped
	// Impossible: no choice keeps to all limits.
	Impossible
	// Endless: it may be made as cheap as one likes.
	Endless
)

// Effort bounds a search.
type Effort struct {
	// Seconds is how long may be searched; 0 is without end.
	Seconds float64
	// Within is how much cheaper the best may yet be than what is called Best; 0 is a millionth.
	Within float64
	// Clock tells the seconds since some moment. Without one no time passes.
	Clock func() float64
}

// Left is what is left of an effort, from now on.
func (e Effort) Left() func() Effort {
	if e.Seconds == 0 || e.Clock == nil {
		return func() Effort { return e }
	}
	end := e.Clock() + e.Seconds
	return func() Effort {
		left := e
		left.Seconds = max(0.01, end-e.Clock())
		return left
	}
}

// Solution is what a search found.
type Solution struct {
	Outcome Outcome
	// Found says that At keeps to all limits, to a millionth.
	Found bool
	At    []float64
	Cost  float64
	// Bound is what no choice is cheaper than.
	Bound float64
	// Worth is, by limit, by how much the cost changes with each unit that the limit's end
	// moves up: its dual. It is nil where something is chosen in whole numbers.
	Worth []float64
}

// Gap is how much cheaper the best may be, as a share of the cost; 0 where it is proved,
// infinite where nothing was found.
func (s *Solution) Gap() float64 {
	switch {
	case !s.Found:
		return math.Inf(1)
	case s.Cost == s.Bound:
		return 0
	}
	return max(0, s.Cost-s.Bound) / max(math.Abs(s.Cost), 1e-9)
}

// Solve searches for the cheapest choice. The same problem without a limit of time gives
// the same solution. It fails where the problem is too large or no problem, and where the
// solver breaks down.
func Solve(p *Problem, most Effort) (*Solution, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	if len(p.Variables) == 0 {
		return nothing(p), nil
	}
	s, err := newSolver(most.Clock)
	if err != nil {
		return nil, err
	}
	defer s.close()
	return s.solve(p, most)
}

// nothing is the solution of a problem without variables.
func nothing(p *Problem) *Solution {
	for _, l := range p.Limits {
		if l.Low > 0 || l.High < 0 {
			return &Solution{Outcome: Impossible}
		}
	}
	return &Solution{Found: true, At: []float64{}, Worth: make([]float64, len(p.Limits))}
}

// HiGHS's names of what a model's search came to (HighsModelStatus).
const (
	statusOptimal               = 7
	statusInfeasible            = 8
	statusUnboundedOrInfeasible = 9
	statusUnbounded             = 10
	statusTimeLimit             = 13
)

func (s *solver) solve(p *Problem, most Effort) (out *Solution, err error) {
	defer func() {
		if r := recover(); r != nil {
			if broken, ok := r.(brokenDown); ok {
				out, err = nil, fmt.Errorf("optimum: %w", broken.error)
				return
			}
			panic(r)
		}
	}()
	s.option("output_flag", false)
	s.option("threads", 1)
	s.option("presolve", "off") // a blend has little that could be left out: with it all takes longer
	within := most.Within
	if within == 0 {
		within = 1e-6
	}
	s.option("mip_rel_gap", 0.0)
	s.option("mip_abs_gap", within)
	if most.Seconds > 0 {
		s.option("time_limit", most.Seconds)
	}
	s.pass(p)
	s.call(fnRun, s.highs)
	out = &Solution{}
	switch status := s.call(fnStatus, s.highs); status {
	case statusOptimal:
		out.Outcome, out.Found = Best, true
	case statusTimeLimit:
		out.Outcome, out.Found = Stopped, s.info("primal_solution_status") == primalFeasible
	case statusInfeasible:
		out.Outcome = Impossible
	case statusUnbounded:
		out.Outcome = Endless
	case statusUnboundedOrInfeasible:
		return s.whichOfBoth(p, most)
	default:
		return nil, fmt.Errorf("optimum: the solver ended with status %d", status)
	}
	s.read(p, out)
	return out, nil
}

// whichOfBoth tells a problem without end from one without a choice: without costs only the
// latter stays without solution.
func (s *solver) whichOfBoth(p *Problem, most Effort) (*Solution, error) {
	free := Problem{Limits: p.Limits, Variables: make([]Variable, len(p.Variables))}
	for i, v := range p.Variables {
		v.Cost = 0
		free.Variables[i] = v
	}
	out, err := Solve(&free, most)
	if err != nil || !out.Found {
		return out, err
	}
	return &Solution{Outcome: Endless}, nil
}

// read takes what was found out of the solver.
func (s *solver) read(p *Problem, out *Solution) {
	out.Bound = math.Inf(-1)
	whole := p.whole()
	if whole {
		out.Bound = s.double("mip_dual_bound")
	}
	if !out.Found {
		return
	}
	out.Cost = s.callFloat(fnCost, s.highs)
	n, m := len(p.Variables), len(p.Limits)
	at, reduced, rows, worth := s.room(n), s.room(n), s.room(m), s.room(m)
	s.call(fnSolution, s.highs, at, reduced, rows, worth)
	out.At = s.floats(at, n)
	for i, v := range p.Variables {
		if v.Whole {
			out.At[i] = math.Round(out.At[i])
		}
	}
	if !whole {
		out.Worth = s.floats(worth, m)
		if out.Outcome == Best {
			out.Bound = out.Cost
		}
	}
}
