package ledger

import (
	"errors"
	"math"
	"regexp"

	"pullbook/domain/honey"
	"pullbook/domain/message"
)

// Outside is a figure that honey or a formula does not allow, as a sentence
// without capital and full stop.
func Outside(e *honey.RangeError) message.Text {
	quantity := message.F("quantity|" + e.Quantity)
	if m := tableRow.FindStringSubmatch(e.Quantity); m != nil {
		quantity = message.F("%s in row %s of the dip table", message.F("quantity|"+m[1]), m[2])
	}
	got, low, high := withUnit(e.Got, e.Unit), withUnit(e.Min, e.Unit), withUnit(e.Max, e.Unit)
	var text message.Text
	switch {
	case math.IsInf(e.Max, 1):
		text = message.F("%s %s cannot be used: it must be at least %s", quantity, got, low)
	case math.IsInf(e.Min, -1):
		text = message.F("%s %s cannot be used: it must be at most %s", quantity, got, high)
	default:
		text = message.F("%s %s cannot be used: it must be from %s to %s", quantity, got, from(e), high)
	}
	if e.Hint.Format != "" {
		text = message.F("%s; %s", text, message.F(e.Hint.Format, e.Hint.Figures...))
	}
	return text
}

// tableRow is how domain/honey names a figure of a dip table.
var tableRow = regexp.MustCompile(`^(\w+) in row (\d+) of the dip table$`)

// from is the lower end of a range, without its unit where the upper end says it.
func from(e *honey.RangeError) message.Text {
	switch e.Unit {
	case "C", "kg", "L":
		return withUnit(e.Min, e.Unit)
	case "cm", "mm", "m2", "K":
		return message.F("%s", message.Measured{V: e.Min, Unit: e.Unit, Bare: true})
	}
	return withUnit(e.Min, "")
}

// withUnit is a figure with its unit, that of the outfit where it is one of
// mass, temperature, volume or length.
func withUnit(v float64, unit string) message.Text {
	switch unit {
	case "":
		return message.F("%s", message.Figure(v))
	case "C":
		return message.F("%s", message.Celsius(v))
	case "kg":
		return message.F("%s", message.Kg(v))
	case "L":
		return message.F("%s", message.Litres(v))
	case "cm", "mm", "m2", "K":
		return message.F("%s", message.Measured{V: v, Unit: unit})
	}
	return message.F("%s %s", message.Figure(v), message.F("unit|"+unit))
}

// Refusal is an error of the science in a sentence, without a full stop.
func Refusal(err error) message.Text {
	if r := new(honey.RangeError); errors.As(err, &r) {
		return Outside(r)
	}
	return message.Of(err)
}
