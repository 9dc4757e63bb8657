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

func (c Containers) warmestC() float64 { return max(c.StartC, c.AroundC) }

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

// standing follows containers by what has come of each step of the room.
type standing struct {
	of         Containers
	hmfPerHour table
	// came is what has come after each whole hour: of the slow honey's core, of the middle honey's
	// points taken together (together), of its mean, and at each point.
	came   [][places]float64
	whPerK float64
}

// The places in the honey that are followed.
const (
	core = iota
	together
	mean
	firstPoint
	places = firstPoint + 9
)

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
	s := &standing{of: c, hmfPerHour: hmfPerHour, whPerK: middle.WhPerKelvin * c.filled(), came: make([][places]float64, hours+1)}
	left := make([]func(hours float64) float64, places)
	left[core], left[mean] = low.At(0, 0).Left, middle.LeftOnMean
	if hmfPerHour == nil {
		s.hmfPerHour = nothing
	} else {
		for i, p := range points {
			left[firstPoint+i] = middle.At(p.across, p.up).Left
		}
	}
	for place, of := range left {
		if of == nil {
			continue
		}
		for h, part := range lefts(of, hours) {
			s.came[h][place] = 1 - part
		}
	}
	for h := range s.came {
		for i, p := range points {
			s.came[h][together] += p.part * s.came[h][firstPoint+i]
		}
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
	c := s.of.StartC
	return node{coldestC: c, meanC: c, roomC: c, rate: s.hmfPerHour.at(c)}
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
	room := s.of.roomC(setC)
	n.turnTo(room)
	n.hour++
	var celsius [places]float64
	for i := range celsius {
		celsius[i] = s.of.StartC
	}
	for _, t := range n.turns[:n.turned] {
		for i, came := range &s.came[n.hour-t.hour] {
			celsius[i] += t.byK * came
		}
	}
	before, rate := n.meanC, n.rate
	n.coldestC, n.meanC, n.rate = celsius[core], celsius[mean], 0
	for i := range points {
		n.rate += points[i].part * s.hmfPerHour.at(celsius[firstPoint+i])
	}
	n.hmf += (rate + n.rate) / 2
	s.heats(n, setC, room, before)
}

// roughly has HMF form at the mean of the points: each kelvin hotter adds more than the one before, so that it forms at
// least as fast as there.
func (s *standing) roughly(n *node, setC int) {
	room := s.of.roomC(setC)
	n.turnTo(room)
	n.hour++
	slow, all, whole := s.of.StartC, s.of.StartC, s.of.StartC
	for _, t := range n.turns[:n.turned] {
		came := &s.came[n.hour-t.hour]
		slow, all, whole = slow+t.byK*came[core], all+t.byK*came[together], whole+t.byK*came[mean]
	}
	before, rate := n.meanC, n.rate
	n.coldestC, n.meanC, n.rate = slow, whole, s.hmfPerHour.at(all)
	n.hmf += (rate + n.rate) / 2
	s.heats(n, setC, room, before)
}

// heats adds what the heater gave over an hour that began with the mean so warm.
func (s *standing) heats(n *node, setC int, roomC, beforeC float64) {
	if setC == Off {
		return
	}
	wh := s.of.heaterWh(s.whPerK, n.meanC-beforeC, roomC)
	n.heatWh, n.mostW = n.heatWh+wh, max(n.mostW, wh)
}

// roomC is how warm the room is.
func (c Containers) roomC(setC int) float64 {
	if setC == Off {
		return c.AroundC
	}
	return float64(setC)
}

// heaterWh is what the room's heater gives over an hour in which the honey warms by so much.
func (c Containers) heaterWh(whPerK, byK, roomC float64) float64 {
	return max(0, whPerK*byK+c.RoomLossWPerK*(roomC-c.AroundC))
}

func (c Containers) outcomes(sets []int, k heat.Kinetics, s heat.State) (out [3]outcome, err error) {
	slow, middle, fast, err := c.Responses(c.StartC, (c.StartC+heat.MeltsToC)/2)
	if err != nil {
		return out, err
	}
	for i, r := range []heat.Response{slow, middle, fast} {
		means, whPerK := c.through(lefts(r.LeftOnMean, len(sets)), sets), r.WhPerKelvin*c.filled()
		for h, set := range sets {
			if set != Off {
				out[i].energy.HeaterKWh += c.heaterWh(whPerK, means[h+1]-means[h], c.roomC(set)) / 1000
			}
		}
		out[i].energy.HoneyKWh = whPerK * (means[len(sets)] - c.StartC) / 1000
		out[i].energy.LostKWh = out[i].energy.HeaterKWh - out[i].energy.HoneyKWh
		for _, p := range points {
			at, err := history(c.through(lefts(r.At(p.across, p.up).Left, len(sets)), sets))
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

// through is the temperature of a place in the honey at each whole hour of a course.
func (c Containers) through(left []float64, sets []int) []float64 {
	n := node{roomC: c.StartC}
	out := []float64{c.StartC}
	for _, set := range sets {
		n.turnTo(c.roomC(set))
		n.hour++
		out = append(out, n.now(c.StartC, left))
	}
	return out
}

// history is of temperatures at whole hours.
func history(celsius []float64) (heat.History, error) {
	var readings []heat.Point
	for h, c := range celsius {
		readings = append(readings, heat.Point{At: time.Time{}.Add(time.Duration(h) * time.Hour), TemperatureC: c})
	}
	return heat.FromPoints(readings, nil)
}
