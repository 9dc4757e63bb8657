package heat_test

import (
	"math"
	"testing"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

// By hand: at 60 C and 20 % honey of 1.38 kg/L is so thin that a bubble of 5 mm is past Stokes'
// law. What it rises then balances its lift against the drag of Schiller and Naumann,
// 24/Re (1 + 0.15 Re^0.687), within the iteration; a wax grain of 0.2 mm at 35 C stays with Stokes.
func TestABigBubbleInWarmHoneyRisesSlowerThanStokes(t *testing.T) {
	t.Parallel()
	big, err := heat.Settle(heat.Bubble, 1, 5, 20, 60)
	if err != nil {
		t.Fatal(err)
	}
	wantFlag(t, big.Flags, heat.FlagBeyondStokes)
	density, _ := honey.DensityKgPerL(20, 60)
	viscosity, _ := honey.ViscosityPaS(20, 60)
	v, d, rho := big.RiseMMPerHour/3.6e6, 0.005, density*1000
	re := rho * v * d / viscosity
	drag := 24 / re * (1 + 0.15*math.Pow(re, 0.687)) * rho * v * v / 2 * math.Pi * d * d / 4
	closeTo(t, "drag against lift", drag, (rho-1.2)*9.80665*math.Pi*d*d*d/6, 1e-6)
	closeTo(t, "Reynolds number", big.Reynolds, re, 1e-9)
	small, err := heat.Settle(heat.Wax, 1, 0.2, 17, 35)
	if err != nil || len(small.Flags) > 0 || small.Reynolds > 0.1 {
		t.Errorf("a grain of wax: %+v, %v", small, err)
	}
}
