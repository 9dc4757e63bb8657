package importing

import (
	"slices"
	"strings"
)

// otherwise are words by which a heading says another figure than the one that it names: a
// share of it, what it was to be, what was left behind. In the languages of the headings.
var otherwise = anyOf(plannedWords, meanWords, roughWords, differenceWords, rateWords, runningWords, wordSet(`
	per each every ea est
	last previous prev prior before after far old max maximum min minimum
	left remaining returned returns empty empties put placed added given set on
	change delta gain loss running date check buffer calibration blank price cost value paid share capped dead lost weak
	about circa dozen dozens pair pairs docena docenas pares
	truck trailer lorry pallet pallets frames extracted hundreds thousands
	strong queenless half new buyer buyers sold limit limits spec specification allowed
	media medio por cada ultimo ultima anterior maximo minimo quedan restantes devueltas devueltos vacias vacios vacio
	puestas puestos dadas cambio precio costo coste valor
	muertas perdidas camion remolque cuadros antes despues nuevas fuertes vendido vendidos comprador
	net neto gross bruto tare tara wax cappings cera
	mittel vorjahr leer zuruck preis anteil precedent vides retour prix taux vazias vazios restantes preco
	netto brutto brut liquido wachs cire`))

// notOfHoney are words by which a temperature is that of something else than the sample.
var notOfHoney = wordSet("room air ambient outside outdoor sala aire ambiente exterior alarm set")

// outOfDoors are words by which a logger hung elsewhere than in a room or a tank, and honeyWords
// those of what a run gave beside its wax.
var (
	outOfDoors = wordSet("outside outdoor outdoors weather exterior fuera aussen draussen dehors exterieur fora")
	honeyWords = wordSet("honey miel honig mel")
)

// otherDays are words by which a date is that of something else than what the table is of.
var otherDays = wordSet("best before expiry expires expiration due paid invoice printed consumo preferente vencimiento caducidad vence pago")

// beforeRates stand before what a rate is of: kg per hour.
var beforeRates = wordSet("per por pro par je")

// isOf reports whether a heading names the field, where matched of its words do and rest do
// not. Of a name or a date the rest says no more than which; a figure can be another one by it.
func (f *fieldInfo) isOf(heading string, rest, matched []string) bool {
	if f.measure == dates {
		return !slices.ContainsFunc(rest, func(word string) bool { return otherDays[word] })
	}
	if f.measure == clocks {
		return !slices.ContainsFunc(rest, func(word string) bool { return beforeRates[word] })
	}
	if f.measure < counts {
		return true
	}
	if f.field == FieldMoisture && isWater(rest, matched) {
		return false
	}
	if words := wordsOf(heading); len(words) == 2 && (words[1] == "out" && (f.field == FieldHives || f.field == FieldSupers) || words[1] == "in" && f.field == FieldHives) {
		return false // of those that came and went
	}
	amount := f.measure == counts || f.measure == masses
	if amount && strings.Contains(heading, "%") {
		return false
	}
	for _, word := range rest {
		_, isUnit := unitWords[word]
		switch {
		case isUnit:
			continue
		case otherwise[word] && !slices.Contains(f.headings, word), f.field == FieldSampleC && notOfHoney[word]:
			return false
		case f.field == FieldTemperature && outOfDoors[word], f.field == FieldWax && honeyWords[word]:
			return false
		case amount && (strings.Contains(heading, "/") || strings.ContainsAny(word, "0123456789") && !isYear(word)):
			return false
		case f.field == FieldGross && (word == "honey" || word == "miel") && !saysGross(strings.Join(matched, " ")):
			return false
		}
	}
	return true
}

// isWater reports whether water or humidity stands in a heading for something else than what
// honey has of it: the pH of water, relative humidity.
func isWater(rest, matched []string) bool {
	alone := strings.Join(matched, " ")
	if alone != "water" && alone != "agua" && alone != "humedad" {
		return false
	}
	return slices.ContainsFunc(rest, func(word string) bool {
		return word != "honey" && word != "miel" && word != "la" && word != "de" && !idleWords[word]
	})
}

// saysOtherwise reports whether a heading that names a kind of super says with its other words
// that it is no count of it.
func saysOtherwise(heading, name string) bool {
	own := wordsOf(name)
	return strings.Contains(heading, "%") || slices.ContainsFunc(wordsOf(heading), func(word string) bool { return otherwise[word] && !slices.Contains(own, word) })
}

// saysGross reports whether a heading says that a weight is with what holds the honey.
func saysGross(heading string) bool {
	return slices.ContainsFunc(wordsOf(heading), func(word string) bool { return grossWords[word] })
}

var grossWords = wordSet("gross bruto full brutto bruttogewicht brut")

// isYear reports whether a word of a heading is a year of the last ones or this century.
func isYear(word string) bool {
	return len(word) == len("2026") && (strings.HasPrefix(word, "19") || strings.HasPrefix(word, "20"))
}
