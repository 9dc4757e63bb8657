package reconcile

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// alike tells the weighed flows apart by the balances that they enter. A tank that is never emptied
// takes hundreds of flows from one place to one other, which the balances see as one.
type alike struct {
	// columns has one column of each kind. of says of what kind each of system.measured is, by its place
	// in columns, and many how many there are of the kind.
	columns, of []int
	many        []float64
}

func (s system) alike() alike {
	rows, _ := s.balances.Dims()
	out := alike{of: make([]int, len(s.measured))}
	kinds := map[string]int{}
	for i, column := range s.measured {
		var key strings.Builder
		for row := range rows {
			if c := s.balances.At(row, column); c != 0 {
				fmt.Fprint(&key, row, " ", c, " ")
			}
		}
		kind, known := kinds[key.String()]
		if !known {
			kind = len(out.columns)
			kinds[key.String()] = kind
			out.columns, out.many = append(out.columns, column), append(out.many, 0)
		}
		out.of[i] = kind
		out.many[kind]++
	}
	return out
}

// gather makes the columns of the kinds as long as all of their flows together, so that what is
// orthonormal among them is so among the flows; a may be nil.
func (k alike) gather(a *mat.Dense) {
	if a != nil {
		a.Apply(func(_, kind int, v float64) float64 { return v * math.Sqrt(k.many[kind]) }, a)
	}
}

// spread undoes gather and gives each weighed flow the column of its kind; nil where there is none.
func (k alike) spread(a *mat.Dense) *mat.Dense {
	if a == nil {
		return nil
	}
	out := chooseColumns(a, k.of)
	out.Apply(func(_, i int, v float64) float64 { return v / math.Sqrt(k.many[k.of[i]]) }, out)
	return out
}
