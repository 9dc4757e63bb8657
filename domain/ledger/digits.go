package ledger

import "math"

// In how many parts of a unit an instrument shows its figure: a hand-held refractometer, a
// stick and a drum scale show tenths, a bench instrument hundredths (common practice).
const (
	tenths     = 10.0
	hundredths = 100.0
)

// partsShown is how an instrument shows a figure that was read off it: in tenths, also
// where it ended in a nought that nobody wrote down, unless the figure has hundredths.
func partsShown(figure float64) float64 {
	const noise = 1e-6 // of what is reckoned in binary
	if off := figure * tenths; math.Abs(off-math.Round(off)) > noise {
		return hundredths
	}
	return tenths
}

// swapIn swaps two neighbouring digits of a figure as it was shown until it fits, the last
// ones first: 16.7 for 17.6, 45 for 54, 20.1 for 21.
func swapIn(figure, parts float64, fits func(float64) bool) (float64, bool) {
	shown := int64(math.Round(figure * parts))
	for place := int64(1); place*10 <= shown; place *= 10 {
		low, high := shown/place%10, shown/place/10%10
		swapped := float64(shown+(high-low)*place+(low-high)*place*10) / parts
		if low != high && fits(swapped) {
			return swapped, true
		}
	}
	return 0, false
}
