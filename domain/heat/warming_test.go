package heat_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

func warmed(t testing.TB, tank heat.Tank, startC float64, stages ...heat.Stage) heat.Course {
	t.Helper()
	c, err := heat.Warm(tank, startC, stages)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestWorkedExamplesOfWarming(t *testing.T) {
	t.Parallel()
	for _, r := range published(t, "tank-warming.csv") {
		tank := heat.Tank{MassKg: 300, MoisturePct: 17.4, SpecificHeatKJPerKgK: 2.26, LossWPerK: r.figure(t, "loss_w_per_k")}
		stage := heat.Stage{Hours: 12, HeaterW: 1000, ControlC: 40, AmbientC: 15}
		c := warmed(t, tank, 15, stage)
		hours, reached := c.HoursTo(40)
		if !reached {
			t.Errorf("with %s W/K the tank never is at 40 C", r["loss_w_per_k"])
		}
		closeTo(t, "hours to 40 C with "+r["loss_w_per_k"]+" W/K", hours, r.figure(t, "hours_to_40"), 0.001)
		if r["ceiling_c"] != "" {
			closeTo(t, "ceiling", tank.CeilingC(stage), r.figure(t, "ceiling_c"), 1e-12)
		}
		if r["kwh_without_losses"] != "" {
			closeTo(t, "heater energy", c.Energy().HeaterKWh, r.figure(t, "kwh_without_losses"), 0.001)
		}
		closeTo(t, "energy in the honey", c.Energy().HoneyKWh, 4.708, 0.001)
		if got := c.TemperatureC(12); got != 40 {
			t.Errorf("at the end it is %g C, the thermostat stands at 40", got)
		}
	}
}

// numeric steps the heat balance with the classical Runge-Kutta method.
func numeric(t *rapid.T, tank heat.Tank, specific, startC float64, stages []heat.Stage) (endC, heaterKWh float64) {
	capacity := tank.MassKg * specific * 1000 / 3600
	celsius := startC
	for _, s := range stages {
		const n = 3000
		dt := s.Hours / n
		for range n {
			power := 0.0
			if s.HeaterW > 0 { // what is lost at the control point, and what is missing to it
				holding := tank.LossWPerK * (s.ControlC - s.AmbientC)
				power = math.Min(s.HeaterW, math.Max(0, holding+(s.ControlC-celsius)*capacity/dt))
			}
			slope := func(c float64) float64 { return (power - tank.LossWPerK*(c-s.AmbientC)) / capacity }
			k1 := slope(celsius)
			k2 := slope(celsius + dt/2*k1)
			k3 := slope(celsius + dt/2*k2)
			k4 := slope(celsius + dt*k3)
			celsius += dt / 6 * (k1 + 2*k2 + 2*k3 + k4)
			heaterKWh += power * dt / 1000
		}
	}
	return celsius, heaterKWh
}

func drawStages(t *rapid.T) []heat.Stage {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) heat.Stage {
		return heat.Stage{
			Hours:    rapid.Float64Range(0.5, 30).Draw(t, "hours"),
			HeaterW:  rapid.SampledFrom([]float64{0, 500, 3000}).Draw(t, "W"),
			ControlC: rapid.Float64Range(25, 60).Draw(t, "control"),
			AmbientC: rapid.Float64Range(-5, 38).Draw(t, "ambient"),
		}
	}), 1, 3).Draw(t, "stages")
}

func TestClosedFormAgreesWithSteppingTheHeatBalance(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		tank := heat.Tank{
			MassKg:               rapid.Float64Range(200, 3000).Draw(rt, "kg"),
			MoisturePct:          17.5,
			LossWPerK:            rapid.SampledFrom([]float64{0, 5, 20}).Draw(rt, "W/K"),
			SpecificHeatKJPerKgK: 2.3,
		}
		start := rapid.Float64Range(5, 60).Draw(rt, "start")
		stages := drawStages(rt)
		c, err := heat.Warm(tank, start, stages)
		if err != nil {
			rt.Fatal(err)
		}
		wantC, wantKWh := numeric(rt, tank, 2.3, start, stages)
		if got := c.TemperatureC(math.Inf(1)); math.Abs(got-wantC) > 0.02 {
			rt.Fatalf("ends at %.4f C, stepping ends at %.4f", got, wantC)
		}
		if got := c.Energy().HeaterKWh; math.Abs(got-wantKWh) > 0.002*wantKWh+0.02 {
			rt.Fatalf("takes %.4f kWh, stepping %.4f", got, wantKWh)
		}
	})
}

func TestHeatThatIsNotHeldIsLostThroughTheSurface(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		loss := rapid.OneOf(rapid.Float64Range(0, 40), rapid.Float64Range(0, 1e-6)).Draw(rt, "W/K")
		tank := heat.Tank{MassKg: 800, MoisturePct: 17.5, SpecificHeatKJPerKgK: 2.3, LossWPerK: loss}
		stages := drawStages(rt)
		c, err := heat.Warm(tank, rapid.Float64Range(5, 60).Draw(rt, "start"), stages)
		if err != nil {
			rt.Fatal(err)
		}
		began, lost, scale := 0.0, 0.0, 0.0
		for _, s := range stages {
			const n = 4000
			for i := range n {
				above := c.TemperatureC(began+s.Hours*(float64(i)+0.5)/n) - s.AmbientC
				lost += loss * above * s.Hours / n / 1000
				scale += loss * math.Abs(above) * s.Hours / n / 1000
			}
			began += s.Hours
		}
		if got := c.Energy().LostKWh; math.Abs(got-lost) > 1e-4*scale+1e-9 {
			rt.Fatalf("the balance loses %.8f kWh, the surface %.8f", got, lost)
		}
	})
}

func TestAWarmRoomTakesATankAboveItsControlPointWithoutPower(t *testing.T) {
	t.Parallel()
	c := warmed(t, heat.Tank{MassKg: 300, MoisturePct: 18, LossWPerK: 20}, 20, heat.Stage{Hours: 200, HeaterW: 500, ControlC: 30, AmbientC: 36})
	closeTo(t, "temperature at the end", c.TemperatureC(200), 36, 0.001)
	if e := c.Energy(); e.LostKWh >= 0 {
		t.Errorf("the room should have given heat: %+v", e)
	}
}

func TestAWeakHeaterNeverReachesTheControlPoint(t *testing.T) {
	t.Parallel()
	tank := heat.Tank{MassKg: 300, MoisturePct: 18, LossWPerK: 20}
	stage := heat.Stage{Hours: 500, HeaterW: 300, ControlC: 45, AmbientC: 15}
	c := warmed(t, tank, 20, stage)
	if hours, reached := c.HoursTo(45); reached {
		t.Errorf("45 C after %g h with a ceiling of %g C", hours, tank.CeilingC(stage))
	}
	closeTo(t, "temperature at the end", c.TemperatureC(500), tank.CeilingC(stage), 0.001)
	fromAbove := warmed(t, tank, 45, stage)
	closeTo(t, "temperature at the end, from the control point", fromAbove.TemperatureC(500), 30, 0.001)
}

// By hand: 1800 kg of 2 kJ/(kg K) hold 1000 Wh/K, so that 1000 W without losses warm them by a kelvin an hour.
func TestATankWithoutLossesWarmsEvenly(t *testing.T) {
	t.Parallel()
	tank := heat.Tank{MassKg: 1800, MoisturePct: 17, SpecificHeatKJPerKgK: 2}
	c := warmed(t, tank, 20, heat.Stage{Hours: 10, HeaterW: 1000, ControlC: 30, AmbientC: 15})
	if hours, reached := c.HoursTo(30); hours != 10 || !reached {
		t.Errorf("30 C after %g h, %v: the heater is there as the stage ends", hours, reached)
	}
	// A stage that ends on the way hands over the temperature that it came to.
	two := warmed(t, tank, 20, heat.Stage{Hours: 4, HeaterW: 1000, ControlC: 30, AmbientC: 15}, heat.Stage{Hours: 4, HeaterW: 500, ControlC: 60, AmbientC: 15})
	closeTo(t, "after four hours and four at half the power", two.TemperatureC(8), 26, 1e-12)
}

// By hand: 20 W/K over what 300 kg hold is the rate. Below its control point of 30 C a tank is
// heated in a room of 36 C too: towards 36 + 500/20 = 61 C, from 20 to 30 C in ln(41/31) of it.
func TestAHeaterHelpsAWarmRoomUpToTheControlPoint(t *testing.T) {
	t.Parallel()
	c := warmed(t, heat.Tank{MassKg: 300, MoisturePct: 18, SpecificHeatKJPerKgK: 2.4, LossWPerK: 20}, 20, heat.Stage{Hours: 20, HeaterW: 500, ControlC: 30, AmbientC: 36})
	hours, _ := c.HoursTo(30)
	closeTo(t, "hours to 30 C", hours, 300*2.4/3.6/20*math.Log(41.0/31), 1e-12)
}

// By hand: of the 25 K between -10 C and a room of 15 C one is left after ln 25 of the rate; and a
// tank that cools from 45 C towards 15 C has the specific heat of 30 C.
func TestATankLeftToItselfComesToItsRoom(t *testing.T) {
	t.Parallel()
	tank := heat.Tank{MassKg: 300, MoisturePct: 17, SpecificHeatKJPerKgK: 2.4, LossWPerK: 20}
	hours, _ := warmed(t, tank, -10, heat.Stage{Hours: 200, AmbientC: 15}).HoursTo(14)
	closeTo(t, "hours from -10 to 14 C", hours, 300*2.4/3.6/20*math.Log(25), 1e-12)
	tank.SpecificHeatKJPerKgK = 0
	specific, err := honey.SpecificHeatKJPerKgK(17, 30)
	if err != nil {
		t.Fatal(err)
	}
	hours, _ = warmed(t, tank, 45, heat.Stage{Hours: 200, AmbientC: 15}).HoursTo(30)
	closeTo(t, "hours from 45 to 30 C", hours, 300*specific/3.6/20*math.Ln2, 1e-12)
}

func TestSpecificHeatIsTheOneMidway(t *testing.T) {
	t.Parallel()
	specific, err := honey.SpecificHeatKJPerKgK(17, 30)
	if err != nil {
		t.Fatal(err)
	}
	c := warmed(t, heat.Tank{MassKg: 1000, MoisturePct: 17}, 20, heat.Stage{Hours: 30, HeaterW: 3000, ControlC: 40, AmbientC: 15})
	hours, _ := c.HoursTo(40)
	closeTo(t, "hours to 40 C", hours, 1000*specific*20/3/3600, 1e-9)
}

func TestLinesOfACourseStayByItsCurve(t *testing.T) {
	t.Parallel()
	c := warmed(t, heat.Tank{MassKg: 20, MoisturePct: 17, LossWPerK: 5}, 15, heat.Stage{Hours: 20, HeaterW: 600, ControlC: 63, AmbientC: 15}, heat.Stage{Hours: 40, AmbientC: 10})
	jar := warmed(t, heat.Tank{MassKg: 0.5, MoisturePct: 17, LossWPerK: 5}, -10, heat.Stage{Hours: 1, AmbientC: 15})
	for name, c := range map[string]heat.Course{"a pail": c, "a frozen jar in a room": jar} {
		h, err := c.History(midsummer)
		if err != nil {
			t.Fatal(err)
		}
		for s := 0.0; s <= h.Hours()*3600; s += 30 {
			curve, line := c.TemperatureC(s/3600), h.TemperatureC(midsummer.Add(time.Duration(s)*time.Second))
			if math.Abs(curve-line) > 0.005 {
				t.Fatalf("%s: after %g s the curve is at %.4f C and the line at %.4f", name, s, curve, line)
			}
		}
	}
}

func TestHoneyAtTheWallSuffersMoreAndTheTankInBetween(t *testing.T) {
	t.Parallel()
	tank := heat.Tank{MassKg: 1000, MoisturePct: 17.5, LossWPerK: 15, WallAllowanceK: 10, WallShare: 0.1}
	c := warmed(t, tank, 18, heat.Stage{Hours: 36, HeaterW: 3000, ControlC: 45, AmbientC: 15})
	e, err := c.Effect(heat.Default(), heat.State{HMFMgPerKg: 4, DiastaseDN: 20, Invertase: 100})
	if err != nil {
		t.Fatal(err)
	}
	if !(e.Mean.HMFMgPerKg.Middle < e.Mixed.HMFMgPerKg.Middle && e.Mixed.HMFMgPerKg.Middle < e.Wall.HMFMgPerKg.Middle) ||
		!(e.Mean.DiastaseDN.Middle > e.Mixed.DiastaseDN.Middle && e.Mixed.DiastaseDN.Middle > e.Wall.DiastaseDN.Middle) {
		t.Errorf("mean %+v, mixed %+v, wall %+v", e.Mean, e.Mixed, e.Wall)
	}
	closeTo(t, "HMF formed in the mix", e.Mixed.HMFMgPerKg.Middle, 0.1*e.Wall.HMFMgPerKg.Middle+0.9*e.Mean.HMFMgPerKg.Middle, 1e-12)
	none := tank
	none.WallAllowanceK = 0
	plain, err := warmed(t, none, 18, heat.Stage{Hours: 36, HeaterW: 3000, ControlC: 45, AmbientC: 15}).Effect(heat.Default(), heat.State{})
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "HMF at a wall without allowance", plain.Wall.HMFMgPerKg.Middle, plain.Mean.HMFMgPerKg.Middle, 1e-12)
}

func TestWarmingRefusesWhatNoTankDoes(t *testing.T) {
	t.Parallel()
	good := heat.Tank{MassKg: 300, MoisturePct: 17.4, LossWPerK: 10}
	stage := heat.Stage{Hours: 5, HeaterW: 1000, ControlC: 40, AmbientC: 15}
	with := func(change func(*heat.Tank, *heat.Stage)) (heat.Tank, []heat.Stage) {
		tank, s := good, stage
		change(&tank, &s)
		return tank, []heat.Stage{s}
	}
	for says, change := range map[string]func(*heat.Tank, *heat.Stage){
		"mass":                   func(k *heat.Tank, _ *heat.Stage) { k.MassKg = 0 },
		"stage 1: moisture":      func(k *heat.Tank, _ *heat.Stage) { k.MoisturePct = 0.174 },
		"loss coefficient":       func(k *heat.Tank, _ *heat.Stage) { k.LossWPerK = -1 },
		"wall allowance":         func(k *heat.Tank, _ *heat.Stage) { k.WallAllowanceK = -1 },
		"share of honey":         func(k *heat.Tank, _ *heat.Stage) { k.WallShare = 2 },
		"stage 1: it lasts":      func(_ *heat.Tank, s *heat.Stage) { s.Hours = 0 },
		"more than a year":       func(_ *heat.Tank, s *heat.Stage) { s.Hours = 9000 },
		"heater power":           func(_ *heat.Tank, s *heat.Stage) { s.HeaterW = -5 },
		"104 F is 40.0 C":        func(_ *heat.Tank, s *heat.Stage) { s.ControlC = 104 },
		"203 F is 95.0 C":        func(_ *heat.Tank, s *heat.Stage) { s.ControlC = 203 },
		"temperature around the": func(_ *heat.Tank, s *heat.Stage) { s.AmbientC = math.NaN() },
	} {
		tank, stages := with(change)
		if _, err := heat.Warm(tank, 15, stages); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, expected words on %q", err, says)
		}
	}
	if _, err := heat.Warm(good, 15, []heat.Stage{{Hours: 8784, HeaterW: 100, ControlC: 0, AmbientC: -20}}); err != nil {
		t.Errorf("a leap year kept from freezing: %v", err)
	}
	if _, err := heat.Warm(good, 15, []heat.Stage{{Hours: 1, HeaterW: 100, ControlC: -5, AmbientC: -20}}); err == nil || strings.Contains(err.Error(), "Fahrenheit") {
		t.Errorf("a control point of -5: %v, which no Fahrenheit mends", err)
	}
	if _, err := heat.Warm(good, 113, []heat.Stage{stage}); err == nil {
		t.Error("a start at 113 C was taken")
	}
	if _, err := heat.Warm(good, 15, nil); err == nil {
		t.Error("no stage at all was taken")
	}
	boiling := good
	boiling.WallAllowanceK = 60
	c := warmed(t, boiling, 15, heat.Stage{Hours: 50, HeaterW: 5000, ControlC: 60, AmbientC: 15})
	if _, err := c.Effect(heat.Default(), heat.State{}); err == nil || !strings.Contains(err.Error(), "wall") {
		t.Errorf("a wall at 120 C gave %v", err)
	}
}

// 4.2 m2 with 50 mm of foam of 0.035 W/(m K): 4.2/(0.13 + 0.05/0.035) by hand;
// bare steel 4.2/0.13.
func TestLossOfASurface(t *testing.T) {
	t.Parallel()
	insulated, err := heat.LossOfSurface(4.2, 50, 0.035)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "insulated", insulated, 2.6947, 0.0001)
	bare, err := heat.LossOfSurface(4.2, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "bare", bare, 32.308, 0.0001)
	for _, bad := range [][3]float64{{0, 50, 0.035}, {4, -1, 0.035}, {4, 50, 0}, {4, math.NaN(), 0.03}} {
		if _, err := heat.LossOfSurface(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("%v was taken", bad)
		}
	}
}

// By hand: 3.6 kg of 1 kJ/(kg K) hold 1 Wh/K. From 20 C in a room of 10 C it cools to 18 and 17 C
// in two hours, so that 0, 9 and 16.5 kelvin-hours stand against 0, 2 and 3 Wh: the squares about
// the means 8.5 and 1.667 are 136.5, the products 25, and 0.08791 is left, of one degree of freedom.
func TestLossFittedFromThreeReadingsByHand(t *testing.T) {
	t.Parallel()
	fit, err := heat.FitLoss(heat.Tank{MassKg: 3.6, MoisturePct: 17.5, SpecificHeatKJPerKgK: 1}, logged(t, time.Hour, 20, 18, 17), 0, 10)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "loss, W/K", fit.LossWPerK, 25/136.5, 1e-9)
	closeTo(t, "its standard deviation, W/K", fit.SDWPerK, math.Sqrt(0.0879121/136.5), 1e-5)
	closeTo(t, "how far the log strays, K", fit.RMSKelvin, math.Sqrt(0.0879121/3), 1e-5)
}

// 28 W that hold a tank just 2 K above its room for an hour are 14 W/K.
func TestATankHeldWarmLosesWhatItsHeaterGives(t *testing.T) {
	t.Parallel()
	fit, err := heat.FitLoss(heat.Tank{MassKg: 600, MoisturePct: 17.5}, logged(t, 30*time.Minute, 14, 14, 14), 28, 12)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "loss, W/K", fit.LossWPerK, 14, 1e-12)
}

// flicker is a sensor's noise of 0.1 K that averages to nothing.
func flicker(i int) float64 { return 0.1 * math.Sin(float64(i)*2.399963) }

func TestLossFittedFromALogIsTheLossOfTheTank(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]heat.Stage{
		"cooling": {Hours: 24, AmbientC: 12},
		"warming": {Hours: 24, HeaterW: 900, ControlC: 95, AmbientC: 12},
	} {
		tank := heat.Tank{MassKg: 600, MoisturePct: 17.5, SpecificHeatKJPerKgK: 2.35, LossWPerK: 14}
		c := warmed(t, tank, 45, s)
		for _, noise := range []float64{0, 1} {
			var celsius []float64
			for i := range 24*6 + 1 {
				celsius = append(celsius, c.TemperatureC(float64(i)/6)+noise*flicker(i))
			}
			fit, err := heat.FitLoss(tank, logged(t, 10*time.Minute, celsius...), s.HeaterW, 12)
			if err != nil {
				t.Fatal(err)
			}
			closeTo(t, name+": loss from the log", fit.LossWPerK, 14, 0.0005+0.02*noise)
			if fit.SDWPerK > 0.2 || fit.RMSKelvin > 0.11 {
				t.Errorf("%s: %+v", name, fit)
			}
		}
	}
}

func TestLossFitRefusesALogThatShowsNone(t *testing.T) {
	t.Parallel()
	tank := heat.Tank{MassKg: 600, MoisturePct: 17.5}
	for _, c := range []struct {
		name, says string
		log        heat.History
		heaterW    float64
	}{
		{"too short", "too short", logged(t, 10*time.Minute, 45, 44.9, 44.8), 0},
		{"as warm as the room", "on average 0.35 K", logged(t, time.Hour, 12.5, 12.4, 12.3, 12.2), 0},
		{"neither heated nor cooling", "cannot be", logged(t, time.Hour, 40, 40, 40), 0},
		{"warming without a heater", "cannot be", logged(t, time.Hour, 40, 41, 42, 43), 0},
		{"heater below nothing", "heater power", logged(t, time.Hour, 40, 41, 42, 43), -1},
	} {
		if fit, err := heat.FitLoss(tank, c.log, c.heaterW, 12); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %+v, %v", c.name, fit, err)
		}
	}
}
