package locale

import (
	"strings"

	"pullbook/domain/units"
)

const gramsPerKilogram = 1000

// GramsPerPound is the international pound in grams.
const GramsPerPound = units.KilogramsPerPound * gramsPerKilogram

// usUnits are what a US outfit reads for a metric unit, and how a figure becomes one
// in it: first times, then plus. An inch is 2.54 cm and a foot 0.3048 m, exactly
// (international yard and pound agreement of 1959).
var usUnits = map[string]struct {
	unit        string
	times, plus float64
}{
	"kg": {"lb", 1 / units.KilogramsPerPound, 0},
	"°C": {"°F", 1.8, 32},
	"cm": {"in", 1 / 2.54, 0},
	"L":  {"gal", 1 / units.LitresPerUSGallon, 0},
	"mm": {"in", 1 / 25.4, 0},
	"m2": {"ft²", 1 / (0.3048 * 0.3048), 0},
	"K":  {"°F", 1.8, 0}, // a difference
}

// metricSymbol is a metric unit as it is written, which is the same everywhere.
func metricSymbol(unit string) string { return strings.Replace(unit, "m2", "m²", 1) }

// Unit returns what the outfit reads for a metric unit.
func (f Voice) Unit(metric string) string {
	if us, ok := usUnits[metric]; ok && f.US() {
		return us.unit
	}
	return metricSymbol(metric)
}

// ToUnit returns a metric figure in the outfit's unit.
func (f Voice) ToUnit(metric string, v float64) float64 {
	if us, ok := usUnits[metric]; ok && f.US() {
		return v*us.times + us.plus
	}
	return v
}

// ToMetric returns a figure in the outfit's unit as the metric one.
func (f Voice) ToMetric(metric string, v float64) float64 {
	if us, ok := usUnits[metric]; ok && f.US() {
		return (v - us.plus) / us.times
	}
	return v
}
