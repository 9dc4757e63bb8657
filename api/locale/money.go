package locale

import (
	"math"
	"strconv"
	"strings"

	"golang.org/x/text/currency"
)

// minorPlaces is how many decimals a currency's minor unit has (ISO 4217): two of
// the dollar, none of the yen. An unknown one is taken to have two.
func minorPlaces(code string) int {
	unit, err := currency.ParseISO(code)
	if err != nil {
		return 2
	}
	scale, _ := currency.Standard.Rounding(unit)
	return scale
}

// Money is an amount in minor units as people write it.
func (f Voice) Money(minor int64, code string) string {
	places := minorPlaces(code)
	return f.Number(float64(minor)/math.Pow10(places), places) + "\u00a0" + code
}

// TypedMoney reads an amount back into minor units.
func (f Voice) TypedMoney(typed, code string) (int64, error) {
	v, err := f.Parse(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(typed), code)))
	if err != nil {
		return 0, err
	}
	// Through text, so that 0.29 of a dollar is 29 cents and not 28.999.
	minor, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', minorPlaces(code), 64), 64)
	return int64(math.Round(minor * math.Pow10(minorPlaces(code)))), err
}
