package ledger

import (
	"errors"
	"math"
	"regexp"

	"pullbook/domain/honey"
	"pullbook/domain/say"
)

// Outside is a figure that honey or a formula does not allow, as a sentence
// without capital and full stop.
func Outside(e *honey.RangeError) say.Text {
	quantity := say.F("quantity|" + e.Quantity)
	if m := tableRow.FindStringSubmatch(e.Quantity); m != nil {
		quantity = say.F("%s in row %s of the dip table", say.F("quantity|"+m[1]), m[2])
	}
	got, low, high := withUnit(e.Got, e.Unit), withUnit(e.Min, e.Unit), withUnit(e.Max, e.Unit)
	var text say.Text
	switch {
	case math.IsInf(e.Max, 1):
		text = say.F("%s %s cannot be used: it must be at least %s", quantity, got, low)
	case math.IsInf(e.Min, -1):
		text = say.F("%s %s cannot be used: it must be at most %s", quantity, got, high)
	default:
		text = say.F("%s %s cannot be used: it must be from %s to %s", quantity, got, from(e), high)
	}
	if e.Hint.Format != "" {
		text = say.F("%s; %s", text, say.F(e.Hint.Format, e.Hint.Figures...))
	}
	return text
}

// tableRow is how domain/honey names a figure of a dip table.
var tableRow = regexp.MustCompile(`^(\w+) in row (\d+) of the dip table$`)

// from is the lower end of a range, without its unit where the upper end says it.
func from(e *honey.RangeError) say.Text {
	switch e.Unit {
	case "C", "kg", "L":
		return withUnit(e.Min, e.Unit)
	case "cm", "mm", "m2", "K":
		return say.F("%s", say.Measured{V: e.Min, Unit: e.Unit, Bare: true})
	}
	return withUnit(e.Min, "")
}

// withUnit is a figure with its unit, that of the outfit where it is one of
// mass, temperature, volume or length.
func withUnit(v float64, unit string) say.Text {
	switch unit {
	case "":
		return say.F("%s", say.Figure(v))
	case "C":
		return say.F("%s", say.Celsius(v))
	case "kg":
		return say.F("%s", say.Kg(v))
	case "L":
		return say.F("%s", say.Litres(v))
	case "cm", "mm", "m2", "K":
		return say.F("%s", say.Measured{V: v, Unit: unit})
	}
	return say.F("%s %s", say.Figure(v), say.F("unit|"+unit))
}

// Refusal is an error of the science in a sentence, without a full stop.
func Refusal(err error) say.Text {
	if r := new(honey.RangeError); errors.As(err, &r) {
		return Outside(r)
	}
	return say.Of(err)
}
