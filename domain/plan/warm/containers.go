package warm

import (
	"math"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

// Containers are alike, and stand still in a room that has its set point at once.
type Containers struct {
	heat.Standing
	Count int
	NetKg float64 // of honey in each
	// RoomLossWPerK is what the room itself loses; 0 leaves it out of the heat.
	RoomLossWPerK   float64
	AroundC, StartC float64
}

func (c Containers) massKg() float64                        { return float64(c.Count) * c.NetKg }
func (c Containers) honeyPct() (moisture, crystals float64) { return c.MoisturePct, c.CrystalsPct }
func (c Containers) steady() bool                           { return c.StartC == c.AroundC }

// The core of a container goes on warming from the honey around it.
func (c Containers) coolsAtOnce() bool { return false }

func (c Containers) moltenKWh(hottestC float64) float64 {
	return c.massKg() * c.CrystalsPct / 100 * heat.MeltingKJPerKg / 3600 * molten(c.StartC, hottestC)
}

// points are where HMF is followed: the nodes of Gauss and Legendre over the area and over the
// half height, and what of the honey each stands for.
var points = gauss()

type point struct{ across, up, part float64 }

func gauss() (out []point) {
	root := math.Sqrt(0.6) / 2
	nodes, parts := []float64{0.5 - root, 0.5, 0.5 + root}, []float64{5. / 18, 8. / 18, 5. / 18}
	for i, v := range nodes {
		for j, y := range nodes {
			out = append(out, point{math.Sqrt(v), y, parts[i] * parts[j]})
		}
	}
	return out
}

// standing follows containers by what of each step of the room has yet to come.
type standing struct {
	of         Containers
	hmfPerHour table
	// core, mean and at are what is left after each whole hour: of the slow honey's core, of the
	// middle honey's mean and at its points.
	core, mean []float64
	at         [][]float64
	whPerK     float64
}

// slowest is from how many standard deviations on the lowest conductivity is taken.
const slowest = 0.25

func (c Containers) ready(hours int, slow float64, hmfPerHour table) (follower, error) {
	low, middle, _, err := c.Responses(c.StartC, (c.StartC+heat.MeltsToC)/2)
	if err != nil {
		return nil, err
	}
	if slow < slowest {
		low = middle
	}
	s := &standing{of: c, hmfPerHour: hmfPerHour, whPerK: middle.WhPerKelvin * c.filled()}
	s.core = lefts(low.At(0, 0).Left, hours)
	s.mean = lefts(middle.LeftOnMean, hours)
	for _, p := range points {
		s.at = append(s.at, lefts(middle.At(p.across, p.up).Left, hours))
	}
	return s, nil
}

// filled is how many containers full of honey, of these dimensions, the honey comes to.
func (c Containers) filled() float64 {
	density, err := honey.DensityKgPerL(c.MoisturePct, 20)
	if err != nil {
		return float64(c.Count) // Responses refuses such a moisture
	}
	return c.massKg() / (density * 1000 * math.Pi * c.RadiusM * c.RadiusM * c.HeightM)
}

func lefts(left func(hours float64) float64, hours int) []float64 {
	out := make([]float64, hours+1)
	out[0] = 1
	for h := 1; h <= hours; h++ {
		out[h] = left(float64(h))
	}
	return out
}

func (s *standing) begin() node {
	c, rate := s.of.StartC, 0.0
	if len(s.at) > 0 { // HMF is followed
		rate = s.hmfPerHour.at(c)
	}
	return node{coldestC: c, meanC: c, roomC: c, rate: rate}
}

// turnTo brings the room to a temperature.
func (n *node) turnTo(roomC float64) {
	if roomC == n.roomC {
		return
	}
	n.turns[n.turned] = turn{n.hour, roomC - n.roomC}
	n.turned, n.roomC = n.turned+1, roomC
}

// now is how warm honey is of which so much of each step is left.
func (n *node) now(startC float64, left []float64) float64 {
	for _, t := range n.turns[:n.turned] {
		startC += t.byK * (1 - left[n.hour-t.hour])
	}
	return startC
}

func (s *standing) follow(n *node, setC int) {
	room := s.of.AroundC
	if setC != Off {
		room = float64(setC)
	}
	n.turnTo(room)
	n.hour++
	before, rate := n.meanC, n.rate
	n.coldestC, n.meanC = n.now(s.of.StartC, s.core), n.now(s.of.StartC, s.mean)
	n.rate = 0
	for i, left := range s.at {
		n.rate += points[i].part * s.hmfPerHour.at(n.now(s.of.StartC, left))
	}
	n.hmf += (rate + n.rate) / 2
	if setC != Off {
		wh := max(0, s.whPerK*(n.meanC-before)+s.of.RoomLossWPerK*(room-s.of.AroundC))
		n.heatWh, n.mostW = n.heatWh+wh, max(n.mostW, wh)
	}
}

func (c Containers) outcomes(sets []int, k heat.Kinetics, s heat.State) (out [3]outcome, err error) {
	slow, middle, fast, err := c.Responses(c.StartC, (c.StartC+heat.MeltsToC)/2)
	if err != nil {
		return out, err
	}
	for i, r := range []heat.Response{slow, middle, fast} {
		f := &standing{of: c, mean: lefts(r.LeftOnMean, len(sets)), core: lefts(r.At(0, 0).Left, len(sets)), whPerK: r.WhPerKelvin * c.filled()}
		n := f.begin()
		for _, set := range sets {
			f.follow(&n, set)
		}
		out[i].energy = heat.Energy{HeaterKWh: n.heatWh / 1000, HoneyKWh: f.whPerK * (n.meanC - c.StartC) / 1000}
		out[i].energy.LostKWh = out[i].energy.HeaterKWh - out[i].energy.HoneyKWh
		for _, p := range points {
			at, err := c.through(lefts(r.At(p.across, p.up).Left, len(sets)), sets)
			if err != nil {
				return out, err
			}
			did, err := k.Forecast(s, at)
			if err != nil {
				return out, err
			}
			out[i].hmf, out[i].diastase = plus(out[i].hmf, did.HMFMgPerKg, p.part), plus(out[i].diastase, did.DiastaseDN, p.part)
		}
	}
	return out, nil
}

func plus(sum, b heat.Band, part float64) heat.Band {
	return heat.Band{Low: sum.Low + part*b.Low, Middle: sum.Middle + part*b.Middle, High: sum.High + part*b.High}
}

// through is the temperature of a place in the honey over a course.
func (c Containers) through(left []float64, sets []int) (heat.History, error) {
	n := node{roomC: c.StartC}
	readings := []heat.Point{{TemperatureC: c.StartC}}
	for _, set := range sets {
		room := c.AroundC
		if set != Off {
			room = float64(set)
		}
		n.turnTo(room)
		n.hour++
		readings = append(readings, heat.Point{At: time.Time{}.Add(time.Duration(n.hour) * time.Hour), TemperatureC: n.now(c.StartC, left)})
	}
	return heat.FromPoints(readings, nil)
}
