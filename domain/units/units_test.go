package units_test

import (
	"math"
	"testing"

	"pullbook/domain/units"
)

func TestWaterFreezesAndBoilsOnBothScales(t *testing.T) {
	t.Parallel()
	for celsius, fahrenheit := range map[float64]float64{0: 32, 100: 212, -40: -40} {
		if got := units.Fahrenheit(celsius); math.Abs(got-fahrenheit) > 1e-9 {
			t.Errorf("%g °C are %g °F", celsius, got)
		}
		if got := units.Celsius(fahrenheit); math.Abs(got-celsius) > 1e-9 {
			t.Errorf("%g °F are %g °C", fahrenheit, got)
		}
	}
}
