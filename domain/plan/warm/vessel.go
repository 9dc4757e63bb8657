package warm

import "pullbook/domain/heat"

// Vessel is what is warmed: a Tank, or Containers in a room.
type Vessel interface {
	// massKg is the honey in it.
	massKg() float64
	// honeyPct are its moisture and crystals.
	honeyPct() (moisture, crystals float64)
	// steady says that it begins as warm as what is around it, coolsAtOnce that its coldest honey does
	// once the heater is off.
	steady() bool
	coolsAtOnce() bool
	// warmestC is how warm it is at the most without heat.
	warmestC() float64
	// moltenKWh is what its crystals took up once it was as warm as that.
	moltenKWh(hottestC float64) float64
	// tried is what a figure is, and between which it is tried whether the plan turns; otherwise is the vessel with another one.
	tried(f Figure) (now, least, most float64)
	otherwise(f Figure, v float64) (Vessel, error)
	// ready makes what following it for so many hours needs: slow is by how many standard
	// deviations it may warm less well than expected. Without a rate, no HMF is followed.
	ready(hours int, slow float64, hmfPerHour table) (follower, error)
	// outcomes are what a course does to a honey in a vessel that warms less well, as expected,
	// and better.
	outcomes(sets []int, k heat.Kinetics, s heat.State) ([3]outcome, error)
}

// follower follows a vessel hour by hour.
type follower interface {
	begin() node
	// follow takes a vessel an hour on: setC is the set point, 0 is off.
	follow(n *node, setC int)
	// roughly is follow by less work: no more HMF forms by it than by follow, and all else is the same.
	roughly(n *node, setC int)
}

// node is a vessel at a whole hour of a course.
type node struct {
	hour int
	// coldestC is the coldest of the honey where it warms less well than expected, meanC the mean as expected.
	coldestC, meanC float64
	// slow and middle are of a tank.
	slow, middle heat.Warmth
	// turns are of containers: when the room came to another temperature. roomC is its latest.
	turns  [mostTurns]turn
	turned int
	roomC  float64
	// rate is how much HMF forms an hour right now, of containers.
	rate float64
	// doses are what the aim asks for so far, hmf what formed in mg/kg, heatWh what the heater gave.
	doses       [2]float64
	hmf, heatWh float64
	// mostW is the most that the heater gave over an hour.
	mostW float64
}

// turn is a step of the room's temperature.
type turn struct {
	hour int
	byK  float64
}

// mostTurns are as many as a course has: at its beginning, and at each change.
const mostTurns = 5

// outcome is what a course does.
type outcome struct {
	hmf, diastase heat.Band
	energy        heat.Energy
}
