package honey

import (
	"fmt"
	"math"
	"strconv"

	"pullbook/domain/units"
)

// RangeError says that a figure lies outside what a formula or a published
// table covers, or outside what honey can be. It is the only error type of
// this package: Quantity and Unit name the figure, Min and Max are the ends
// that would have been accepted (an infinite end is open), and Hint, where
// there is one, says what probably went wrong.
type RangeError struct {
	Quantity, Unit string
	Got, Min, Max  float64
	Hint           Hint
}

// Hint is a phrase and the figures that go into its places (each a %s), kept
// apart so that it can be said in another language.
type Hint struct {
	Format  string
	Figures []any
}

func (h Hint) String() string {
	said := make([]any, len(h.Figures))
	for i, f := range h.Figures {
		said[i] = f
		if v, ok := f.(float64); ok {
			said[i] = figure(v, "")
		}
	}
	return fmt.Sprintf(h.Format, said...)
}

func (e *RangeError) Error() string {
	text := e.Quantity + " " + figure(e.Got, e.Unit) + " cannot be used: it must be "
	switch {
	case math.IsInf(e.Max, 1):
		text += "at least " + figure(e.Min, e.Unit)
	case math.IsInf(e.Min, -1):
		text += "at most " + figure(e.Max, e.Unit)
	default:
		text += "from " + figure(e.Min, "") + " to " + figure(e.Max, e.Unit)
	}
	if e.Hint.Format != "" {
		text += "; " + e.Hint.String()
	}
	return text
}

func figure(value float64, unit string) string {
	text := strconv.FormatFloat(value, 'g', 7, 64)
	if unit == "" {
		return text
	}
	return text + " " + unit
}

// within is written so that a NaN fails it.
func within(value, low, high float64) bool { return value >= low && value <= high }

func moistureRange(moisturePct, low, high float64) error {
	if within(moisturePct, low, high) {
		return nil
	}
	return &RangeError{Quantity: "moisture", Unit: "%", Got: moisturePct, Min: low, Max: high,
		Hint: fractionHint(moisturePct, low, high)}
}

func temperatureRange(temperatureC, low, high float64) error {
	if within(temperatureC, low, high) {
		return nil
	}
	return &RangeError{Quantity: "temperature", Unit: "C", Got: temperatureC, Min: low, Max: high,
		Hint: fahrenheitHint(temperatureC, low, high)}
}

// fractionHint recognises 0.18 sent for 18 %, which was out of a range that begins above
// 0 and ends below 100.
func fractionHint(pct, low, high float64) Hint {
	if within(100*pct, low, high) {
		return Hint{"it looks like a fraction: send %s for %s %%", []any{100 * pct, 100 * pct}}
	}
	return Hint{}
}

// fahrenheitHint recognises 113 sent for 45 C. Only a figure that is too hot
// as Celsius comes into the range so: one that is too cold is colder in Fahrenheit.
func fahrenheitHint(temperatureC, low, high float64) Hint {
	asCelsius := units.Celsius(temperatureC)
	if within(asCelsius, low, high) {
		return Hint{"it looks like Fahrenheit: %s F is %s C", []any{temperatureC, strconv.FormatFloat(asCelsius, 'f', 1, 64)}}
	}
	return Hint{}
}

func uncertaintyRange(quantity, unit string, value, high float64) error {
	if within(value, 0, high) {
		return nil
	}
	return &RangeError{Quantity: quantity, Unit: unit, Got: value, Min: 0, Max: high}
}

// liquidHoney is the range in which honey is a liquid worth a formula: what
// moisture honey can have, and what temperature a honey house gives it.
func liquidHoney(moisturePct, temperatureC float64) error {
	if err := moistureRange(moisturePct, PossibleMoistureMinPct, PossibleMoistureMaxPct); err != nil {
		return err
	}
	return temperatureRange(temperatureC, 0, 80)
}
