package heat

import "testing"

// A thermostat heats to its control point and holds it there: that is all that happens, from
// whatever temperature, with losses and without.
func TestAThermostatDoesNotChatter(t *testing.T) {
	t.Parallel()
	for _, loss := range []float64{0, 3, 7.7} {
		for start := 11.1; start < 40; start += 0.7 {
			c, err := Warm(Tank{MassKg: 300, MoisturePct: 17.4, LossWPerK: loss}, start, []Stage{{Hours: 48, HeaterW: 1000, ControlC: 41.3, AmbientC: 15}})
			if err != nil {
				t.Fatal(err)
			}
			if len(c.pieces) != 2 {
				t.Errorf("from %g C with %g W/K there are %d pieces", start, loss, len(c.pieces))
			}
		}
	}
}
