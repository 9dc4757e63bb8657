package warm

import (
	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

// Tank is a tank with a heater and a thermostat, stirred.
type Tank struct {
	heat.Tank
	// LossSDWPerK is how far its losses may be off, as a standard deviation.
	LossSDWPerK     float64
	HeaterW         float64
	AroundC, StartC float64
}

// What published specific heats of honey run to, as a share of the figure used.
const heaviest = 1.10

// NewTank takes the specific heat halfway to where crystals are molten, for all of a course.
func NewTank(t Tank) (Tank, error) {
	specific, err := honey.SpecificHeatKJPerKgK(t.MoisturePct, min(max((t.StartC+heat.MeltsToC)/2, 0), 80))
	if err != nil {
		return t, err
	}
	t.SpecificHeatKJPerKgK = specific
	_, err = heat.Warm(t.Tank, t.StartC, t.stages([]int{LeastSetC}))
	return t, err
}

func (t Tank) massKg() float64                        { return t.MassKg }
func (t Tank) honeyPct() (moisture, crystals float64) { return t.MoisturePct, t.CrystalsPct }
func (t Tank) steady() bool                           { return t.StartC == t.AroundC }

func (t Tank) warmestC() float64 { return max(t.StartC, t.AroundC) }

// A tank that is colder than what is around it warms by itself.
func (t Tank) coolsAtOnce() bool { return t.StartC >= t.AroundC }

func (t Tank) moltenKWh(hottestC float64) float64 {
	return t.MeltingWh() / 1000 * molten(max(t.StartC, heat.MeltsFromC), hottestC)
}

// molten is the share of crystals that is, where they melt from a temperature on.
func molten(fromC, hottestC float64) float64 {
	if fromC >= heat.MeltsToC {
		return 0
	}
	return min(1, max(0, (hottestC-fromC)/(heat.MeltsToC-fromC)))
}

// warmsLess is the tank with losses that are higher by so many standard deviations, and the
// heaviest specific heat where they are.
func (t Tank) warmsLess(by float64) heat.Tank {
	out := t.Tank
	out.LossWPerK = max(0, out.LossWPerK+by*t.LossSDWPerK)
	if by > 0 {
		out.SpecificHeatKJPerKgK *= heaviest
	}
	return out
}

func (t Tank) stage(setC int, hours float64) heat.Stage {
	s := heat.Stage{Hours: hours, AmbientC: t.AroundC}
	if setC != Off {
		s.HeaterW, s.ControlC = t.HeaterW, float64(setC)
	}
	return s
}

func (t Tank) stages(sets []int) []heat.Stage {
	var out []heat.Stage
	for _, s := range stepsOf(sets) {
		out = append(out, t.stage(s.SetC, float64(s.Hours)))
	}
	return out
}

func (t Tank) ready(_ int, slow float64, hmfPerHour table) (follower, error) {
	if hmfPerHour == nil {
		hmfPerHour = nothing
	}
	return &stirred{tank: t, slow: t.hourly(t.warmsLess(slow)), middle: t.hourly(t.Tank), hmfPerHour: hmfPerHour}, nil
}

type stirred struct {
	tank         Tank
	slow, middle hourly
	hmfPerHour   table
}

func (s *stirred) begin() node {
	w := heat.Warmth{Celsius: s.tank.StartC, MeltedC: s.tank.StartC}
	return node{coldestC: w.Celsius, meanC: w.Celsius, slow: w, middle: w}
}

func (s *stirred) follow(n *node, setC int) {
	n.slow, _ = s.slow.on(n.slow, setC)
	before := n.middle.Celsius
	var wh float64
	n.middle, wh = s.middle.on(n.middle, setC)
	n.hour, n.coldestC, n.meanC = n.hour+1, n.slow.Celsius, n.middle.Celsius
	n.heatWh, n.mostW = n.heatWh+wh, max(n.mostW, wh)
	above := 0.0
	if setC != Off {
		above = s.tank.WallAllowanceK * wh / s.tank.HeaterW
	}
	share := s.tank.WallShare
	n.hmf += ((1-share)*(s.hmfPerHour.at(before)+s.hmfPerHour.at(n.meanC)) + share*(s.hmfPerHour.at(before+above)+s.hmfPerHour.at(n.meanC+above))) / 2
}

func (s *stirred) roughly(n *node, setC int) { s.follow(n, setC) }

func (t Tank) outcomes(sets []int, k heat.Kinetics, s heat.State) (out [3]outcome, err error) {
	for i, by := range []float64{nineInTen, 0, -nineInTen} {
		c, err := heat.Warm(t.warmsLess(by), t.StartC, t.stages(sets))
		if err != nil {
			return out, err
		}
		effect, err := c.Effect(k, s)
		if err != nil {
			return out, err
		}
		out[i] = outcome{effect.Mixed.HMFMgPerKg, effect.Mixed.DiastaseDN, c.Energy()}
	}
	return out, nil
}
