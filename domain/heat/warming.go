package heat

import (
	"math"
	"time"

	"pullbook/domain/honey"
	"pullbook/domain/message"
)

// Tank is a body of honey that is warmed or left to cool. Its temperature is
// taken as one figure (lumped): right for stirred honey and for energy, early
// by hours or a day for the core of a still drum.
type Tank struct {
	MassKg, MoisturePct float64
	// LossWPerK is the heat lost per kelvin above the surroundings; see
	// LossOfSurface and FitLoss.
	LossWPerK float64
	// SpecificHeatKJPerKgK replaces the figure of honey.SpecificHeatKJPerKgK
	// when it is above 0.
	SpecificHeatKJPerKgK float64
	// CrystalsPct is the part of the mass that has set, 0 to 45. It takes up its melting heat as
	// it warms, evenly from MeltsFromC, or the start where that is hotter, to MeltsToC, and gives
	// none back as it cools: honey sets again in weeks.
	CrystalsPct float64
	// WallAllowanceK is how much hotter than the mean the honey at the heated
	// wall is with the heater at full power; it shrinks with the power.
	// WallShare is the part of the honey that is that hot. Both are allowances
	// to state, not results: 10 K and 0.1 are common practice for a jacket.
	WallAllowanceK, WallShare float64
}

// Stage is a stretch of time with one setting of the heater.
//
// The thermostat is ideal: below ControlC the heater gives HeaterW, at
// ControlC just what is lost. HeaterW 0 leaves the tank to itself.
type Stage struct {
	Hours, HeaterW, ControlC, AmbientC float64
}

// Course is the temperature of a tank over the stages, in closed form.
type Course struct {
	tank   Tank
	pieces []piece
}

// piece is a stretch in which the tank goes towards one temperature:
// T = target - (target - from) exp(-perHour t), or without losses
// T = from + kelvinPerHour t.
type piece struct {
	startH, hours          float64
	fromC, targetC         float64
	perHour, kelvinPerHour float64
	heaterW, share         float64 // share of full power
	whPerKelvin            float64 // heat capacity
}

func (p piece) at(hours float64) float64 {
	if p.perHour == 0 {
		return p.fromC + p.kelvinPerHour*hours
	}
	// Written from the start and not from the target, which lies absurdly far
	// away when a tank hardly loses anything.
	return p.fromC - (p.targetC-p.fromC)*math.Expm1(-p.perHour*hours)
}

// reach returns when the piece is at a temperature, +Inf when never.
func (p piece) reach(celsius float64) float64 {
	var hours float64
	switch {
	case celsius == p.fromC:
		return 0
	case p.perHour == 0:
		hours = (celsius - p.fromC) / p.kelvinPerHour
	default: // beyond the target the logarithm is not a number
		hours = -math.Log1p(-(celsius-p.fromC)/(p.targetC-p.fromC)) / p.perHour
	}
	if !(hours >= 0) {
		return math.Inf(1)
	}
	return hours
}

// Warm follows a tank through stages, beginning at startC.
//
// MassKg above 0 to 100,000; MoisturePct as honey.SpecificHeatKJPerKgK takes
// it; LossWPerK 0 to 5,000; startC and AmbientC ColdestC to 80 and 60;
// ControlC 0 to 95; HeaterW 0 to 200,000; Hours above 0, together at most a
// year. In each stage the specific heat is the one midway between where the
// tank begins and where it is heading.
func Warm(tank Tank, startC float64, stages []Stage) (Course, error) {
	if err := tank.check(); err != nil {
		return Course{}, err
	}
	if err := checkRange("temperature at the start", "C", startC, ColdestC, 80); err != nil {
		return Course{}, err
	}
	if len(stages) == 0 {
		return Course{}, message.Errorf("there is no stage: say for how many hours and with which heater")
	}
	c := Course{tank: tank}
	at, now := 0.0, Warmth{Celsius: startC, MeltedC: startC}
	for i, s := range stages {
		if err := s.check(); err != nil {
			return Course{}, message.Errorf("stage %s: %s", i+1, err)
		}
		if at+s.Hours > 366*24 {
			return Course{}, message.Errorf("the stages together last more than a year (8784 h)")
		}
		capacity, err := tank.capacity(now.Celsius, s)
		if err != nil {
			return Course{}, message.Errorf("stage %s: %s", i+1, err)
		}
		for left := s.Hours; left > 0; {
			var p piece
			p, now = tank.next(now, s, startC, capacity, left)
			p.startH = at
			c.pieces = append(c.pieces, p)
			at, left = at+p.hours, left-p.hours
		}
	}
	return c, nil
}

func (t Tank) check() error {
	for _, r := range []struct {
		quantity, unit string
		got, low, high float64
	}{
		{"mass", "kg", t.MassKg, 0.1, 100_000},
		{"loss coefficient", "W/K", t.LossWPerK, 0, 5000},
		{"specific heat", "kJ/(kg K)", t.SpecificHeatKJPerKgK, 0, 5},
		{"crystals", "%", t.CrystalsPct, 0, 45},
		{"wall allowance", "K", t.WallAllowanceK, 0, 60},
		{"share of honey at the wall", "", t.WallShare, 0, 1},
	} {
		if err := checkRange(r.quantity, r.unit, r.got, r.low, r.high); err != nil {
			return err
		}
	}
	return nil
}

func (s Stage) check() error {
	if !(s.Hours > 0) {
		return message.Errorf("it lasts %s h: it must last longer than nothing", message.Figure(s.Hours))
	}
	if err := checkRange("heater power", "W", s.HeaterW, 0, 200_000); err != nil {
		return err
	}
	if err := checkRange("temperature around the tank", "C", s.AmbientC, ColdestC, 60); err != nil {
		return err
	}
	if s.HeaterW == 0 {
		return nil
	}
	return checkTemperatureUpTo("control point", s.ControlC, 0, 95)
}

// capacity returns the heat capacity in watt-hours per kelvin.
func (t Tank) capacity(fromC float64, s Stage) (float64, error) {
	specific := t.SpecificHeatKJPerKgK
	if specific == 0 {
		heading := s.AmbientC
		if s.HeaterW > 0 {
			heading = math.Min(s.ControlC, t.ceiling(s))
		}
		var err error
		midway := math.Min(math.Max((fromC+heading)/2, 0), 80)
		if specific, err = honey.SpecificHeatKJPerKgK(t.MoisturePct, midway); err != nil {
			return 0, err
		}
	}
	return t.MassKg * specific * 1000 / 3600, nil
}

// ceiling is where full power would take the tank in the end.
func (t Tank) ceiling(s Stage) float64 {
	if t.LossWPerK == 0 {
		return math.Inf(1)
	}
	return s.AmbientC + s.HeaterW/t.LossWPerK
}

// CeilingC returns the temperature at which a stage's losses eat the whole
// power of its heater: no control point above it is ever reached. Without
// losses it is infinite.
func (t Tank) CeilingC(s Stage) float64 { return t.ceiling(s) }

// piece returns what the tank does from a temperature on, for as long as the
// heater's part does not change.
func (t Tank) piece(fromC float64, s Stage, capacity float64) piece {
	p := piece{fromC: fromC, whPerKelvin: capacity, perHour: t.LossWPerK / capacity, hours: math.Inf(1), targetC: s.AmbientC}
	switch holding := t.LossWPerK * (s.ControlC - s.AmbientC); {
	case s.HeaterW == 0:
		// left to itself
	case fromC > s.ControlC:
		p.hours = p.reach(s.ControlC)
	case fromC == s.ControlC && holding < 0:
		// the surroundings alone take it above the control point
	case fromC == s.ControlC && holding <= s.HeaterW:
		p.heaterW, p.share = holding, holding/s.HeaterW
		p.targetC, p.perHour = fromC, 0
	default:
		p.heaterW, p.share = s.HeaterW, 1
		p.targetC = t.ceiling(s)
		if t.LossWPerK == 0 {
			p.targetC, p.kelvinPerHour = 0, s.HeaterW/capacity
		}
		if fromC < s.ControlC {
			p.hours = p.reach(s.ControlC)
		}
	}
	return p
}

// end lands exactly on the control point, so that rounding does not make the
// thermostat chatter.
func (p piece) end(s Stage) float64 {
	if s.HeaterW > 0 && p.hours == p.reach(s.ControlC) {
		return s.ControlC
	}
	return p.at(p.hours)
}

// TemperatureC returns the temperature after some hours, 0 or more; after the
// course's end it stays as it ended.
func (c Course) TemperatureC(hours float64) float64 {
	for _, p := range c.pieces {
		if hours < p.startH+p.hours {
			return p.at(math.Max(hours-p.startH, 0))
		}
	}
	last := c.pieces[len(c.pieces)-1]
	return last.at(last.hours)
}

// HoursTo returns when the tank is at a temperature for the first time; false
// when the course never is.
func (c Course) HoursTo(celsius float64) (float64, bool) {
	const rounding = 1e-9 // hours: a piece that ends at the control point reaches it
	for _, p := range c.pieces {
		if hours := p.reach(celsius); hours <= p.hours+rounding {
			return p.startH + math.Min(hours, p.hours), true
		}
	}
	return 0, false
}

// Energy is where the heat of a course came from and went, in kilowatt-hours:
// Heater = Honey + Lost. Honey is below zero when the tank ends colder.
type Energy struct{ HeaterKWh, HoneyKWh, LostKWh float64 }

// Energy returns the heat balance of the course.
func (c Course) Energy() Energy {
	var e Energy
	for _, p := range c.pieces {
		e.HeaterKWh += p.heaterW * p.hours / 1000
		e.HoneyKWh += p.whPerKelvin * (p.at(p.hours) - p.fromC) / 1000
	}
	e.LostKWh = e.HeaterKWh - e.HoneyKWh
	return e
}

// History returns the course as a piecewise linear history that begins at an
// instant; no line strays more than 0.005 K from the exponential.
func (c Course) History(start time.Time) (History, error) { return c.history(start, 0) }

// WallHistory returns the history of the honey at the heated wall, hotter than
// the mean by the tank's allowance times the heater's share of full power.
func (c Course) WallHistory(start time.Time) (History, error) {
	return c.history(start, c.tank.WallAllowanceK)
}

func (c Course) history(start time.Time, allowanceK float64) (History, error) {
	h := History{start: start}
	for _, p := range c.pieces {
		above := allowanceK * p.share
		n := p.lines()
		for i := range n + 1 {
			t := p.hours * float64(i) / float64(n)
			celsius := p.at(t) + above
			if err := checkTemperature("temperature at the wall", celsius); err != nil {
				return History{}, err
			}
			h.seconds = append(h.seconds, (p.startH+t)*3600)
			h.celsius = append(h.celsius, celsius)
		}
	}
	return h, nil
}

// lines returns into how many straight lines of equal length a piece is cut:
// a chord of length h strays h^2 |T”| / 8 from its curve.
func (p piece) lines() int {
	const strayK = 0.005
	bend := math.Abs(p.fromC-p.targetC) * p.perHour * p.perHour
	if bend == 0 {
		return 1
	}
	// Past twenty time constants nothing moves; equal lengths need no more.
	n := math.Ceil(p.hours * math.Sqrt(bend/(8*strayK)))
	return int(math.Min(math.Max(n, 1), 100_000))
}

// Effect is what a course does to the honey: Mean for honey at the mean
// temperature all along, Wall for honey that stays at the heated wall all
// along (none does: it is the worst case), Mixed for the tank once stirred,
// with WallShare of it at the wall at any time.
type Effect struct{ Mean, Wall, Mixed Forecast }

// Effect forecasts HMF and enzymes over the course.
func (c Course) Effect(k Kinetics, s State) (Effect, error) {
	mean, err := c.History(time.Time{})
	if err != nil {
		return Effect{}, err
	}
	wall, err := c.WallHistory(time.Time{})
	if err != nil {
		return Effect{}, err
	}
	var e Effect
	if e.Mean, err = k.Forecast(s, mean); err != nil {
		return Effect{}, err
	}
	if e.Wall, err = k.Forecast(s, wall); err != nil {
		return Effect{}, err
	}
	e.Mixed = e.Wall
	share := c.tank.WallShare
	e.Mixed.HMFMgPerKg = mixed(share, e.Wall.HMFMgPerKg, e.Mean.HMFMgPerKg)
	e.Mixed.DiastaseDN = mixed(share, e.Wall.DiastaseDN, e.Mean.DiastaseDN)
	e.Mixed.Invertase = mixed(share, e.Wall.Invertase, e.Mean.Invertase)
	return e, nil
}

func mixed(share float64, wall, mean Band) Band {
	mix := func(w, m float64) float64 { return share*w + (1-share)*m }
	return Band{mix(wall.Low, mean.Low), mix(wall.Middle, mean.Middle), mix(wall.High, mean.High)}
}
