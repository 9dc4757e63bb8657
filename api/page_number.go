package api

import (
	"math"
	"strconv"
	"strings"

	"pullbook/domain/fault"
)

// decimalMark is what stands before the decimals in the reader's region.
func (t tongue) decimalMark() string {
	return strings.Trim(t.Region.FmtNumber(0.5, 1), "05")
}

// parse reads a number that somebody typed on a page, with the decimal mark of
// the reader's region and spaces between thousands, if any. Another region's mark
// is refused and never guessed at: 1.234 is one and a bit to one reader and a
// thousand to another.
func (t tongue) parse(typed string) (float64, error) {
	plain := strings.NewReplacer(" ", "", "\u00a0", "", "\u202f", "", "\u2212", "-").Replace(typed)
	mark := t.decimalMark()
	if other := map[string]string{",": ".", ".": ","}[mark]; strings.Contains(plain, other) {
		return 0, fault.New(fault.Invalid, "%s can be read in two ways. Write decimals after a %s and leave thousands together: %s.",
			typed, mark, "1234"+mark+"5")
	}
	v, err := strconv.ParseFloat(strings.Replace(plain, mark, ".", 1), 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) || strings.ContainsAny(plain, "xXeEpP_") {
		return 0, fault.New(fault.Invalid, "%s is no number; %s would be one.", typed, "17"+mark+"4")
	}
	return v, nil
}

// roundTo rounds to so many places.
func roundTo(v float64, places int) float64 {
	scale := math.Pow(10, float64(places))
	return math.Round(v*scale) / scale
}
