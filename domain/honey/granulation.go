package honey

// GlucoseMonohydrateWaterPct is the water bound in a crystal of glucose
// monohydrate, C6H12O6.H2O: 18.015 g of 198.17 g.
const GlucoseMonohydrateWaterPct = 100 * 18.015 / 198.17

// maxCrystalsPct allows for 40 % glucose, all of it crystallised as monohydrate;
// more glucose than that is not found in honey (common practice).
const maxCrystalsPct = 45.0

// GranulationMoisture and GranulationCrystals are what honey that granulates has.
var (
	GranulationMoisture = Range{Of: "moisture", Unit: "%", From: 10, To: 30}
	GranulationCrystals = Range{Of: "crystals", Unit: "%", From: 0, To: maxCrystalsPct}
)

// LiquidMoisturePct returns the moisture of the liquid between the crystals of
// granulating honey: moisturePct (5 to 40) is that of the whole, crystalsPct
// (0 to 45) the mass of glucose monohydrate crystals in 100 g. It is a mass
// balance of the water, W_liquid = (W - 9.09 x) / (1 - x).
func LiquidMoisturePct(moisturePct, crystalsPct float64) (float64, error) {
	if err := moistureRange(moisturePct, PossibleMoistureMinPct, PossibleMoistureMaxPct); err != nil {
		return 0, err
	}
	if !within(crystalsPct, 0, maxCrystalsPct) {
		return 0, &RangeError{Quantity: "crystals", Unit: "%", Got: crystalsPct, Min: 0, Max: maxCrystalsPct}
	}
	crystals := crystalsPct / 100
	return (moisturePct - GlucoseMonohydrateWaterPct*crystals) / (1 - crystals), nil
}

// Tendency is how soon honey granulates by its sugars.
type Tendency int

const (
	// TendencyNotKnown: its sugars were not measured.
	TendencyNotKnown Tendency = iota
	// GranulatesSlowly: it stays liquid for long.
	GranulatesSlowly
	// GranulatesInTime: it sets within months in a cool store.
	GranulatesInTime
	// GranulatesFast: it sets within weeks.
	GranulatesFast
)

// Sugars are what decides about granulating; 0 is a figure that is not known.
type Sugars struct {
	// FructosePlusGlucosePct is the sum of both in 100 g, FructoseToGlucose their
	// ratio.
	FructosePlusGlucosePct, FructoseToGlucose float64
}

// Where the ratios part honeys that stay liquid from those that set fast. Glucose
// to water: 1.7 and 2.1 (read, after White). Fructose to glucose: 1.33 and 1.11
// (from memory, after Manikis and Thrasivoulou 2001 and others).
const (
	slowBelowGlucoseToWater, fastFromGlucoseToWater       = 1.7, 2.1
	slowAboveFructoseToGlucose, fastUpToFructoseToGlucose = 1.33, 1.11
)

// GranulationTendency returns how soon honey of moisturePct granulates. Glucose to
// water goes before fructose to glucose where both are known, since it also knows
// the moisture; without figures the answer is TendencyNotKnown.
func GranulationTendency(s Sugars, moisturePct float64) Tendency {
	switch ratio := s.FructoseToGlucose; {
	case ratio <= 0:
		return TendencyNotKnown
	case s.FructosePlusGlucosePct > 0 && moisturePct > 0:
		glucose := s.FructosePlusGlucosePct / (1 + ratio)
		return tendency(glucose/moisturePct >= fastFromGlucoseToWater, glucose/moisturePct < slowBelowGlucoseToWater)
	default:
		return tendency(ratio <= fastUpToFructoseToGlucose, ratio > slowAboveFructoseToGlucose)
	}
}

func tendency(fast, slow bool) Tendency {
	switch {
	case fast:
		return GranulatesFast
	case slow:
		return GranulatesSlowly
	}
	return GranulatesInTime
}

// Honey granulates fastest near 14 C, and hardly below 10 or above 18 (common
// practice; 13 to 17 in encyclopaedias). A fast honey sets up to 25, above which
// crystals of glucose begin to dissolve (common practice).
const (
	GranulatesFromC, GranulatesToC = 10.0, 18.0
	fastGranulatesToC              = 25.0
)

// LikelyAt reports whether honey of this tendency is to be expected to granulate in
// a store of temperatureC before the year is out. Of honey whose sugars are not known
// the store alone says it: mean honey (glucose to water 1.8) granulates in time.
func (t Tendency) LikelyAt(temperatureC float64) bool {
	switch t {
	case GranulatesSlowly:
		return false
	case GranulatesFast:
		return within(temperatureC, 0, fastGranulatesToC)
	}
	return within(temperatureC, GranulatesFromC, GranulatesToC)
}
