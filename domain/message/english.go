package message

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// English is the book's own voice: English, metric, a decimal point, no mark
// between thousands. The interface for programs speaks it.
type English struct{}

// Format leaves out what a word is about: "lot|open" is "open".
func (English) Format(english string) string { return WithoutContext(english) }

// WithoutContext is the format after its bar.
func WithoutContext(format string) string {
	if _, rest, ok := strings.Cut(format, "|"); ok {
		return rest
	}
	return format
}

func (English) Number(v float64, places int) string                 { return Plain(v, places) }
func (English) Kg(v float64) string                                 { return Plain(v, MassPlaces(v)) + " kg" }
func (English) KgTo(v, to float64) string                           { return Plain(v, PlacesTo(to)) + " kg" }
func (English) Celsius(v float64) string                            { return Plain(v, -1) + " °C" }
func (English) Litres(v float64) string                             { return Plain(v, -1) + " L" }
func (English) Measured(v float64, unit string) (figure, in string) { return Plain(v, -6), unit }
func (English) Day(t time.Time) string                              { return t.Format("2 January 2006") }
func (English) Date(iso string) string                              { return iso }
func (English) Option(name string) string                           { return " (" + name + ")" }
func (English) Minute(t time.Time) string                           { return t.Format("2 January 2006, 15:04") }
func (English) Instant(t time.Time) string                          { return t.Format("2006-01-02 15:04:05 -0700") }
func (English) DayInYear(t time.Time) string                        { return t.Format("2 Jan") }
func (English) MinuteInYear(t time.Time) string                     { return t.Format("2 Jan 15:04") }

// MassPlaces is how fine a mass is said: to a tenth, below ten to a hundredth.
func MassPlaces(v float64) int {
	if math.Abs(v) >= 10 {
		return -1
	}
	return -2
}

// PlacesTo is how fine a mass is said that may be off by so much: whole units from
// ten up, tenths from one up, thousandths below.
func PlacesTo(off float64) int {
	switch off = math.Abs(off); {
	case off >= 10:
		return 0
	case off >= 1:
		return 1
	}
	return 3
}

// Rounded is v to so many places, a half away from zero: whoever says a figure, in
// whatever language, says the same one.
func Rounded(v float64, places int) float64 {
	scale := math.Pow(10, float64(places))
	rounded := math.Round(v*scale) / scale
	if rounded == 0 {
		return 0 // never minus zero
	}
	return rounded
}

// Plain writes v with so many places, or with at most -places where places is
// negative.
func Plain(v float64, places int) string {
	if places >= 0 {
		return strconv.FormatFloat(Rounded(v, places), 'f', places, 64)
	}
	return strconv.FormatFloat(Rounded(v, -places), 'f', -1, 64)
}
