// Package locale says sentences, numbers, units, dates and money as a reader wants them:
// in a language, as a region writes figures, in an outfit's units and time zone.
package locale

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/units"
)

// A Voice speaks to a reader of an outfit: in the reader's language and way of writing
// figures, in the outfit's units and time zone. All numbers of a column have the same
// places, so that they stand under one another.
type Voice struct {
	Language
	// Mass is the unit of mass, "kg" or "lb"; Temperature "°C" or "°F"; Volume
	// "L" or "gal".
	Mass, Temperature, Volume string
	// GramsPerUnit is the weight of Mass, in grams.
	GramsPerUnit float64
	// Zone is the outfit's time zone.
	Zone *time.Location
}

// Missing stands where there is no figure.
const Missing = "\u2013"

const minus = "\u2212"

// NewVoice returns the voice for an outfit with units "us" or "metric".
func NewVoice(t Language, units string, loc *time.Location) Voice {
	if units == "us" {
		return Voice{Language: t, Mass: "lb", Temperature: "°F", Volume: "gal", GramsPerUnit: GramsPerPound, Zone: loc}
	}
	return Voice{Language: t, Mass: "kg", Temperature: "°C", Volume: "L", GramsPerUnit: gramsPerKilogram, Zone: loc}
}

// US reports whether the outfit has US units.
func (f Voice) US() bool { return f.Mass == "lb" }

// Say returns a sentence in the reader's language.
func (f Voice) Say(format string, args ...any) string { return message.F(format, args...).In(f) }

// SayEach says several texts.
func (f Voice) SayEach(texts []message.Text) []string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = t.In(f)
	}
	return out
}

// Format, Number, Kg, Celsius, Day and so on make figures a message.Voice.
func (f Voice) Format(english string) string { return f.words(english) }

func fraction(plain string) string {
	_, digits, _ := strings.Cut(plain, ".")
	return digits
}

// Kg writes kilograms in the outfit's unit of mass.
func (f Voice) Kg(kg float64) string {
	mass := kg * 1000 / f.GramsPerUnit
	return f.Number(mass, message.MassPlaces(mass)) + " " + f.Mass
}

// KgTo writes kilograms in the outfit's unit of mass, to a step in kilograms.
func (f Voice) KgTo(kg, to float64) string {
	return f.Number(kg*1000/f.GramsPerUnit, message.PlacesTo(to*1000/f.GramsPerUnit)) + " " + f.Mass
}

// Celsius writes degrees Celsius in the outfit's unit of temperature.
func (f Voice) Celsius(c float64) string {
	return f.Number(f.Degrees(c), -1) + " " + f.Temperature
}

// Litres writes litres in the outfit's unit of volume.
func (f Voice) Litres(l float64) string {
	return f.Number(f.ToUnit("L", l), -1) + " " + f.Volume
}

func (f Voice) Measured(v float64, unit string) (figure, in string) {
	if us, ok := usUnits[unit]; ok && f.US() {
		return f.Number(v*us.times, -2), us.unit
	}
	return f.Number(v, -6), metricSymbol(unit)
}

// Option returns nothing: a command's options are no words of the pages.
func (f Voice) Option(string) string { return "" }

func (f Voice) Instant(t time.Time) string { return f.Minute(t) }

// MinuteInYear writes a moment without its year.
func (f Voice) MinuteInYear(t time.Time) string {
	return f.DayInYear(t) + ", " + f.Region.FmtTimeShort(t.In(f.Zone))
}

// Degrees is a temperature in the outfit's unit.
func (f Voice) Degrees(c float64) float64 {
	if f.US() {
		return units.Fahrenheit(c)
	}
	return c
}

// Grams is grams in the outfit's unit.
func (f Voice) Grams(grams int64) string { return f.Number(float64(grams)/f.GramsPerUnit, 1) }

// GramsChange has a sign before it.
func (f Voice) GramsChange(grams *int64) string {
	if grams == nil {
		return Missing
	}
	text := f.Grams(*grams)
	if *grams > 0 {
		return "+" + text
	}
	return text
}

// Kilograms is a figure in kilograms in the outfit's unit.
func (f Voice) Kilograms(kg *float64) string {
	if kg == nil {
		return Missing
	}
	return f.Number(*kg*1000/f.GramsPerUnit, 1)
}

// Count writes a whole number.
func (f Voice) Count(n int) string { return f.Number(float64(n), 0) }

// Share writes a part of 1 in percent.
func (f Voice) Share(of1 float64) string { return f.Number(100*of1, 1) }

// Percent writes a percentage, or nothing where there is none.
func (f Voice) Percent(p *float64) string {
	if p == nil {
		return Missing
	}
	return f.Number(*p, 1)
}

// Number writes v with so many places, as the reader's region does; with at most -places
// of them where places is negative.
func (f Voice) Number(v float64, places int) string {
	if places < 0 {
		places = len(fraction(message.Plain(v, places)))
	}
	text := f.Region.FmtNumber(math.Abs(message.Rounded(v, places)), uint64(places))
	if v < 0 && strings.Trim(text, "0.,") != "" {
		return minus + text
	}
	return text
}

// Day is the day of an instant.
func (f Voice) Day(t time.Time) string {
	if t.IsZero() {
		return Missing
	}
	return f.Region.FmtDateMedium(t.In(f.Zone))
}

// Minute is an instant to the minute.
func (f Voice) Minute(t time.Time) string {
	if t.IsZero() {
		return Missing
	}
	t = t.In(f.Zone)
	return f.Region.FmtDateMedium(t) + ", " + f.Region.FmtTimeShort(t)
}

// TimeOfDay is an instant's hour and minute, for an axis.
func (f Voice) TimeOfDay(t time.Time) string { return f.Region.FmtTimeShort(t.In(f.Zone)) }

// LongDate is a day of the calendar.
func (f Voice) LongDate(d ledger.Date) string {
	t, err := d.On(time.UTC)
	if err != nil {
		return string(d)
	}
	return f.Region.FmtDateLong(t)
}

// Date is a day of the calendar, written shorter.
func (f Voice) Date(iso string) string {
	if t, err := time.Parse(time.DateOnly, iso); err == nil {
		return f.Region.FmtDateMedium(t)
	}
	if t, err := time.Parse("2006-01", iso); err == nil {
		return fmt.Sprintf("%s %d", f.Region.MonthWide(t.Month()), t.Year())
	}
	return iso // a year is written alike everywhere
}

// DayInYear is a day without its year, for an axis.
func (f Voice) DayInYear(t time.Time) string {
	t = t.In(f.Zone)
	month := f.Region.MonthAbbreviated(t.Month())
	if f.Region.Locale() == "en_US" {
		return fmt.Sprintf("%s %d", month, t.Day())
	}
	return fmt.Sprintf("%d %s", t.Day(), month)
}
