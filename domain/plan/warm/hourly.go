package warm

import (
	"math"

	"pullbook/domain/heat"
)

// hourly takes a tank on by whole hours. It is heat.Tank.Advance for a search, which asks for millions of
// hours: one through which the heater's part and the melting do not change needs no logarithm (a test compares
// the two).
type hourly struct {
	of Tank
	// tank has the losses and the specific heat that are followed.
	tank heat.Tank
	// fades and melts are what is left of a difference after an hour, without and with melting.
	fades, melts float64
	// meltsFromC is where crystals begin to melt; +Inf where none do.
	meltsFromC, ceilingC float64
}

func (t Tank) hourly(followed heat.Tank) hourly {
	capacity := followed.MassKg * followed.SpecificHeatKJPerKgK * 1000 / 3600
	h := hourly{of: t, tank: followed, fades: math.Exp(-followed.LossWPerK / capacity), meltsFromC: math.Inf(1), ceilingC: followed.CeilingC(heat.Stage{HeaterW: t.HeaterW, AmbientC: t.AroundC})}
	if followed.CrystalsPct > 0 && t.StartC < heat.MeltsToC {
		h.meltsFromC = max(t.StartC, heat.MeltsFromC)
		h.melts = math.Exp(-followed.LossWPerK / (capacity + followed.MeltingWh()/(heat.MeltsToC-h.meltsFromC)))
	}
	return h
}

// on takes a tank an hour on, and returns what its heater gave in watt-hours.
func (h *hourly) on(now heat.Warmth, setC int) (heat.Warmth, float64) {
	set, around := float64(setC), h.of.AroundC
	holding := h.tank.LossWPerK * (set - around)
	switch c := now.Celsius; {
	case setC != Off && c == set && holding >= 0 && holding <= h.of.HeaterW:
		return now, holding
	case (setC == Off || c > set) && c >= around:
		if then := around + (c-around)*h.fades; setC == Off || then > set {
			now.Celsius = then
			return now, 0
		}
	case setC != Off && c < set && h.ceilingC > c && h.tank.LossWPerK > 0:
		fades, until := h.fades, set
		switch reached := max(now.MeltedC, h.meltsFromC); {
		case c < reached:
			until = min(until, reached)
		case c < heat.MeltsToC:
			fades, until = h.melts, min(until, heat.MeltsToC)
		}
		if then := h.ceilingC + (c-h.ceilingC)*fades; then < until {
			return heat.Warmth{Celsius: then, MeltedC: max(now.MeltedC, then)}, h.of.HeaterW
		}
	}
	return h.tank.Advance(now, h.of.stage(setC, 1), h.of.StartC)
}
