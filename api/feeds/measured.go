package feeds

import (
	"math"
	"strconv"
	"strings"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/units"
)

// massPlaces is whole grams in kilograms, and the same number of places in
// pounds.
const massPlaces = 3

// mass is whole grams in the unit that the feed was asked for.
func (v *view) mass(grams int64) float64 {
	if v.us {
		return pounds(grams)
	}
	return float64(grams) / 1000
}

// massOf is grams as they come, where nobody weighed them: a mean, or a part of a sum.
func (v *view) massOf(grams float64) float64 {
	if v.us {
		return grams / locale.GramsPerPound
	}
	return grams / 1000
}

// pounds is what somebody typed who weighed in pounds: the hundredth of a pound that the book keeps
// as so many grams, where there is one. There is never a second one, for a hundredth is 4.5 g.
// What was weighed in grams comes to no hundredth, mostly, and is what it is.
func pounds(grams int64) float64 {
	exact := float64(grams) / locale.GramsPerPound
	if typed := locale.RoundTo(exact, 2); math.Abs(typed*locale.GramsPerPound-float64(grams)) <= halfAGram {
		return typed
	}
	return exact
}

// halfAGram is how far whole grams are from what was typed, at the most; forms round once
// more before, to a thousandth of a gram.
const halfAGram = 0.5 + 0.0005

// net is a gross less a tare, each as it was typed: the difference of whole grams is up to a
// gram from that of the pounds.
func (v *view) net(grossG, tareG int64) float64 { return v.mass(grossG) - v.mass(tareG) }

// ofBoxes is what so many boxes come to of which one is so many grams. An outfit that weighs in
// pounds typed the one in pounds; half a gram would be an ounce and more for a truck of boxes.
func (v *view) ofBoxes(boxes int, grams int64) float64 {
	if v.outfit.Units == "us" {
		return float64(boxes) * v.mass(grams)
	}
	return v.massOf(float64(int64(boxes) * grams))
}

// netOfAll is what those containers came to that are meant, where that is the honey in question.
func (v *view) netOfAll(of []season.Container, meant func(season.Container) bool, honeyG int64) float64 {
	sum, grams := 0.0, int64(0)
	for _, c := range of {
		if meant(c) {
			sum += v.net(c.GrossG, c.TareG)
			grams += c.NetG
		}
	}
	if grams != honeyG {
		return v.mass(honeyG)
	}
	return sum
}

// netOr is what was filled into a container, where that is the honey in question.
func (v *view) netOr(container ledger.ID, honeyG int64) float64 {
	if fill := ledger.NamedAsKnown[ledger.Fill](v.book, container, v.number); fill != nil && fill.NetG() == honeyG {
		return v.net(fill.GrossG, fill.TareG)
	}
	return v.mass(honeyG)
}

// putMass writes whole grams in the unit that the feed was asked for.
func (v *view) putMass(out cells, grams int64) { out.decimal(v.mass(grams), massPlaces) }

// putMassKnown writes grams that may not be known.
func (v *view) putMassKnown(out cells, grams *int64) {
	if grams == nil {
		out.none()
		return
	}
	v.putMass(out, *grams)
}

// putMassPer writes grams over a count; nothing where the count is nothing.
func (v *view) putMassPer(out cells, kgPer *float64) {
	if kgPer == nil {
		out.none()
		return
	}
	out.decimal(v.massOf(1000**kgPer), massPlaces)
}

// putTemperature writes degrees Celsius in the unit that the feed was asked for, with as many
// places as were typed or as a logger has, up to mostPlaces.
func (v *view) putTemperature(out cells, celsius float64) {
	if v.us {
		celsius = units.Fahrenheit(celsius)
	}
	places := temperaturePlaces
	if math.Abs(locale.RoundTo(celsius, places)-celsius) > temperatureSlack {
		places = mostPlaces
	}
	out.decimal(celsius, places)
}

const (
	temperaturePlaces = 2
	// temperatureSlack is how far a temperature is from what was typed in the other unit, at the
	// most: what comes from a sheet in Fahrenheit is kept to the thousandth of a degree Celsius.
	temperatureSlack = 0.0005*1.8 + 1e-9
	// mostPlaces is what a logger's sixteenths of a degree have.
	mostPlaces = 4
)

// putMeasured writes a figure as a laboratory has it: with all of its places, and places at the least.
func putMeasured(out cells, value float64, places int) {
	_, decimals, _ := strings.Cut(strconv.FormatFloat(value, 'f', -1, 64), ".")
	out.decimal(value, max(places, len(decimals)))
}
