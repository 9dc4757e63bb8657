package ledger

import (
	"errors"
	"math"

	"pullbook/domain/honey"
	"pullbook/domain/say"
)

// Outside is a figure that honey or a formula does not allow, as a sentence.
func Outside(e *honey.RangeError) say.Text {
	quantity := say.F("quantity|" + e.Quantity)
	got, low, high := say.Figure(e.Got), say.Figure(e.Min), say.Figure(e.Max)
	var text say.Text
	switch {
	case math.IsInf(e.Max, 1):
		text = say.F("%s %s cannot be used: it must be at least %s", quantity, unit(got, e.Unit), unit(low, e.Unit))
	case math.IsInf(e.Min, -1):
		text = say.F("%s %s cannot be used: it must be at most %s", quantity, unit(got, e.Unit), unit(high, e.Unit))
	default:
		text = say.F("%s %s cannot be used: it must be from %s to %s", quantity, unit(got, e.Unit), low, unit(high, e.Unit))
	}
	if e.Hint.Format != "" {
		text = say.F("%s; %s", text, say.F(e.Hint.Format, e.Hint.Figures...))
	}
	return say.F("%s.", say.Capital(text))
}

func unit(n say.Number, unit string) say.Text {
	if unit == "" {
		return say.F("%s", n)
	}
	return say.F("%s %s", n, say.F("unit|"+unit))
}

// said is an error of the science, without a full stop.
func said(err error) say.Text {
	if r := new(honey.RangeError); errors.As(err, &r) {
		return Outside(r)
	}
	return say.Of(err)
}
