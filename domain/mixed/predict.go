package mixed

import "math"

// At is the model at given ratios: one for each grouping, and with a slope the lower triangle of the
// first, row by row. It is nil where a ratio is so large that the equations have no solution.
func (m *Model) At(by Method, ratios []float64) *Fit {
	s := m.solve(ratios)
	if s == nil {
		return nil
	}
	f := &Fit{Criterion: s.criterion(by), Residual: s.left / s.freedom(by), Ratios: ratios}
	rest := s.backward()
	all, groups := s.inverted(s.second+s.fixed), s.inverted(s.second)
	along := s.ofX(rest[s.second:])
	for j := range m.fixed {
		f.Fixed = append(f.Fixed, Estimate{m.leastSquares[j] + along[j], math.Sqrt(f.Residual * quadratic(all, m.inverse[j], m.second))})
	}
	f.Groupings = append(f.Groupings, s.first(f.Residual, rest, all, groups))
	if m.second > 0 {
		ratio := ratios[len(ratios)-1]
		second := Spread{Variance: f.Residual * ratio * ratio}
		for l := range m.second {
			second.Effects = append(second.Effects, Effect{
				Value: ratio * rest[l], SD: ratio * math.Sqrt(f.Residual*groups[l][l]), ErrorSD: ratio * math.Sqrt(f.Residual*all[l][l]),
			})
		}
		f.Groupings = append(f.Groupings, second)
	}
	return f
}

// backward solves the triangle for the second grouping and the fixed effects.
func (s *solved) backward() []float64 {
	n := s.second + s.fixed
	out := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		out[i] = s.upper[i][n]
		for j := i + 1; j < n; j++ {
			out[i] -= s.upper[i][j] * out[j]
		}
		out[i] /= s.upper[i][i]
	}
	return out
}

// inverted is the inverse of the first n equations of the rest, the others being known.
func (s *solved) inverted(n int) [][]float64 {
	// The columns of the triangle's inverse, which is a triangle itself.
	columns := make([][]float64, n)
	for k := range columns {
		c := make([]float64, n)
		c[k] = 1 / s.upper[k][k]
		for i := k - 1; i >= 0; i-- {
			for j := i + 1; j <= k; j++ {
				c[i] -= s.upper[i][j] * c[j]
			}
			c[i] /= s.upper[i][i]
		}
		columns[k] = c
	}
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
		for j := range out[i] {
			for k := max(i, j); k < n; k++ {
				out[i][j] += columns[k][i] * columns[k][j]
			}
		}
	}
	return out
}

// quadratic is v times a matrix times v, v beginning at row from.
func quadratic(matrix [][]float64, v []float64, from int) (sum float64) {
	for i, a := range v {
		if a == 0 {
			continue
		}
		for j, b := range v {
			sum += a * b * matrix[from+i][from+j]
		}
	}
	return sum
}

// first predicts the levels of the first grouping.
func (s *solved) first(residual float64, rest []float64, all, groups [][]float64) Spread {
	a, b, c := s.factor(s.theta)
	out := Spread{Variance: residual * a * a}
	if s.terms == 2 {
		out.SlopeVariance = residual * (b*b + c*c)
		if a != 0 && b*b+c*c > 0 {
			out.Correlation = b / math.Hypot(b, c)
		}
	}
	n := s.second + s.fixed
	var weighs [][]float64
	for g := range s.own {
		u, weigh := s.level(g, rest, n)
		sd := func(inverse [][]float64, of [2]float64) float64 {
			return math.Sqrt(residual * s.variance(g, of, weigh, inverse))
		}
		effect := [2]float64{a, 0}
		out.Effects = append(out.Effects, Effect{Value: a * u[0], SD: sd(groups, effect), ErrorSD: sd(all, effect)})
		if s.terms == 2 {
			slope := [2]float64{b, c}
			out.Slopes = append(out.Slopes, Effect{Value: b*u[0] + c*u[1], SD: sd(groups, slope), ErrorSD: sd(all, slope)})
		}
		weighs = append(weighs, weigh[0])
	}
	if s.terms == 1 {
		s.beyond(out.Effects, residual*a*a, weighs, all)
	}
	return out
}

// beyond works out effects beside the mean of all levels.
func (s *solved) beyond(effects []Effect, variance float64, weighs [][]float64, all [][]float64) {
	n := float64(len(effects))
	mean, own, weigh := 0.0, 0.0, make([]float64, len(all))
	for g, e := range effects {
		mean += e.Value / n
		own += 1 / (s.root[g][0] * s.root[g][0])
		for i, w := range weighs[g] {
			weigh[i] += w / n
		}
	}
	for g := range effects {
		less := make([]float64, len(weigh))
		for i := range less {
			less[i] = weighs[g][i] - weigh[i]
		}
		of := (1-2/n)/(s.root[g][0]*s.root[g][0]) + own/(n*n) + quadratic(all, less, 0)
		effects[g].Beside, effects[g].BesideSD = effects[g].Value-mean, math.Sqrt(variance*of)
	}
}

// level solves the equations of one level, and says how what it comes to hangs on the rest.
func (s *solved) level(g int, rest []float64, n int) (u [2]float64, weigh [2][]float64) {
	r := s.root[g]
	solve := func(x, z float64) [2]float64 {
		second := z / r[2]
		return [2]float64{(x - r[1]*second) / r[0], second}
	}
	v := [2]float64{}
	for t := range s.terms {
		v[t] = s.beside[g][t][n] - dot(s.beside[g][t][:n], rest)
		weigh[t] = make([]float64, n)
	}
	u = solve(v[0], v[1])
	for i := range n {
		z := 0.0
		if s.terms == 2 {
			z = s.beside[g][1][i]
		}
		w := solve(s.beside[g][0][i], z)
		for t := range s.terms {
			weigh[t][i] = w[t]
		}
	}
	return u, weigh
}

// variance is that of a sum of a level's two effects, over the residual variance.
func (s *solved) variance(g int, of [2]float64, weigh [2][]float64, inverse [][]float64) float64 {
	r := s.root[g]
	// The inverse of the level's own equations is that of its triangle, squared.
	x := of[0] / r[0]
	z := (of[1] - r[1]*x) / r[2]
	own := x*x + z*z
	combined := make([]float64, len(inverse))
	for i := range combined {
		for t := range s.terms {
			combined[i] += of[t] * weigh[t][i]
		}
	}
	return own + quadratic(inverse, combined, 0)
}
