package heat

import (
	"math"

	"pullbook/domain/honey"
)

// Between these, in degrees Celsius, set honey takes up its melting heat: crystals of glucose begin to
// dissolve at 25 (common practice, as in honey.Tendency), and set honey is molten from 40 to 50,
// as a page for beekeepers has it (read), of which this is the middle.
const (
	MeltsFromC = 25.0
	MeltsToC   = 45.0
)

// Warmth is how warm a tank is while it is followed.
type Warmth struct {
	Celsius float64
	// MeltedC is the hottest that it has been: crystals that melt up to there are molten.
	MeltedC float64
}

// Advance follows a tank through one stage from now on, and returns the watt-hours that its
// heater gave. It is Warm for searches that try many courses: the tank must state its specific
// heat, startC is where the whole course began, and nothing is checked.
func (t Tank) Advance(now Warmth, s Stage, startC float64) (then Warmth, heaterWh float64) {
	capacity := t.MassKg * t.SpecificHeatKJPerKgK * 1000 / 3600
	for left := s.Hours; left > 0; {
		var p piece
		p, now = t.next(now, s, startC, capacity, left)
		heaterWh += p.heaterW * p.hours
		left -= p.hours
	}
	return now, heaterWh
}

// next is the piece that a tank goes through next, for so many hours at the most, and how warm it
// is then.
func (t Tank) next(now Warmth, s Stage, startC, capacity, left float64) (piece, Warmth) {
	p := t.piece(now.Celsius, s, capacity)
	untilC := math.Inf(1)
	if t.CrystalsPct > 0 && p.rises() {
		var melting float64
		if melting, untilC = t.melts(now, startC); melting > 0 {
			p = t.piece(now.Celsius, s, capacity+melting)
		}
	}
	p.hours = math.Min(p.hours, left)
	if hours := p.reach(untilC); hours < p.hours {
		p.hours, now.Celsius = hours, untilC
	} else {
		now.Celsius = p.end(s)
	}
	now.MeltedC = math.Max(now.MeltedC, now.Celsius)
	return p, now
}

// rises reports whether the tank warms.
func (p piece) rises() bool { return p.kelvinPerHour > 0 || p.perHour > 0 && p.targetC > p.fromC }

// melts returns what the tank takes up for melting, in watt-hours per kelvin, as it warms from now
// on, and up to which temperature it does.
func (t Tank) melts(now Warmth, startC float64) (whPerKelvin, untilC float64) {
	from := math.Max(startC, MeltsFromC)
	switch {
	case startC >= MeltsToC:
		return 0, math.Inf(1)
	case now.Celsius < math.Max(now.MeltedC, from):
		return 0, math.Max(now.MeltedC, from)
	case now.Celsius < MeltsToC:
		return t.MeltingWh() / (MeltsToC - from), MeltsToC
	}
	return 0, math.Inf(1)
}

// MeltingWh is what all crystals of the tank take up, in watt-hours.
func (t Tank) MeltingWh() float64 {
	return t.MassKg * t.CrystalsPct / 100 * MeltingKJPerKg * 1000 / 3600
}

// Response is how a standing container follows its surroundings: what of a step of their
// temperature has yet to come, after some hours, in the honey.
type Response struct {
	body *body
	// WhPerKelvin is the heat that the whole container takes up, melting heat included.
	WhPerKelvin float64
}

// Responses returns how a container follows its surroundings, for the lowest, the middle and the
// highest published conductivity, as HoursToWarm has them. Since each answer is in proportion to the step,
// those to several steps add up, whatever the course of the surroundings. Melting heat is spread from
// startC to MeltsToC; honey that begins hotter has none. aboutC is the temperature of which the
// properties are taken.
func (s Standing) Responses(startC, aboutC float64) (slow, middle, fast Response, err error) {
	if err := s.check(); err != nil {
		return slow, middle, fast, err
	}
	if err := checkTemperatureUpTo("temperature at the start", startC, ColdestC, 80); err != nil {
		return slow, middle, fast, err
	}
	melted := s
	if startC >= MeltsToC {
		melted.CrystalsPct = 0
	}
	conductivity, heatPerM3K, err := melted.properties(aboutC, MeltsToC-startC)
	if err != nil {
		return slow, middle, fast, err
	}
	whPerKelvin := heatPerM3K * math.Pi * s.RadiusM * s.RadiusM * s.HeightM / 3600
	of := func(k float64) Response { return Response{s.conduct(k, heatPerM3K), whPerKelvin} }
	return of(conductivity * (1 - probesApart)), of(conductivity), of(helveyWPerMK), nil
}

// Place is a place in the honey of a standing container.
type Place struct{ side, end []fading }

// fading is a part of what has yet to come, which fades by so much an hour.
type fading struct{ part, perHour float64 }

// At is the place across from 0 at the axis to 1 at the side, and up from 0 at half height to 1 at
// either end.
func (r Response) At(across, up float64) Place {
	var p Place
	for _, t := range r.body.cylinder {
		p.side = append(p.side, fading{t.core * math.J0(t.root*across), t.root * t.root * r.body.perHourSide})
	}
	for _, t := range r.body.slab {
		p.end = append(p.end, fading{t.core * math.Cos(t.root*up), t.root * t.root * r.body.perHourUp})
	}
	return p
}

// Left is what of a step has yet to come after some hours.
func (p Place) Left(hours float64) float64 { return left(p.side, hours) * left(p.end, hours) }

func left(parts []fading, hours float64) float64 {
	sum := 0.0
	for _, f := range parts {
		if f.perHour*hours > negligible {
			break // each fades faster than the one before
		}
		sum += f.part * math.Exp(-f.perHour*hours)
	}
	return sum
}

// LeftOnMean is what of a step has yet to come to the mean of the honey.
func (r Response) LeftOnMean(hours float64) float64 { return r.body.mean(hours) }

// check is of what a container is.
func (s Standing) check() error {
	for _, r := range []struct {
		quantity, unit string
		got, low, high float64
	}{
		{"radius of the honey", "m", s.RadiusM, 0.01, 1}, {"height of the honey", "m", s.HeightM, 0.02, 3},
		{"crystals", "%", s.CrystalsPct, 0, 40}, {"heat transfer to the wall", "W/(m2 K)", s.FilmWPerM2K, 1, 1000},
	} {
		if err := checkRange(r.quantity, r.unit, r.got, r.low, r.high); err != nil {
			return err
		}
	}
	return nil
}

// properties are the conductivity at a temperature, W/(m K), and the heat of a cubic metre, J/(m3 K),
// with the melting heat spread over so many kelvin.
func (s Standing) properties(aboutC, meltsOverK float64) (conductivity, heatPerM3K float64, err error) {
	if conductivity, err = honey.ThermalConductivityWPerMK(s.MoisturePct, aboutC); err != nil {
		return 0, 0, err
	}
	specific, err := honey.SpecificHeatKJPerKgK(s.MoisturePct, aboutC)
	if err != nil {
		return 0, 0, err
	}
	density, err := honey.DensityKgPerL(s.MoisturePct, 20)
	if err != nil {
		return 0, 0, err
	}
	if s.CrystalsPct > 0 {
		specific += s.CrystalsPct / 100 * MeltingKJPerKg / meltsOverK
	}
	return conductivity, specific * 1000 * density * 1000, nil
}
