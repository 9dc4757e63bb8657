package honey

import "math"

// Tank turns the depth of honey on a dip stick into litres and back. The dip
// is measured from the lowest point of the inside up to the liquid under the
// foam, with the tank level.
type Tank interface {
	// Litres returns the volume at a dip of LowestCm to RimCm.
	Litres(dipCm float64) (float64, error)
	// DipCm returns the dip at a volume from that of LowestCm to that of RimCm.
	DipCm(litres float64) (float64, error)
	// LowestCm is the least dip that can be read: 0 except for a dip table that
	// starts higher.
	LowestCm() float64
	// RimCm is the dip at which the tank is brimful.
	RimCm() float64
}

const cubicCmPerLitre = 1000.0

// Sides of 5 cm to 30 m take in everything from a pail to a storage tank, and
// leave out a tank given in metres.
const (
	minSideCm = 5.0
	maxSideCm = 3000.0
)

func side(quantity string, cm float64) error {
	if within(cm, minSideCm, maxSideCm) {
		return nil
	}
	hint := Hint{}
	if within(cm*100, minSideCm, maxSideCm) {
		hint.Format = "it looks like metres: send centimetres"
	}
	return &RangeError{Quantity: quantity, Unit: "cm", Got: cm, Min: minSideCm, Max: maxSideCm, Hint: hint}
}

// shape is a tank whose volume up to a dip is a formula.
type shape struct {
	rimCm   float64
	cubicCm func(dipCm float64) float64
}

func (s shape) LowestCm() float64 { return 0 }
func (s shape) RimCm() float64    { return s.rimCm }

func (s shape) Litres(dipCm float64) (float64, error) {
	if err := dipRange(dipCm, 0, s.rimCm); err != nil {
		return 0, err
	}
	return s.cubicCm(dipCm) / cubicCmPerLitre, nil
}

func (s shape) DipCm(litres float64) (float64, error) {
	if err := litresRange(litres, 0, s.cubicCm(s.rimCm)/cubicCmPerLitre); err != nil {
		return 0, err
	}
	return risingInverse(s.cubicCm, 0, s.rimCm, litres*cubicCmPerLitre), nil
}

func dipRange(dipCm, low, rimCm float64) error {
	if within(dipCm, low, rimCm) {
		return nil
	}
	hint := Hint{}
	switch {
	case dipCm < 0:
		hint.Format = "a dip is measured up from the bottom and cannot be negative"
	case dipCm > rimCm:
		hint.Format = "it is above the rim"
	}
	return &RangeError{Quantity: "dip", Unit: "cm", Got: dipCm, Min: low, Max: rimCm, Hint: hint}
}

func litresRange(litres, low, full float64) error {
	if within(litres, low, full) {
		return nil
	}
	hint := Hint{}
	if litres > full {
		hint.Format = "it is more than the tank holds"
	}
	return &RangeError{Quantity: "volume", Unit: "L", Got: litres, Min: low, Max: full, Hint: hint}
}

// risingInverse halves the interval until no number lies between its ends.
func risingInverse(f func(float64) float64, low, high, target float64) float64 {
	for {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			break
		}
		if f(middle) < target {
			low = middle
		} else {
			high = middle
		}
	}
	if target-f(low) < f(high)-target {
		return low
	}
	return high
}

// UprightCylinder returns a standing tank with a flat bottom.
func UprightCylinder(diameterCm, heightCm float64) (Tank, error) {
	if err := sides(named{"diameter", diameterCm}, named{"height", heightCm}); err != nil {
		return nil, err
	}
	area := math.Pi / 4 * diameterCm * diameterCm
	return shape{heightCm, func(dip float64) float64 { return area * dip }}, nil
}

// ConeBottom returns a standing round tank whose bottom is a cone with its point
// down: diameterCm is that of the upright part, heightCm the whole height inside
// from the point to the rim, and coneDepthCm (5 to heightCm) the cone's share of
// it. A dip is measured from the point. Up to the cone's rim it holds
// pi D^2 h^3 / (12 c^2), from there on the cone and a cylinder. An outlet that cuts
// off the point is left out: one of 5 cm in a cone of 100 cm by 50 is 0.02 L.
func ConeBottom(diameterCm, heightCm, coneDepthCm float64) (Tank, error) {
	if err := sides(named{"diameter", diameterCm}, named{"height", heightCm}); err != nil {
		return nil, err
	}
	if !within(coneDepthCm, minSideCm, heightCm) {
		hint := Hint{}
		if coneDepthCm > heightCm {
			hint.Format = "a cone is no higher than the tank that it is the bottom of"
		}
		return nil, &RangeError{Quantity: "cone depth", Unit: "cm", Got: coneDepthCm, Min: minSideCm, Max: heightCm, Hint: hint}
	}
	area := math.Pi / 4 * diameterCm * diameterCm
	return shape{heightCm, func(dip float64) float64 {
		inCone := min(dip, coneDepthCm)
		return area * (inCone*inCone*inCone/(3*coneDepthCm*coneDepthCm) + dip - inCone)
	}}, nil
}

// Box returns a tank with four upright sides and a flat bottom.
func Box(lengthCm, widthCm, heightCm float64) (Tank, error) {
	if err := sides(named{"length", lengthCm}, named{"width", widthCm}, named{"height", heightCm}); err != nil {
		return nil, err
	}
	area := lengthCm * widthCm
	return shape{heightCm, func(dip float64) float64 { return area * dip }}, nil
}

// LyingCylinder returns a tank on its side. lengthCm is that of the straight
// part, seam to seam; dishDepthCm is how far each end bulges beyond the seam, 0
// for flat ends and at most the radius.
//
// A dished end is taken as half an ellipsoid of revolution, as deep as the dish
// and as wide as the tank. With R the radius, h the dip and a the dish depth,
// the straight part holds L (R^2 acos((R-h)/R) - (R-h) sqrt(2Rh - h^2)) and
// the two ends together pi a h^2 (3R - h) / (3R). Both are exact for a 2:1
// ellipsoidal end (a = R/2); a torispherical end of DIN 28011 (crown D, knuckle
// D/10, 0.1935 D deep) holds 2.4 % less than the ellipsoid of its depth.
func LyingCylinder(diameterCm, lengthCm, dishDepthCm float64) (Tank, error) {
	if err := sides(named{"diameter", diameterCm}, named{"length", lengthCm}); err != nil {
		return nil, err
	}
	radius := diameterCm / 2
	if !within(dishDepthCm, 0, radius) {
		return nil, &RangeError{Quantity: "dish depth", Unit: "cm", Got: dishDepthCm, Min: 0, Max: radius,
			Hint: Hint{Format: "an end bulges no further than the tank's radius"}}
	}
	return shape{diameterCm, func(dip float64) float64 {
		ends := math.Pi * dishDepthCm * dip * dip * (3*radius - dip) / (3 * radius)
		return lengthCm*circleSegment(radius, dip) + ends
	}}, nil
}

// circleSegment is R^2 acos((R-h)/R) - (R-h) sqrt(2Rh - h^2), written by the
// half angle so that it does not cancel to less than nothing at a small height.
func circleSegment(radius, height float64) float64 {
	angle := 2 * math.Asin(math.Sqrt(min(1, height/(2*radius))))
	return radius * radius * max(0, angle-math.Sin(2*angle)/2)
}

type named struct {
	quantity string
	cm       float64
}

func sides(all ...named) error {
	for _, one := range all {
		if err := side(one.quantity, one.cm); err != nil {
			return err
		}
	}
	return nil
}
