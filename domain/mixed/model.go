package mixed

import (
	"errors"
	"fmt"
	"math"
)

// Data is what a model is fitted to.
type Data struct {
	// Y are the observations, X has a row of fixed effects for each of them.
	Y []float64
	X [][]float64
	// Weights are how precise the observations are beside one another: the residual variance of
	// one is Fit.Residual over its weight. Nil counts all alike.
	Weights []float64
	// Groupings are one or two. The second has no Slope.
	Groupings []Grouping
}

// Grouping says of each observation which level it belongs to.
type Grouping struct {
	// Level is from 0 to Levels - 1.
	Level  []int
	Levels int
	// Slope, where it is not nil, has a second effect for each level, times this figure of the
	// observation. The two effects of a level may go together.
	Slope []float64
}

// Errors of data that no model can be fitted to.
var (
	// ErrRank says that fixed effects cannot be told apart.
	ErrRank = errors.New("mixed: some fixed effects are sums of others")
	// ErrFew says that no more observations are there than fixed effects.
	ErrFew = errors.New("mixed: not more observations than fixed effects")
	// ErrExact says that fixed effects alone give every observation, so that no chance is left.
	ErrExact = errors.New("mixed: the fixed effects leave nothing to chance")
)

// Model is a model that is ready to be fitted. The first grouping is eliminated level by level,
// which is quick however many levels it has; what is left has a dense matrix.
type Model struct {
	observations, fixed int
	terms               int // of each level of the first grouping: 1, or 2 with a slope
	second              int // levels of the second grouping
	// own are the weighted squares of each level of the first grouping, beside its products with
	// the rest: the second grouping, the fixed effects made orthonormal, and y less its least squares.
	own    [][3]float64
	beside [][2][]float64
	rest   [][]float64
	// triangle, its inverse and leastSquares lead from the orthonormal effects to those of X.
	triangle, inverse [][]float64
	leastSquares      []float64
	logWeights        float64
}

// New takes up data. It fails where they do not fit together, and with ErrRank, ErrFew or ErrExact.
func New(d Data) (*Model, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	m := &Model{observations: len(d.Y), fixed: len(d.X[0]), terms: 1}
	root := make([]float64, len(d.Y))
	for i := range root {
		root[i] = 1
		if d.Weights != nil {
			root[i] = math.Sqrt(d.Weights[i])
			m.logWeights += math.Log(d.Weights[i])
		}
	}
	columns, y, err := m.orthonormal(&d, root)
	if err != nil {
		return nil, err
	}
	if len(d.Groupings) > 1 {
		m.second = d.Groupings[1].Levels
	}
	if d.Groupings[0].Slope != nil {
		m.terms = 2
	}
	m.multiply(&d, root, append(columns, y))
	return m, nil
}

func (d *Data) check() error {
	n := len(d.Y)
	switch {
	case len(d.X) != n || d.Weights != nil && len(d.Weights) != n:
		return fmt.Errorf("mixed: %d observations, %d rows of fixed effects and %d weights", n, len(d.X), len(d.Weights))
	case len(d.Groupings) < 1 || len(d.Groupings) > 2:
		return fmt.Errorf("mixed: %d groupings, and one or two are possible", len(d.Groupings))
	case len(d.Groupings) == 2 && d.Groupings[1].Slope != nil:
		return errors.New("mixed: the second grouping has a slope, which only the first may have")
	case n == 0 || n <= len(d.X[0]):
		return ErrFew
	}
	for i, y := range d.Y {
		if len(d.X[i]) != len(d.X[0]) {
			return fmt.Errorf("mixed: row %d has %d fixed effects, the first %d", i, len(d.X[i]), len(d.X[0]))
		}
		if math.IsNaN(y) || math.IsInf(y, 0) || d.Weights != nil && !(d.Weights[i] > 0 && d.Weights[i] < math.Inf(1)) {
			return fmt.Errorf("mixed: observation %d is no number, or its weight is not above 0", i)
		}
	}
	for _, g := range d.Groupings {
		if len(g.Level) != n || g.Slope != nil && len(g.Slope) != n {
			return fmt.Errorf("mixed: a grouping of %d observations, and %d are there", len(g.Level), n)
		}
		for i, l := range g.Level {
			if l < 0 || l >= g.Levels {
				return fmt.Errorf("mixed: observation %d has level %d of %d", i, l, g.Levels)
			}
		}
	}
	return nil
}

// indistinct is how much of a fixed effect has to be left beside those before it.
const indistinct = 1e-9

// orthonormal makes the weighted fixed effects orthonormal, each beside those before it, twice over
// for the sake of rounding, and takes them out of y: no digit is lost to a large mean.
func (m *Model) orthonormal(d *Data, root []float64) (columns [][]float64, y []float64, err error) {
	m.triangle = make([][]float64, m.fixed)
	for j := range m.triangle {
		m.triangle[j] = make([]float64, m.fixed)
		column := make([]float64, len(root))
		for i := range column {
			column[i] = root[i] * d.X[i][j]
		}
		length := math.Sqrt(dot(column, column))
		for range 2 {
			for k, c := range columns {
				m.triangle[k][j] += takeOut(column, c)
			}
		}
		left := math.Sqrt(dot(column, column))
		if !(left > indistinct*length) {
			return nil, nil, ErrRank
		}
		m.triangle[j][j] = left
		for i := range column {
			column[i] /= left
		}
		columns = append(columns, column)
	}
	y = make([]float64, len(root))
	for i := range y {
		y[i] = root[i] * d.Y[i]
	}
	length, along := math.Sqrt(dot(y, y)), make([]float64, m.fixed)
	for range 2 {
		for k, c := range columns {
			along[k] += takeOut(y, c)
		}
	}
	if !(math.Sqrt(dot(y, y)) > 1e-12*length) {
		return nil, nil, ErrExact
	}
	m.leastSquares = m.ofX(along)
	m.inverse = make([][]float64, m.fixed)
	for k := range m.inverse {
		unit := make([]float64, m.fixed)
		unit[k] = 1
		for j, v := range m.ofX(unit) {
			m.inverse[j] = append(m.inverse[j], v)
		}
	}
	return columns, y, nil
}

// takeOut takes what v has along a unit vector out of it, and returns how much that was.
func takeOut(v, unit []float64) float64 {
	along := dot(v, unit)
	for i := range v {
		v[i] -= along * unit[i]
	}
	return along
}

func dot(a, b []float64) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// ofX turns effects of the orthonormal columns into those of X.
func (m *Model) ofX(along []float64) []float64 {
	out := append([]float64(nil), along...)
	for j := m.fixed - 1; j >= 0; j-- {
		for k := j + 1; k < m.fixed; k++ {
			out[j] -= m.triangle[j][k] * out[k]
		}
		out[j] /= m.triangle[j][j]
	}
	return out
}

// multiply works out all products that the search needs.
func (m *Model) multiply(d *Data, root []float64, columns [][]float64) {
	first, size := d.Groupings[0], m.second+len(columns)
	m.own = make([][3]float64, first.Levels)
	m.beside = make([][2][]float64, first.Levels)
	for g := range m.beside {
		for t := range m.terms {
			m.beside[g][t] = make([]float64, size)
		}
	}
	m.rest = make([][]float64, size)
	for i := range m.rest {
		m.rest[i] = make([]float64, size)
	}
	for i, r := range root {
		z, g := [2]float64{r, 0}, first.Level[i]
		if m.terms == 2 {
			z[1] = r * first.Slope[i]
		}
		m.own[g][0] += z[0] * z[0]
		m.own[g][1] += z[0] * z[1]
		m.own[g][2] += z[1] * z[1]
		level := -1
		if m.second > 0 {
			level = d.Groupings[1].Level[i]
			m.rest[level][level] += r * r
		}
		for t := range m.terms {
			if level >= 0 {
				m.beside[g][t][level] += z[t] * r
			}
			for j, c := range columns {
				m.beside[g][t][m.second+j] += z[t] * c[i]
			}
		}
		for j, c := range columns {
			if level >= 0 {
				m.rest[level][m.second+j] += r * c[i]
			}
		}
	}
	for j, c := range columns {
		for k := j; k < len(columns); k++ {
			m.rest[m.second+j][m.second+k] = dot(c, columns[k])
		}
	}
}
