package honey_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/honey"
)

// United States Standards for Grades of Extracted Honey (1985), Table I: the ends of the colour classes
// in millimetres and as optical density.
func TestOpticalDensityOfAColourIsAsPublished(t *testing.T) {
	for _, c := range []struct{ mm, density float64 }{{0, 0}, {8, 0.0945}, {17, 0.189}, {34, 0.378}, {50, 0.595}, {85, 1.389}, {114, 3.008}} {
		if got, err := honey.OpticalDensityFromPfund(c.mm); err != nil || math.Abs(got-c.density) > 1e-12 {
			t.Errorf("%g mm: %g, published %g, %v", c.mm, got, c.density, err)
		}
		if got, err := honey.PfundFromOpticalDensity(c.density); err != nil || math.Abs(got-c.mm) > 1e-9 {
			t.Errorf("density %g: %g mm, published %g, %v", c.density, got, c.mm, err)
		}
	}
	for _, mm := range []float64{-1, 141, math.NaN()} {
		if got, err := honey.OpticalDensityFromPfund(mm); err == nil {
			t.Errorf("%g mm: %g", mm, got)
		}
	}
	for _, density := range []float64{-0.1, 8, math.NaN()} {
		if got, err := honey.PfundFromOpticalDensity(density); err == nil {
			t.Errorf("density %g: %g", density, got)
		}
	}
}

func TestAColourComesBackFromItsOpticalDensity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.Float64Range(0, 140).Draw(t, "mm")
		density, err := honey.OpticalDensityFromPfund(mm)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := honey.PfundFromOpticalDensity(density); err != nil || math.Abs(back-mm) > 1e-9 {
			t.Fatalf("%g mm came back as %g, %v", mm, back, err)
		}
	})
}
