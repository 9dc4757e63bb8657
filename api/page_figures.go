package api

import (
	"math"
	"strconv"
	"strings"
	"time"

	"pullbook/db"
)

// figures writes numbers and times as an outfit reads them. All have the places
// that their column has, so that they stand under one another.
type figures struct {
	// Mass is the unit of mass, "kg" or "lb".
	Mass  string
	grams float64
	// thousands parts the digits of large numbers.
	thousands string
	location  *time.Location
}

// gramsPerPound is exact: international yard and pound agreement of 1959.
const gramsPerPound = 453.59237

const (
	narrowSpace = "\u202f"
	minus       = "\u2212"
	nothing     = "\u2013"
)

func figuresFor(o db.Outfit, loc *time.Location) figures {
	if o.Units == "us" {
		return figures{Mass: "lb", grams: gramsPerPound, thousands: ",", location: loc}
	}
	return figures{Mass: "kg", grams: 1000, thousands: narrowSpace, location: loc}
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

// number writes v with so many places.
func (f figures) number(v float64, places int) string {
	text := strconv.FormatFloat(math.Abs(v), 'f', places, 64)
	whole, fraction, _ := strings.Cut(text, ".")
	for at := len(whole) - 3; at > 0; at -= 3 {
		whole = whole[:at] + f.thousands + whole[at:]
	}
	if fraction != "" {
		whole += "." + fraction
	}
	if v < 0 && strings.Trim(text, "0.") != "" {
		return minus + whole
	}
	return whole
}

func (f figures) day(t time.Time) string {
	if t.IsZero() {
		return nothing
	}
	return t.In(f.location).Format("2 Jan 2006")
}

func (f figures) minute(t time.Time) string {
	if t.IsZero() {
		return nothing
	}
	return t.In(f.location).Format("2 Jan 2006, 15:04")
}
