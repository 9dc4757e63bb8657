package honey

// State says whether honey is liquid or granulated.
type State int

const (
	Liquid State = iota
	Granulated
)

// WaterActivity returns the water activity of floral honey as a fraction.
//
// moisturePct 13 to 21, temperatureC 20 to 30; anything else is a *RangeError.
// The line aw = 0.264 + 0.0167 W is fitted to eleven published points of five
// surveys (Turkish, Slovenian, Greek and buckwheat honeys, measured at about
// 25 C); wateractivity_test.go repeats the fit. Granulated honey reads 0.035
// higher than the same honey liquid (0.03 to 0.04 in fifty samples). The
// published figures scatter by WaterActivityStdUncertainty; no temperature
// coefficient could be confirmed, so none is applied and the range is short.
func WaterActivity(moisturePct, temperatureC float64, state State) (float64, error) {
	if err := moistureRange(moisturePct, 13, 21); err != nil {
		return 0, err
	}
	if err := temperatureRange(temperatureC, 20, 30); err != nil {
		return 0, err
	}
	activity := activityIntercept + activityPerPct*moisturePct
	if state == Granulated {
		activity += granulatedActivityRise
	}
	return activity, nil
}

const (
	// WaterActivityStdUncertainty is the scatter of the published points about
	// the line of WaterActivity.
	WaterActivityStdUncertainty = 0.04

	// YeastWaterActivity is the least water activity at which osmotolerant
	// yeast grows, 0.61 to 0.62 published.
	YeastWaterActivity = 0.61

	activityIntercept      = 0.264
	activityPerPct         = 0.0167
	granulatedActivityRise = 0.035
)
