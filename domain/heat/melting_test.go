package heat_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pullbook/domain/heat"
)

// setTank is a tank of set honey of one specific heat.
func setTank(mass, loss, crystals float64) heat.Tank {
	return heat.Tank{MassKg: mass, MoisturePct: 17.4, LossWPerK: loss, SpecificHeatKJPerKgK: 2.35, CrystalsPct: crystals}
}

// Of a tonne with 15 % crystals and no losses, 15.765 kJ/kg go into melting: 4.379 kWh, beside
// 1000 x 2.35 x 30/3600 = 19.583 kWh for 30 K. Four kilowatts give that in 5.990 h.
func TestSetHoneyTakesItsMeltingHeatWithIt(t *testing.T) {
	t.Parallel()
	c, err := heat.Warm(setTank(1000, 0, 15), 20, []heat.Stage{{Hours: 12, HeaterW: 4000, ControlC: 50, AmbientC: 20}})
	if err != nil {
		t.Fatal(err)
	}
	hours, ever := c.HoursTo(50)
	if want := (19.58333 + 4.37917) / 4; !ever || math.Abs(hours-want) > 1e-4 {
		t.Errorf("it comes to 50 C after %g h, worked out as %g", hours, want)
	}
	closeTo(t, "heat in the honey, kWh", c.Energy().HoneyKWh, 23.9625, 1e-5)
	// What melted does not melt again: it cools, and is warmed by as much as it cooled.
	again, err := heat.Warm(setTank(1000, 40, 15), 20, []heat.Stage{
		{Hours: 40, HeaterW: 6000, ControlC: 50, AmbientC: 20}, {Hours: 10, AmbientC: 20}, {Hours: 40, HeaterW: 6000, ControlC: 50, AmbientC: 20},
	})
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "heat in honey that was warmed twice, kWh", again.Energy().HoneyKWh, 23.9625, 1e-5)
}

// The balance of a tank, stepped in seconds by its enthalpy: what the heater gives goes into warming, into
// melting and out of the tank, to a thousandth, and the temperatures agree.
func TestTheHeatOfATankIsAccountedFor(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(4, 11))
	for range 25 {
		tank := setTank(100+2000*r.Float64(), 60*r.Float64(), 25*r.Float64())
		start, ambient := 5+25*r.Float64(), 5+20*r.Float64()
		stages := []heat.Stage{
			{Hours: 1 + 20*r.Float64(), AmbientC: ambient},
			{Hours: 1 + 30*r.Float64(), HeaterW: 500 + 5000*r.Float64(), ControlC: 35 + 25*r.Float64(), AmbientC: ambient},
			{Hours: 1 + 30*r.Float64(), HeaterW: 500 + 5000*r.Float64(), ControlC: 35 + 25*r.Float64(), AmbientC: ambient},
		}
		c, err := heat.Warm(tank, start, stages)
		if err != nil {
			t.Fatal(err)
		}
		celsius, heater, lost, warmed, molten := stepped(tank, start, stages)
		e := c.Energy()
		whole := max(heater, warmed+molten, 1)
		if math.Abs(e.HeaterKWh-heater) > 1e-3*whole || math.Abs(e.LostKWh-lost) > 1e-3*whole || math.Abs(e.HoneyKWh-warmed-molten) > 1e-3*whole {
			t.Errorf("%+v from %g C: %+v, stepped %g from the heater, %g lost, %g + %g in the honey", tank, start, e, heater, lost, warmed, molten)
		}
		if end := c.TemperatureC(1e9); math.Abs(end-celsius) > 0.05 {
			t.Errorf("%+v: it ends at %g C, stepped %g", tank, end, celsius)
		}
	}
}

// stepped follows a tank by two seconds; kWh.
func stepped(tank heat.Tank, start float64, stages []heat.Stage) (celsius, heater, lost, warmed, molten float64) {
	const step = 2.0
	from, share := max(start, heat.MeltsFromC), 0.0
	latent := tank.MassKg * tank.CrystalsPct / 100 * heat.MeltingKJPerKg * 1000
	if start >= heat.MeltsToC {
		latent = 0
	}
	heatJPerK := tank.MassKg * tank.SpecificHeatKJPerKgK * 1000
	celsius = start
	for _, s := range stages {
		for range int(math.Round(s.Hours * 3600 / step)) {
			loses := tank.LossWPerK * (celsius - s.AmbientC) * step
			gives := 0.0
			if s.HeaterW > 0 && celsius < s.ControlC {
				gives = s.HeaterW * step
			}
			in := gives - loses
			next := celsius + in/heatJPerK
			if reach := from + share*(heat.MeltsToC-from); in > 0 && latent > 0 && next > reach && reach < heat.MeltsToC {
				// Above what was reached before, warming by a kelvin melts its part as well.
				perK := latent / (heat.MeltsToC - from)
				next = reach + (in-(reach-celsius)*heatJPerK)/(heatJPerK+perK)
				next = min(next, heat.MeltsToC)
				melts := (next - reach) * perK
				share, molten = share+melts/latent, molten+melts
			}
			warmed += (next - celsius) * heatJPerK
			// What rounding to the thermostat and the end of melting left over is not given.
			heater, lost, celsius = heater+gives, lost+loses, next
		}
	}
	const kWh = 3.6e6
	return celsius, heater / kWh, lost / kWh, warmed / kWh, molten / kWh
}

// Advance is Warm by the hour.
func TestATankAdvancesByTheHourAsItWarms(t *testing.T) {
	t.Parallel()
	tank := setTank(900, 22, 18)
	stages := []heat.Stage{{Hours: 7, AmbientC: 15}, {Hours: 20, HeaterW: 2500, ControlC: 48, AmbientC: 15}, {Hours: 9, HeaterW: 2500, ControlC: 42, AmbientC: 15}, {Hours: 5, AmbientC: 15}}
	c, err := heat.Warm(tank, 19, stages)
	if err != nil {
		t.Fatal(err)
	}
	now, wh, hour := heat.Warmth{Celsius: 19, MeltedC: 19}, 0.0, 0.0
	for _, s := range stages {
		for range int(s.Hours) {
			one := s
			one.Hours = 1
			var gave float64
			now, gave = tank.Advance(now, one, 19)
			wh, hour = wh+gave, hour+1
			closeTo(t, "temperature, C", now.Celsius, c.TemperatureC(hour), 1e-9)
		}
	}
	closeTo(t, "heater, kWh", wh/1000, c.Energy().HeaterKWh, 1e-9)
}

// A drum in a room that changes: the answers to its steps add up. The outside is the same drum cut into rings
// and stepped through time, whose heat balance is closed by what came through its film.
func TestADrumFollowsARoomThatChanges(t *testing.T) {
	t.Parallel()
	s := heat.Standing{RadiusM: 0.27, HeightM: 0.62, MoisturePct: 17.4, CrystalsPct: 12, FilmWPerM2K: 10}
	_, middle, _, err := s.Responses(15, 30)
	if err != nil {
		t.Fatal(err)
	}
	rooms := []struct {
		from  int
		roomC float64
	}{{0, 50}, {30, 42}, {60, 15}}
	core, mean := middle.At(0, 0), middle.LeftOnMean
	follow := func(hour int, left func(float64) float64) float64 {
		c, room := 15.0, 15.0
		for _, r := range rooms {
			if hour > r.from {
				c += (r.roomC - room) * (1 - left(float64(hour-r.from)))
				room = r.roomC
			}
		}
		return c
	}
	k, heatPerM3K := drumProperties(t, s)
	rings := newRings(s, k, heatPerM3K, 15)
	var through float64
	for hour := 1; hour <= 90; hour++ {
		room := rooms[0].roomC
		for _, r := range rooms {
			if hour > r.from {
				room = r.roomC
			}
		}
		through += rings.step(room, time.Hour)
		if hour%10 != 0 {
			continue
		}
		if got, want := follow(hour, core.Left), rings.core(); math.Abs(got-want) > 0.25 {
			t.Errorf("after %d h the core is at %.2f C, in rings at %.2f", hour, got, want)
		}
		got, want := follow(hour, mean), rings.mean()
		if math.Abs(got-want) > 0.1 {
			t.Errorf("after %d h the mean is at %.2f C, in rings at %.2f", hour, got, want)
		}
		if stored := middle.WhPerKelvin * (want - 15); math.Abs(stored-through) > 1e-3*through {
			t.Errorf("after %d h %.2f Wh came through the film, and %.2f are in the honey", hour, through, stored)
		}
	}
}
