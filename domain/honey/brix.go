package honey

// The sucrose scale at 20 C: three rows of the ICUMSA table of 1974 (Brix 70,
// 75, 80), joined by the parabola through them, on which the row of 85 lies too. It
// meets every whole degree of the table from 70 to 85 within 0.00001, which is 0.004
// Brix. It is carried on to 55 and 95, and meets 60 Brix (1.44193, from memory) as closely.
const (
	brixFirst = 70.0
	brixStep  = 5.0
	brixLast  = 85.0
	brixMin   = 55.0
	brixMax   = 95.0

	sucrose70 = 1.46546
	sucrose75 = 1.47787
	sucrose80 = 1.49071
	sucrose85 = 1.50398

	sucroseRise1 = sucrose75 - sucrose70
	sucroseRise2 = sucrose80 - 2*sucrose75 + sucrose70
)

// SucroseBrix returns the degrees Brix (g of sucrose in 100 g, 55 to 95) of a
// sucrose solution by its refractive index at 20 C, after ICUMSA 1974, whose rows
// here cover 70 to 85 (BrixScale).
//
// Sucrose Brix is not honey solids: at one refractive index 100 - Brix
// overstates the moisture of honey by 1.6 to 1.8 points.
func SucroseBrix(indexAt20C float64) (float64, error) {
	if low, high := sucroseIndex(brixMin), sucroseIndex(brixMax); !within(indexAt20C, low, high) {
		return 0, &RangeError{Quantity: "refractive index", Got: indexAt20C, Min: low, Max: high}
	}
	return brixOf(indexAt20C), nil
}

// BrixScale is where the sucrose scale was compared with its table.
var BrixScale = Range{Of: "Brix", Unit: "degrees", From: brixFirst, To: brixLast}

// sucroseIndex is Newton's form of the parabola on the three rows.
func sucroseIndex(brix float64) float64 {
	s := (brix - brixFirst) / brixStep
	return sucrose70 + s*(sucroseRise1+(s-1)/2*sucroseRise2)
}

// brixOf walks along the chord of the scale. The curve's slope is within 18 % of
// the chord's, so that every step takes four fifths or more off what is missing.
func brixOf(index float64) float64 {
	const perBrix = (sucrose85 - sucrose70) / (brixLast - brixFirst)
	brix := brixFirst
	for range 25 {
		brix += (index - sucroseIndex(brix)) / perBrix
	}
	return brix
}
