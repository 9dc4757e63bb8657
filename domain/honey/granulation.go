package honey

// GlucoseMonohydrateWaterPct is the water bound in a crystal of glucose
// monohydrate, C6H12O6.H2O: 18.015 g of 198.17 g.
const GlucoseMonohydrateWaterPct = 100 * 18.015 / 198.17

// maxCrystalsPct allows for 40 % glucose, all of it crystallised as monohydrate;
// more glucose than that is not found in honey (common practice).
const maxCrystalsPct = 45.0

// LiquidMoisturePct returns the moisture of the liquid between the crystals of
// granulating honey: moisturePct (10 to 30) is that of the whole, crystalsPct
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
