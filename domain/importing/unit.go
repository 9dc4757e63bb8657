package importing

import (
	"math"
	"strings"

	"pullbook/domain/honey"
	"pullbook/domain/units"
)

// Unit is the unit of a column or cell.
type Unit string

// The units. A gallon is one of two, and is asked about where nothing says which.
const (
	Kilograms       Unit = "kg"
	Grams           Unit = "g"
	Pounds          Unit = "lb"
	Tonnes          Unit = "t"
	Celsius         Unit = "C"
	Fahrenheit      Unit = "F"
	Litres          Unit = "L"
	USGallons       Unit = "us_gal"
	ImperialGallons Unit = "imp_gal"
	SomeGallons     Unit = "gal"
)

// unitWords are units as people write them, in English and Spanish.
var unitWords = map[string]Unit{
	"kg": Kilograms, "kgs": Kilograms, "kilo": Kilograms, "kilos": Kilograms, "kilograms": Kilograms, "kilogramos": Kilograms,
	"g": Grams, "gr": Grams, "grams": Grams, "gramos": Grams, "t": Tonnes, "tonnes": Tonnes, "toneladas": Tonnes,
	"lb": Pounds, "lbs": Pounds, "pound": Pounds, "pounds": Pounds, "libra": Pounds, "libras": Pounds, "#": Pounds,
	"c": Celsius, "°c": Celsius, "ºc": Celsius, "degc": Celsius, "celsius": Celsius, "centigrados": Celsius,
	"f": Fahrenheit, "°f": Fahrenheit, "ºf": Fahrenheit, "degf": Fahrenheit, "fahrenheit": Fahrenheit,
	"l": Litres, "lt": Litres, "litre": Litres, "litres": Litres, "liters": Litres, "litros": Litres,
	"gal": SomeGallons, "gals": SomeGallons, "gallon": SomeGallons, "gallons": SomeGallons, "galones": SomeGallons,
	"us gal": USGallons, "us_gal": USGallons, "imp gal": ImperialGallons, "imp_gal": ImperialGallons,
}

// idleWords say no unit that is converted, and are no part of a heading's name.
var idleWords = map[string]bool{"pct": true, "percent": true, "porcentaje": true, "deg": true, "in": true, "us": true, "imp": true, "imperial": true, "mm": true, "mg": true, "meq": true, "ms": true, "cm": true, "h2o": true, "wt": true}

// unitOf reads the unit off a heading's words, and gives the others. A heading with two
// units, kg/lb, says none.
func unitOf(plain []string, m measure) (Unit, string) {
	var unit Unit
	two := false
	rest := make([]string, 0, 8)
	for _, word := range plain {
		u, known := unitWords[word]
		switch {
		case known && m.takes(u) && len(plain) > 1:
			two = two || unit != "" && unit != u
			unit = u
		case idleWords[word] && len(plain) > 1:
		default:
			rest = append(rest, word)
		}
	}
	if unit == SomeGallons {
		for _, word := range plain {
			switch word {
			case "us":
				unit = USGallons
			case "imp", "imperial":
				unit = ImperialGallons
			}
		}
	}
	if two {
		unit = ""
	}
	return unit, strings.Join(rest, " ")
}

// unitAlone is the unit of mass that a heading is, and nothing else; empty where it says more, or
// is a letter, which may be a name.
func unitAlone(heading string) Unit {
	words := wordsOf(heading)
	if len(words) != 1 || len(words[0]) == 1 || !masses.takes(unitWords[words[0]]) {
		return ""
	}
	return unitWords[words[0]]
}

// headsUnits are headings of a column that says in each row the unit of the figure before it.
var headsUnits = wordSet("unit units uom unidad unidades um")

// unitColumns are the columns that may say the unit of the figures of one: those behind it, before
// other figures, that are headed so, or the next one where it has no heading.
func (k *taking) unitColumns(index int) (out []int) {
	for i := index + 1; i < len(k.Mapping.Columns); i++ {
		beside := k.Mapping.Columns[i]
		if info := infoOf(k.Mapping.Of, beside.Field); info != nil && info.measure >= masses {
			break
		}
		if beside.Field == "" && (beside.Heading == "" && i == index+1 || headsUnits[strings.Join(wordsOf(beside.Heading), " ")]) {
			out = append(out, i)
		}
	}
	return out
}

// unitBeside is what a column of units says of the figure of the row at hand that stands before
// it; empty where there is no such column.
func (k *taking) unitBeside(c *column) string {
	if k.wide != nil {
		return ""
	}
	for _, i := range c.units {
		cell := strings.ToLower(strings.Trim(cellAt(k.cells, i), " ."))
		if _, known := unitWords[cell]; cell != "" && (known || k.Mapping.Columns[i].Heading != "") {
			k.unread.isUnit(i)
			return cell
		}
	}
	return ""
}

// UnitIn is the unit that a heading names for what its column is said to hold; empty where it
// names none.
func UnitIn(heading string, field Field) Unit {
	for i := range fields {
		if f := &fields[i]; f.field == field && (f.measure == masses || f.measure == temperatures) {
			if alone := unitAlone(heading); f.measure == masses && alone != "" {
				return alone
			}
			unit, _ := unitOf(wordsOf(heading), f.measure)
			return unit
		}
	}
	return ""
}

// takes reports whether a measure can be in a unit.
func (m measure) takes(u Unit) bool {
	switch u {
	case Kilograms, Grams, Pounds, Tonnes, Litres, USGallons, ImperialGallons, SomeGallons:
		return m == masses
	case Celsius, Fahrenheit:
		return m == temperatures
	}
	return false
}

// usualMoisturePct and usualC stand in for what honey was when only its volume was
// written down; common practice.
const (
	usualMoisturePct = 17.5
	usualC           = 20
)

// gramsOf converts a mass, or the volume of honey, to whole grams.
func gramsOf(value float64, u Unit) (int64, bool) {
	perKg := map[Unit]float64{Kilograms: 1, Grams: 0.001, Pounds: units.KilogramsPerPound, Tonnes: 1000}
	litres := map[Unit]float64{Litres: 1, USGallons: units.LitresPerUSGallon, ImperialGallons: units.LitresPerImperialGallon}
	if factor, ok := perKg[u]; ok {
		return int64(math.Round(value * factor * 1000)), true
	}
	if factor, ok := litres[u]; ok {
		density, err := honey.DensityKgPerL(usualMoisturePct, usualC)
		return int64(math.Round(value * factor * density * 1000)), err == nil
	}
	return 0, false
}

// celsiusOf converts a temperature, kept to the thousandth of a degree.
func celsiusOf(value float64, u Unit) float64 {
	if u == Fahrenheit {
		return math.Round(units.Celsius(value)*1000) / 1000
	}
	return value
}

// UnitsOf lists the units in which a field's values may come; none where they have
// one only.
func UnitsOf(field Field) (units []Unit) {
	for _, f := range fields {
		if f.field != field {
			continue
		}
		for _, u := range []Unit{Kilograms, Grams, Pounds, Tonnes, Litres, USGallons, ImperialGallons, Celsius, Fahrenheit} {
			if f.measure.takes(u) {
				units = append(units, u)
			}
		}
		return units
	}
	return nil
}

// HasFigures reports whether a field's values are figures, which may have decimals.
func HasFigures(field Field) bool {
	for _, f := range fields {
		if f.field == field {
			return f.measure == figures || f.measure == masses || f.measure == temperatures
		}
	}
	return false
}
