package honey

import "math"

// State says whether honey is liquid or granulated.
type State int

const (
	Liquid State = iota
	Granulated
)

// WaterActivity returns the water activity of honey of mean composition as a
// fraction.
//
// moisturePct 5 to 40, temperatureC 20 to 30; anything else is a *RangeError.
// It is Norrish's isotherm for solutions of several sugars,
// aw = x_w exp(-(sum of sqrt(K) x)^2), x in moles of all, for the mean
// composition of 490 honeys (White 1962, from memory): 38.19 g of fructose, 31.28
// of glucose, 7.31 of maltose and its like, 1.31 of sucrose and 1.50 of higher
// sugars beside 17.2 g of water. Granulated honey reads 0.035 higher than the
// same honey liquid (0.03 to 0.04 in fifty samples). Honeys scatter about the
// curve by WaterActivityStdUncertainty within WaterActivityMoisture, which
// published isotherms cover. No temperature coefficient could be confirmed, so
// none is applied and the range is short.
func WaterActivity(moisturePct, temperatureC float64, state State) (float64, error) {
	if err := moistureRange(moisturePct, PossibleMoistureMinPct, PossibleMoistureMaxPct); err != nil {
		return 0, err
	}
	if err := temperatureRange(temperatureC, 20, 30); err != nil {
		return 0, err
	}
	activity := norrish(moisturePct)
	if state == Granulated {
		activity += granulatedActivityRise
	}
	return activity, nil
}

// EquilibriumMoisturePct returns the moisture of liquid honey that air of a
// relative humidity neither wets nor dries at about 25 C: WaterActivity turned
// round. humidityPct is from that of honey of 5 to that of honey of 40 % moisture,
// about 15 to 85.
func EquilibriumMoisturePct(humidityPct float64) (float64, error) {
	low, high := 100*norrish(PossibleMoistureMinPct), 100*norrish(PossibleMoistureMaxPct)
	if !within(humidityPct, low, high) {
		return 0, &RangeError{Quantity: "relative humidity", Unit: "%", Got: humidityPct, Min: low, Max: high}
	}
	return risingInverse(norrish, PossibleMoistureMinPct, PossibleMoistureMaxPct, humidityPct/100), nil
}

const (
	// WaterActivityStdUncertainty is the scatter of the published surveys about
	// the curve of WaterActivity, where they cover it.
	WaterActivityStdUncertainty = 0.045

	// YeastWaterActivity is the least water activity at which osmotolerant
	// yeast grows, 0.61 to 0.62 published.
	YeastWaterActivity = 0.61

	granulatedActivityRise = 0.035

	// waterActivityBeyond is taken outside WaterActivityMoisture (a judgement).
	waterActivityBeyond = 0.06
)

// WaterActivityMoisture is the moisture that published isotherms of honey
// cover, and WaterActivityTemperature where they were measured.
var (
	WaterActivityMoisture    = Range{Of: "moisture", Unit: "%", From: 13, To: 33}
	WaterActivityTemperature = Range{Of: "temperature", Unit: "C", From: 20, To: 30}
)

// WaterActivityStdUncertaintyAt is the standard uncertainty of WaterActivity for a
// moisture of 5 to 40 %: wider where no published isotherm goes.
func WaterActivityStdUncertaintyAt(moisturePct float64) float64 {
	if WaterActivityMoisture.Covers(moisturePct) {
		return WaterActivityStdUncertainty
	}
	return waterActivityBeyond
}

// solute is one sort of sugar in 100 g of mean honey: its mass, its molar mass
// and Norrish's K for it.
type solute struct{ grams, molar, k float64 }

// The constants K are of Chirife, Ferro Fontan and Benmergui 1980 (from memory);
// higher sugars are taken as trisaccharides with twice that of maltose.
var meanHoney = [...]solute{
	{38.19, 180.16, 2.25}, // fructose
	{31.28, 180.16, 2.25}, // glucose
	{7.31, 342.30, 4.54},  // maltose and its like
	{1.31, 342.30, 6.47},  // sucrose
	{1.50, 504.44, 9.0},   // higher sugars
}

const (
	waterMolar        = 18.015
	meanHoneyMoisture = 17.2
)

func norrish(moisturePct float64) float64 {
	return norrishOf(moisturePct, meanHoney[:], (100-moisturePct)/(100-meanHoneyMoisture))
}

// norrishOf is the water activity of so many grams of water with a part of some
// sugars.
func norrishOf(waterG float64, sugars []solute, part float64) float64 {
	water := waterG / waterMolar
	all, weighted := water, 0.0
	for _, s := range sugars {
		moles := part * s.grams / s.molar
		all += moles
		weighted += math.Sqrt(s.k) * moles
	}
	return water / all * math.Exp(-weighted*weighted/(all*all))
}
