package honey

import "math"

// surfacesAt returns the honey's surface at each row of a dip table, in L/cm: the
// slope of the volume there, of which a cubic between the rows is made.
//
// The surface's root, the tank's half width for short, runs straight within a
// cylinder, a box, a cone or a pyramid. So three rows of one such part give all of
// its half widths, and one half width with the litres up to the next row gives the
// next one, also across a seam where a row stands (a tank that widens to a seam and
// narrows from it needs two steps on each side of that). The walk begins where two threes
// of rows, side by side, agree best, and goes up and down from there. Where a three
// of rows agrees with the walk, it takes over, so that rounded litres do not add up.
func surfacesAt(dips, litres []float64) []float64 {
	t := newSteps(dips, litres)
	widths := make([]float64, len(dips))
	if len(dips) == 2 {
		widths[0], widths[1] = math.Sqrt(t.mean[0]), math.Sqrt(t.mean[0])
	} else {
		row, width := t.surest()
		widths[row] = width
		for i := row + 1; i < len(dips); i++ {
			widths[i] = t.settle(i, across(t.mean[i-1], widths[i-1]))
		}
		for i := row - 1; i >= 0; i-- {
			widths[i] = t.settle(i, across(t.mean[i], widths[i+1]))
		}
	}
	out := make([]float64, len(dips))
	for i, w := range widths {
		out[i] = t.risingAt(i, w*w)
	}
	return out
}

// steps are a dip table from row to row: how high each step is, and its mean
// surface. fits holds the part through each three rows.
type steps struct {
	high, mean []float64
	fits       []straight
}

func newSteps(dips, litres []float64) steps {
	t := steps{}
	for i := 1; i < len(dips); i++ {
		t.high = append(t.high, dips[i]-dips[i-1])
		t.mean = append(t.mean, (litres[i]-litres[i-1])/(dips[i]-dips[i-1]))
	}
	for i := 1; i < len(t.mean); i++ {
		t.fits = append(t.fits, straightPart(t.high[i-1], t.high[i], t.mean[i-1], t.mean[i]))
	}
	return t
}

// straight is a part of a tank between three rows whose half width runs straight:
// the half widths at the rows, and how much they grow for each centimetre. It is
// not fit where no such part holds so much.
type straight struct {
	fit    bool
	widths [3]float64
	growth float64
}

// straightPart finds the half width m + g h (h from the middle row) whose square has
// the mean surfaces of two steps. With u = g^2 and p = m g both follow from
// low = m^2 - p d + u d^2/3 and top = m^2 + p e + u e^2/3, which make a quadratic in u;
// its lesser root keeps the half width above nothing. b is above 0 for any surfaces.
func straightPart(below, above, low, top float64) straight {
	k, e := (top-low)/(below+above), (above-below)/3
	a, b := e*e+e*below+below*below/3, 2*k*e+low+k*below
	root := b*b - 4*a*k*k
	if root < 0 {
		return straight{}
	}
	u := (b - math.Sqrt(root)) / (2 * a)
	p := k - u*e
	m := math.Sqrt(max(0, low+p*below-u*below*below/3))
	g := math.Copysign(math.Sqrt(max(0, u)), p)
	s := straight{true, [3]float64{m - g*below, m, m + g*above}, g}
	for i, w := range s.widths {
		if w < -1e-6 {
			return straight{}
		}
		s.widths[i] = max(0, w)
	}
	return s
}

// surest returns a row and its half width where two threes of rows agree best; the
// middle of the tank where none do.
func (t steps) surest() (row int, width float64) {
	row = len(t.mean) / 2
	width, best := math.Sqrt(t.mean[row]), math.Inf(1)
	for i, s := range t.fits {
		if bend := t.bend(i); s.fit && bend < best {
			row, width, best = i+1, s.widths[1], bend
		}
	}
	return row, width
}

// bend is by how much a three of rows and the next one differ in growth; more than
// any two do where there is no next.
func (t steps) bend(i int) float64 {
	if i+1 >= len(t.fits) || !t.fits[i+1].fit {
		return math.MaxFloat64
	}
	return math.Abs(t.fits[i].growth - t.fits[i+1].growth)
}

// agrees is how far the half width by three rows may be from the walk's for it to
// take over.
const agrees = 0.1

// settle takes, for a row, the half width by three rows that is nearest to the
// walk's, where one is near, or else the walk's. It lies between the mean surfaces
// below and above the row, unless the tank bulges or narrows there.
func (t steps) settle(row int, walked float64) float64 {
	nearest, off := walked, agrees*walked
	for i := max(0, row-2); i <= min(row, len(t.fits)-1); i++ {
		if w := t.fits[i].widths[row-i]; t.fits[i].fit && math.Abs(w-walked) <= off {
			nearest, off = w, math.Abs(w-walked)
		}
	}
	if row == 0 || row == len(t.mean) || t.bulges(row) {
		return nearest
	}
	low, high := math.Sqrt(min(t.mean[row-1], t.mean[row])), math.Sqrt(max(t.mean[row-1], t.mean[row]))
	return max(low, min(nearest, high))
}

// bulges reports whether the three rows below and the three above agree on a half
// width that lies beyond the mean surfaces beside a row.
func (t steps) bulges(row int) bool {
	if row < 2 || row >= len(t.fits) || !t.fits[row-2].fit || !t.fits[row].fit {
		return false
	}
	below, above := t.fits[row-2].widths[2], t.fits[row].widths[0]
	return math.Abs(below-above) <= agrees*max(below, above)
}

// across goes from one half width across a step of a known mean surface to the
// other: r^2 + r R + R^2 = 3 mean.
func across(mean, width float64) float64 {
	return max(0, (math.Sqrt(max(0, 12*mean-3*width*width))-width)/2)
}

// risingAt keeps a surface such that the volume never falls between rows: at most
// three times the mean of either step beside it (Fritsch and Carlson 1980), which
// the wide end of a cone is just; and never nothing at all, since the dip of a
// volume would then be anything.
func (t steps) risingAt(row int, surface float64) float64 {
	for _, i := range []int{row - 1, row} {
		if i >= 0 && i < len(t.mean) {
			surface = min(surface, 3*t.mean[i])
		}
	}
	return max(surface, 1e-6*t.mean[min(row, len(t.mean)-1)])
}
