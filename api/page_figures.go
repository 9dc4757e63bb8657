package api

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/units"
)

// figures is the voice in which a reader of an outfit is spoken to: the reader's
// language and way of writing figures, the outfit's units and its clock. All
// numbers have the places that their column has, so that they stand under one
// another.
type figures struct {
	tongue
	// Mass is the unit of mass, "kg" or "lb"; Temperature "°C" or "°F"; Volume
	// "L" or "gal".
	Mass, Temperature, Volume string
	grams                     float64
	location                  *time.Location
}

const (
	// gramsPerPound is exact: international yard and pound agreement of 1959.
	gramsPerPound = 1000 * units.KilogramsPerPound
	// litresPerGallon is exact: 231 cubic inches.
	litresPerGallon = units.LitresPerUSGallon
)

const (
	minus   = "\u2212"
	nothing = "\u2013"
)

func figuresFor(t tongue, o db.Outfit, loc *time.Location) figures {
	if o.Units == "us" {
		return figures{tongue: t, Mass: "lb", Temperature: "°F", Volume: "gal", grams: gramsPerPound, location: loc}
	}
	return figures{tongue: t, Mass: "kg", Temperature: "°C", Volume: "L", grams: 1000, location: loc}
}

func (f figures) us() bool { return f.Mass == "lb" }

// say is a sentence in the reader's language.
func (f figures) say(format string, args ...any) string { return message.F(format, args...).In(f) }

func (f figures) sayEach(texts []message.Text) []string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = t.In(f)
	}
	return out
}

// Format, Number, Kg, Celsius, Day and so on make figures a message.Voice.
func (f figures) Format(english string) string { return f.words(english) }

func (f figures) Number(v float64, places int) string {
	if places < 0 {
		places = len(fraction(message.Plain(v, places)))
	}
	return f.number(v, places)
}

func fraction(plain string) string {
	_, digits, _ := strings.Cut(plain, ".")
	return digits
}

func (f figures) Kg(kg float64) string {
	mass := kg * 1000 / f.grams
	return f.Number(mass, message.MassPlaces(mass)) + " " + f.Mass
}

func (f figures) KgTo(kg, to float64) string {
	return f.number(kg*1000/f.grams, message.PlacesTo(to*1000/f.grams)) + " " + f.Mass
}

func (f figures) Celsius(c float64) string {
	return f.Number(f.degrees(c), -1) + " " + f.Temperature
}

func (f figures) Litres(l float64) string {
	if f.us() {
		l /= litresPerGallon
	}
	return f.Number(l, -1) + " " + f.Volume
}

func (f figures) Measured(v float64, unit string) (figure, in string) {
	if c, ok := usUnits[unit]; ok && f.us() {
		return f.Number(v*c.times, -2), c.unit
	}
	return f.Number(v, -6), metricSymbol(unit)
}

func (f figures) Day(t time.Time) string    { return f.day(t) }
func (f figures) Minute(t time.Time) string { return f.minute(t) }
func (f figures) Option(string) string      { return "" }
func (f figures) Date(iso string) string    { return f.dateMedium(iso) }

func (f figures) Instant(t time.Time) string { return f.minute(t) }

func (f figures) DayInYear(t time.Time) string { return f.dayInYear(t.In(f.location)) }

func (f figures) MinuteInYear(t time.Time) string {
	t = t.In(f.location)
	return f.dayInYear(t) + ", " + f.Region.FmtTimeShort(t)
}

// degrees is a temperature in the outfit's unit.
func (f figures) degrees(c float64) float64 {
	if f.us() {
		return units.Fahrenheit(c)
	}
	return c
}

// mass is grams in the outfit's unit.
func (f figures) mass(grams int64) string { return f.number(float64(grams)/f.grams, 1) }

// massChange has a sign before it.
func (f figures) massChange(grams *int64) string {
	if grams == nil {
		return nothing
	}
	text := f.mass(*grams)
	if *grams > 0 {
		return "+" + text
	}
	return text
}

// perKg is a figure in kilograms in the outfit's unit.
func (f figures) perKg(kg *float64) string {
	if kg == nil {
		return nothing
	}
	return f.number(*kg*1000/f.grams, 1)
}

func (f figures) count(n int) string { return f.number(float64(n), 0) }

func (f figures) share(of1 float64) string { return f.number(100*of1, 1) }

func (f figures) pct(p *float64) string {
	if p == nil {
		return nothing
	}
	return f.number(*p, 1)
}

// number writes v with so many places, as the reader's region does.
func (f figures) number(v float64, places int) string {
	text := f.Region.FmtNumber(math.Abs(message.Rounded(v, places)), uint64(places))
	if v < 0 && strings.Trim(text, "0.,") != "" {
		return minus + text
	}
	return text
}

func (f figures) day(t time.Time) string {
	if t.IsZero() {
		return nothing
	}
	return f.Region.FmtDateMedium(t.In(f.location))
}

func (f figures) minute(t time.Time) string {
	if t.IsZero() {
		return nothing
	}
	t = t.In(f.location)
	return f.Region.FmtDateMedium(t) + ", " + f.Region.FmtTimeShort(t)
}

// date is a day of the calendar.
func (f figures) date(d ledger.Date) string {
	t, err := d.On(time.UTC)
	if err != nil {
		return string(d)
	}
	return f.Region.FmtDateLong(t)
}

// dateMedium is a day of the calendar, written shorter.
func (f figures) dateMedium(iso string) string {
	t, err := time.Parse(time.DateOnly, iso)
	if err != nil {
		return iso
	}
	return f.Region.FmtDateMedium(t)
}

// dayInYear is a day without its year, for an axis.
func (f figures) dayInYear(t time.Time) string {
	month := f.Region.MonthAbbreviated(t.Month())
	if f.Region.Locale() == "en_US" {
		return fmt.Sprintf("%s %d", month, t.Day())
	}
	return fmt.Sprintf("%d %s", t.Day(), month)
}
