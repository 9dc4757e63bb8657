package standard

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/shopspring/decimal"

	"pullbook/domain/message"
)

// Decimal is a number as printed: its value is exact and its decimal places are
// kept, since "18.0" and "18" round differently and 17.85 has no exact binary
// form.
type Decimal struct{ d decimal.Decimal }

// decimalText bounds the length so that a hostile value cannot cost memory.
var decimalText = regexp.MustCompile(`^[+-]?[0-9]{1,15}(\.[0-9]{1,15})?$`)

// ParseDecimal reads decimal text such as "17.8" or "-0.55". Thousands
// separators, a decimal comma and powers of ten are refused.
func ParseDecimal(text string) (Decimal, error) {
	trimmed := strings.TrimSpace(text)
	if !decimalText.MatchString(trimmed) {
		return Decimal{}, message.Errorf("%s is not a plain decimal number; write it like 17.8", message.Quoted(text))
	}
	d, err := decimal.NewFromString(trimmed)
	if err != nil {
		return Decimal{}, fmt.Errorf("%q is not a plain decimal number: %w", text, err)
	}
	return Decimal{d}, nil
}

var decimalOne = MustDecimal("1")

// MustDecimal is ParseDecimal for constants; it panics on text that is not a number.
func MustDecimal(text string) Decimal {
	d, err := ParseDecimal(text)
	if err != nil {
		panic(err)
	}
	return d
}

// Places is the number of digits after the point, as printed.
func (x Decimal) Places() int32 { return max(0, -x.d.Exponent()) }

// String prints the number with the places it was given.
func (x Decimal) String() string { return x.d.StringFixed(x.Places()) }

// Said is the number in a sentence, with the places it was given.
func (x Decimal) Said() message.Number {
	return message.Number{V: x.Float64(), Places: int(x.Places())}
}

// mostMeasured is how many places a figure may have that somebody measured; a mean
// may have more.
const mostMeasured = 4

// Short is a mean with so many places that it can be read, at least two; all else is
// as it was given.
func (x Decimal) Short() Decimal { return x.short(2) }

func (x Decimal) short(places int32) Decimal {
	if x.Places() <= mostMeasured {
		return x
	}
	return Decimal{x.d.Round(places)}
}

// Float64 is the nearest binary number, for statistics only, never for a comparison with a limit.
func (x Decimal) Float64() float64 { return x.d.InexactFloat64() }

// Cmp is -1, 0 or +1 as x is below, equal to or above y.
func (x Decimal) Cmp(y Decimal) int { return x.d.Cmp(y.d) }

// Sign is -1, 0 or +1 as x is below, at or above zero.
func (x Decimal) Sign() int { return x.d.Sign() }

// Add is exact.
func (x Decimal) Add(y Decimal) Decimal { return Decimal{x.d.Add(y.d)} }

// Sub is exact.
func (x Decimal) Sub(y Decimal) Decimal { return Decimal{x.d.Sub(y.d)} }

// Mul is exact.
func (x Decimal) Mul(y Decimal) Decimal { return Decimal{x.d.Mul(y.d)} }

func (x Decimal) negated() Decimal {
	if x.Sign() == 0 {
		return x
	}
	return Decimal{x.d.Neg()}
}

// MarshalText writes the number as printed.
func (x Decimal) MarshalText() ([]byte, error) { return []byte(x.String()), nil }

// UnmarshalText reads what ParseDecimal reads.
func (x *Decimal) UnmarshalText(text []byte) error {
	parsed, err := ParseDecimal(string(text))
	if err != nil {
		return err
	}
	*x = parsed
	return nil
}

// quotientPlaces is how far a division is carried: a dozen places lie far beyond
// any reading, so a mean never crosses a limit by being cut off.
const quotientPlaces = 12

// over divides, and drops the zeros that the division added beyond the places of
// the dividend.
func (x Decimal) over(y Decimal) Decimal {
	q := x.d.DivRound(y.d, quotientPlaces).Normalize()
	return Decimal{q.Add(decimal.New(0, -x.Places()))} // a zero of so many places adds no more than those
}

func decimalFromFloat(f float64) Decimal {
	return Decimal{decimal.NewFromFloat(f).Round(quotientPlaces)}
}

func decimalFromInt(i int) Decimal { return Decimal{decimal.NewFromInt(int64(i))} }
