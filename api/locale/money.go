package locale

import (
	"math"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"
	"golang.org/x/text/currency"

	"pullbook/domain/units"
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

// Of a price, so many places are kept below the minor unit: what is typed for a pound comes
// back as it was typed.
const (
	keptPlaces  = 9
	shownPlaces = 4
)

// TypedPrice reads a price of the outfit's unit of mass, in major units of a currency, and
// returns the price of a kilogram in minor units, as decimal text. It fails for what is no number.
func (f Voice) TypedPrice(typed, code string) (string, error) {
	plain, err := f.Decimal(typed)
	if err != nil {
		return "", err
	}
	price, err := decimal.NewFromString(plain)
	if err != nil {
		return "", err
	}
	price = price.Shift(int32(minorPlaces(code)))
	if f.US() {
		price = price.DivRound(decimal.NewFromFloat(units.KilogramsPerPound), keptPlaces)
	}
	return price.String(), nil
}

// PriceTyped is TypedPrice backwards. Text that is no number stays as it is.
func (f Voice) PriceTyped(minorPerKg, code string) string {
	price, err := decimal.NewFromString(minorPerKg)
	if err != nil {
		return minorPerKg
	}
	places := int32(minorPlaces(code))
	if price = price.Shift(-places); f.US() {
		price = price.Mul(decimal.NewFromFloat(units.KilogramsPerPound)).Round(places + shownPlaces)
	}
	text := price.StringFixed(max(places, int32(len(fraction(price.String())))))
	return strings.Replace(text, ".", f.DecimalMark(), 1)
}

// Major is an amount in minor units as a figure in the currency itself, and how many decimals it has.
func Major(minor int64, code string) (amount float64, places int) {
	places = minorPlaces(code)
	return float64(minor) / math.Pow10(places), places
}
