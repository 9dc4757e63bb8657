// Package honey holds the physical properties of honey: what a refractometer,
// a dip stick, a colour grader and a viscometer say, each from a published
// table or formula named beside it.
//
// Moisture is in g per 100 g (written Pct), temperature in degrees Celsius,
// lengths in centimetres, volumes in litres, masses in kilograms. Every
// function states its range; a figure outside it is a *RangeError, never a
// guess. Where a formula may be carried on beyond the table or the samples
// that it rests on, a Range says where those end, and the uncertainty is wider
// outside. The package does no input or output and keeps no state. README.md
// beside it sets out where the sources disagree and what was chosen.
package honey

// Moisture bounds for judging a figure before it is used: outside the possible
// range it is a slip of the pen or the unit, outside the ordinary range it
// deserves a second look. Common practice; a survey of 1,063 honeys found 13.4
// to 26.6 % (Crane 1980). Honey that the bees have not finished and honey of
// stingless bees are wetter: the possible range has room for them.
const (
	PossibleMoistureMinPct = 5.0
	PossibleMoistureMaxPct = 40.0
	OrdinaryMoistureMinPct = 14.5
	OrdinaryMoistureMaxPct = 21.0
)
