package demo

import (
	"math"
	"time"

	"pullbook/domain/honey"
	"pullbook/domain/ledger"
)

// tank is a tank as it truly is.
type tank struct {
	id         ledger.ID
	capacityKg float64
	diameterCM float64
	heightCM   float64
	// coneCM is how much of the height is a cone at the bottom; 0: flat.
	coneCM float64
	// riseSDKg is the error of a mass had from the rise between two dips.
	riseSDKg float64
	// heelKg is what the gate does not give.
	heelKg float64
	// marginKg is how far below its capacity the crew stops.
	marginKg float64
	tauH     float64

	honey parcel
	tempC float64
	// setC is the heater's set point; 0: off.
	setC float64
	now  time.Time
	// guessPct is the moisture that the crew last read, for turning dips into
	// kilograms.
	guessPct float64

	// reservedKg is room kept for what stands in the sump.
	reservedKg float64

	lastFill  time.Time
	closed    bool
	emptyAt   time.Time
	openFrom  time.Time
	emptyings int
	pending   []ledger.TemperaturePoint
}

func smallTank() *tank {
	return &tank{capacityKg: 1100, diameterCM: 90, heightCM: 125, heelKg: 11, marginKg: 32, tauH: 25}
}

// stands puts a cone of some depth under a tank, which is higher for it and holds as much.
func (t *tank) stands(coneCM float64) {
	t.coneCM, t.heightCM = coneCM, t.heightCM+coneCM*2/3
}

func largeTank() *tank {
	return &tank{capacityKg: 4500, diameterCM: 150, heightCM: 185, heelKg: 45, marginKg: 125, tauH: 60}
}

func (t *tank) setUp(name string, use ledger.TankUse, heaterW float64, mark string) *ledger.Tank {
	t.riseSDKg = math.Sqrt2 * dipSDCM * t.kgPerCM()
	usual := 28.0
	shape := &ledger.TankShape{Form: "upright_cylinder", DiameterCM: t.diameterCM, HeightCM: t.heightCM}
	if t.coneCM > 0 {
		shape.Form, shape.ConeDepthCM = "cone_bottom", t.coneCM
	}
	return &ledger.Tank{Name: name, Use: use, CapacityG: int64(t.capacityKg * 1000), HeaterW: heaterW, HoseMark: mark, Shape: shape, UsualTemperatureC: &usual}
}

// shape is the tank as a gauge knows it.
func (t *tank) shape() honey.Tank {
	shape, err := honey.UprightCylinder(t.diameterCM, t.heightCM)
	if t.coneCM > 0 {
		shape, err = honey.ConeBottom(t.diameterCM, t.heightCM, t.coneCM)
	}
	if err != nil {
		panic(err) // the tanks above are tanks
	}
	return shape
}

// depthCM is how deep so much stands: a cone takes a third of what the upright part would.
func (t *tank) depthCM(litres float64) float64 {
	inCone := t.areaCM2() * t.coneCM / 3000
	if litres < inCone {
		return t.coneCM * math.Cbrt(litres/inCone)
	}
	return t.coneCM + (litres-inCone)*1000/t.areaCM2()
}

func (t *tank) areaCM2() float64 { return math.Pi / 4 * t.diameterCM * t.diameterCM }

func (t *tank) kgPerCM() float64 { return t.areaCM2() / 1000 * 1.41 }

func (t *tank) freeKg() float64 { return t.capacityKg - t.marginKg - t.honey.kg - t.reservedKg }

// pour adds honey of a temperature.
func (t *tank) pour(p parcel, tempC float64) {
	if sum := t.honey.kg + p.kg; sum > 0 {
		t.tempC = (t.tempC*t.honey.kg + tempC*p.kg) / sum
	}
	t.honey = t.honey.mixed(p)
	t.lastFill = t.now
}

// draw takes honey out.
func (t *tank) draw(kg float64) parcel {
	kg = min(kg, t.honey.kg)
	t.honey.kg -= kg
	return t.honey.part(kg)
}

// logEvery is the step of the loggers as they are kept in the book.
const logEvery = 3

// advance takes the tank on to an instant, hour by hour: it warms or cools, its
// honey ages, and the logger writes it down.
func (t *tank) advance(s *season, to time.Time) {
	if t.honey.kg == 0 || t.now.IsZero() {
		t.now = later(t.now, to)
		return
	}
	for next := t.now.Truncate(time.Hour).Add(time.Hour); !next.After(to); next = next.Add(time.Hour) {
		t.step(s, next)
		if hour := next.In(s.o.Location).Hour(); hour%logEvery == 0 {
			t.pending = append(t.pending, s.logged(next, t.tempC))
			if hour == 0 {
				t.flush(s)
			}
		}
	}
	if to.After(t.now) {
		t.step(s, to)
	}
}

func (t *tank) step(s *season, to time.Time) {
	hours := to.Sub(t.now).Hours()
	before := t.tempC
	if t.setC > t.tempC {
		// 3 kW on a tonne: about 3 C an hour less what is lost.
		t.tempC = min(t.setC, t.tempC+2.2*hours)
	} else if t.setC == 0 {
		t.tempC += (s.shedC(to) - t.tempC) * (1 - math.Exp(-hours/t.tauH))
	}
	t.honey = t.honey.aged((before+t.tempC)/2, hours, s.quick)
	t.now = to
}

// flush writes the logger's points down, a day at a time.
func (t *tank) flush(s *season) {
	if len(t.pending) > 1 && s.full {
		points := append([]ledger.TemperaturePoint(nil), t.pending...)
		s.add(points[len(points)-1].At, logger, &ledger.TemperatureLog{On: s.tankPlace(t), Points: points})
	}
	t.pending = t.pending[:0]
}

// guess is about what the honey has, where nobody has read it yet: so it is with
// honey poured back out of drums into a tank that no run went to.
func (t *tank) guess() {
	if t.guessPct == 0 {
		t.guessPct = rounded(t.honey.moisturePct, 0)
	}
}

// dip is a stocktake of the tank: the stick's depth turned into kilograms with
// the moisture and temperature that the crew knows of.
func (t *tank) dip(s *season, at time.Time) {
	t.guess()
	depth := t.depthCM(t.honey.kg / densityKgPerL(t.honey.moisturePct, t.tempC))
	depth = within(rounded(depth+dipSDCM*s.rng.NormFloat64(), 1), 0, t.heightCM)
	tempC := rounded(t.tempC+loggerSDC*s.rng.NormFloat64(), 1)
	c, err := honey.Gauge(t.shape(), depth, dipSDCM, t.guessPct, tempC)
	if err != nil {
		panic(err) // clamped above
	}
	e := s.add(at, packer, &ledger.Stocktake{TankID: t.id, Method: "dip", MassG: grams(c.Kilograms, 0.1),
		UncertaintyG: grams(c.StdUncertaintyKg, 0.1), DepthCM: &depth, TemperatureC: &tempC})
	s.w.truth.LevelG[e.ID] = int64(t.honey.kg * 1000)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
