package mixed

import "math"

// Method is a criterion by which a model is fitted.
type Method int

const (
	// REML counts the fixed effects as taken from the data: variances are not too small by them.
	REML Method = iota
	// ML makes the likelihood of the data the largest. Models with different fixed effects may be
	// compared by it.
	ML
)

// solved is a model at given ratios: Henderson's equations as a triangle.
type solved struct {
	*Model
	theta []float64
	// root is, for each level of the first grouping, the triangle of its own equations, and
	// beside its products with the rest, solved by that triangle.
	root   [][3]float64
	beside [][2][]float64
	// upper is the triangle of the rest, above the diagonal and on it.
	upper [][]float64
	// logDet is of the random effects, logFixed of the fixed ones.
	logDet, logFixed float64
	// left is the penalised sum of squares.
	left float64
}

// ratios is how many ratios a model has: of standard deviations to the residual one; with a slope
// the three of a lower triangle.
func (m *Model) ratios() int {
	n := 1
	if m.terms == 2 {
		n = 3
	}
	if m.second > 0 {
		n++
	}
	return n
}

// factor is the lower triangle by which the effects of a level of the first grouping are spread.
func (m *Model) factor(theta []float64) (a, b, c float64) {
	if m.terms == 2 {
		return theta[0], theta[1], theta[2]
	}
	return theta[0], 0, 0
}

// solve puts the equations up at given ratios and solves them; nil where they have no solution to
// the digits of a float.
func (m *Model) solve(theta []float64) *solved {
	s := &solved{Model: m, theta: theta, upper: make([][]float64, len(m.rest)), root: make([][3]float64, len(m.own)), beside: make([][2][]float64, len(m.own))}
	scale := 1.0
	if m.second > 0 {
		scale = theta[len(theta)-1]
	}
	by := func(i int) float64 {
		if i < m.second {
			return scale
		}
		return 1
	}
	for i := range m.rest {
		s.upper[i] = make([]float64, len(m.rest))
		for j := i; j < len(m.rest); j++ {
			s.upper[i][j] = m.rest[i][j] * by(i) * by(j)
		}
		if i < m.second {
			s.upper[i][i]++
		}
	}
	for g := range m.own {
		s.eliminate(g, by)
	}
	if !s.decompose() {
		return nil
	}
	return s
}

// eliminate takes a level of the first grouping out of the equations.
func (s *solved) eliminate(g int, by func(int) float64) {
	a, b, c := s.factor(s.theta)
	xx, xz, zz := s.own[g][0], s.own[g][1], s.own[g][2]
	// The level's own equations: the factor's transpose, the squares, the factor, and one.
	r0 := math.Sqrt(a*a*xx + 2*a*b*xz + b*b*zz + 1)
	r1 := c * (a*xz + b*zz) / r0
	r2 := 1.0
	if s.terms == 2 {
		r2 = math.Sqrt(c*c*zz + 1 - r1*r1)
	}
	s.root[g] = [3]float64{r0, r1, r2}
	s.logDet += 2 * (math.Log(r0) + math.Log(r2))
	for t := range s.terms {
		s.beside[g][t] = make([]float64, len(s.rest))
	}
	for i := range s.rest {
		x, z := s.Model.beside[g][0][i]*by(i), 0.0
		if s.terms == 2 {
			z = s.Model.beside[g][1][i] * by(i)
			s.beside[g][0][i] = (a*x + b*z) / r0
			s.beside[g][1][i] = (c*z - r1*s.beside[g][0][i]) / r2
			continue
		}
		s.beside[g][0][i] = a * x / r0
	}
	for t := range s.terms {
		v := s.beside[g][t]
		for i, x := range v {
			if x == 0 {
				continue
			}
			row := s.upper[i]
			for j := i; j < len(v); j++ {
				row[j] -= x * v[j]
			}
		}
	}
}

// decompose makes upper the triangle whose square it was (Cholesky).
func (s *solved) decompose() bool {
	for i, row := range s.upper {
		pivot := row[i]
		if !(pivot > 0) {
			return false
		}
		switch {
		case i < s.second:
			s.logDet += math.Log(pivot)
		case i < s.second+s.fixed:
			s.logFixed += math.Log(pivot) + 2*math.Log(s.triangle[i-s.second][i-s.second])
		default:
			s.left = pivot
		}
		root := math.Sqrt(pivot)
		for j := i; j < len(row); j++ {
			row[j] /= root
		}
		for k := i + 1; k < len(row); k++ {
			for j := k; j < len(row); j++ {
				s.upper[k][j] -= row[k] * row[j]
			}
		}
	}
	return true
}

// freedom is what the residual variance is a mean over.
func (m *Model) freedom(by Method) float64 {
	if by == REML {
		return float64(m.observations - m.fixed)
	}
	return float64(m.observations)
}

// criterion is minus two times the logarithm of the likelihood, the larger the worse.
func (m *Model) criterion(by Method, theta []float64) float64 {
	s := m.solve(theta)
	if s == nil {
		return math.Inf(1)
	}
	return s.criterion(by)
}

func (s *solved) criterion(by Method) float64 {
	n := s.freedom(by)
	out := s.logDet - s.logWeights + n*(1+math.Log(2*math.Pi*s.left/n))
	if by == REML {
		out += s.logFixed
	}
	return out
}
