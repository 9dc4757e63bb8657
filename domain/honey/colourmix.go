package honey

import "math"

// colourPoints are where the US standard's Table I gives a colour class both on the Pfund grader and
// as an optical density: 560 nm, 3.15 cm. Nothing is as clear as glycerin at both.
var colourPoints = func() (out []colourPoint) {
	out = append(out, colourPoint{})
	for i, class := range colourScales[USColour][:len(opticalDensityTo)] {
		out = append(out, colourPoint{class.ToMM, opticalDensityTo[i]})
	}
	return out
}()

type colourPoint struct{ mm, density float64 }

// OpticalDensityFromPfund returns the optical density (560 nm, 3.15 cm) of honey of 0 to 140 mm Pfund.
// Between the published ends of the classes it is a straight line; beyond 114 mm, where the standard
// gives none, it grows on as it does from 85 to 114 mm.
//
// What absorbs light adds up by mass in a mix, and millimetres do not: half of 17 mm in half of 114
// mm is nearly as dark as 89 mm, and not 65.
func OpticalDensityFromPfund(pfundMM float64) (float64, error) {
	if err := pfundRange(pfundMM); err != nil {
		return 0, err
	}
	for i, to := range colourPoints[1:] {
		if from := colourPoints[i]; pfundMM <= to.mm {
			return from.density + (to.density-from.density)*(pfundMM-from.mm)/(to.mm-from.mm), nil
		}
	}
	last, growth := beyondPoints()
	return last.density * math.Exp(growth*(pfundMM-last.mm)), nil
}

// PfundFromOpticalDensity is OpticalDensityFromPfund turned round: 0 to that of 140 mm.
func PfundFromOpticalDensity(density float64) (float64, error) {
	darkest, _ := OpticalDensityFromPfund(pfundMaxMM)
	if !within(density, 0, darkest) {
		return 0, &RangeError{Quantity: "optical density at 560 nm", Got: density, Min: 0, Max: darkest}
	}
	for i, to := range colourPoints[1:] {
		if from := colourPoints[i]; density <= to.density {
			return from.mm + (to.mm-from.mm)*(density-from.density)/(to.density-from.density), nil
		}
	}
	last, growth := beyondPoints()
	return min(pfundMaxMM, last.mm+math.Log(density/last.density)/growth), nil
}

// beyondPoints is the last point, and by how much of itself the density grows with each millimetre
// before it.
func beyondPoints() (last colourPoint, growth float64) {
	n := len(colourPoints)
	before, last := colourPoints[n-2], colourPoints[n-1]
	return last, math.Log(last.density/before.density) / (last.mm - before.mm)
}
