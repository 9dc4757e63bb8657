package honey

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// DipPoint is a row of a tank's dip table.
type DipPoint struct{ DipCm, Litres float64 }

type dipTable struct {
	first, last DipPoint
	curve       *interp.PiecewiseCubic
}

// DipTable returns a tank known by its dip table: two rows or more, the dip rising
// from row to row and the litres never falling. Rows of the same litres, as a cone's
// first centimetres have in whole litres, count as one. Between rows it follows a cubic that meets
// every row and never falls, so that a true table of any tank that is made of
// boxes, cylinders and cones gives its true volume (surfacesAt). The lowest row is
// as low, and the highest as high, as it can read.
func DipTable(rows []DipPoint) (Tank, error) {
	if len(rows) < 2 {
		return nil, &RangeError{Quantity: "dip table", Unit: "rows", Got: float64(len(rows)), Min: 2, Max: math.Inf(1)}
	}
	below := DipPoint{DipCm: -1, Litres: -1}
	for i, row := range rows {
		if err := rises("dip", "cm", i, row.DipCm, below.DipCm); err != nil {
			return nil, err
		}
		if row.Litres != below.Litres {
			if err := rises("volume", "L", i, row.Litres, below.Litres); err != nil {
				return nil, err
			}
		}
		below = row
	}
	dips, litres := risingRows(rows)
	if len(dips) < 2 {
		return nil, &RangeError{Quantity: fmt.Sprintf("volume in row %d of the dip table", len(rows)), Unit: "L", Got: below.Litres, Min: below.Litres, Max: math.Inf(1),
			Hint: Hint{Format: "dips and volumes must rise from row to row"}}
	}
	curve := new(interp.PiecewiseCubic)
	curve.FitWithDerivatives(dips, litres, surfacesAt(dips, litres))
	return dipTable{first: rows[0], last: below, curve: curve}, nil
}

// risingRows are the rows of different litres: the first of those that are the same,
// and at the top the last, which is the rim.
func risingRows(rows []DipPoint) (dips, litres []float64) {
	last := len(rows) - 1
	for i, row := range rows {
		switch {
		case i == 0 || row.Litres > litres[len(litres)-1]:
			dips, litres = append(dips, row.DipCm), append(litres, row.Litres)
		case i == last:
			dips[len(dips)-1] = row.DipCm
		}
	}
	return dips, litres
}

// rises wants a finite figure above the one of the row before; the first row
// may be anything from 0.
func rises(quantity, unit string, row int, value, before float64) error {
	if within(value, 0, math.MaxFloat64) && value > before {
		return nil
	}
	return &RangeError{Quantity: fmt.Sprintf("%s in row %d of the dip table", quantity, row+1), Unit: unit,
		Got: value, Min: max(0, before), Max: math.Inf(1), Hint: Hint{Format: "dips and volumes must rise from row to row"}}
}

func (t dipTable) LowestCm() float64 { return t.first.DipCm }
func (t dipTable) RimCm() float64    { return t.last.DipCm }

func (t dipTable) Litres(dipCm float64) (float64, error) {
	if err := dipRange(dipCm, t.first.DipCm, t.last.DipCm); err != nil {
		return 0, err
	}
	return t.curve.Predict(dipCm), nil
}

func (t dipTable) DipCm(litres float64) (float64, error) {
	if err := litresRange(litres, t.first.Litres, t.last.Litres); err != nil {
		return 0, err
	}
	return risingInverse(t.curve.Predict, t.first.DipCm, t.last.DipCm, litres), nil
}
