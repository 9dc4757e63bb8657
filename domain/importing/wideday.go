package importing

import (
	"regexp"
	"strconv"
	"strings"

	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// The days' numbers that real dates of a honey house have in a workbook: of the years from
// 1990 to 2100. A weight that large is rare above a column.
const (
	earliestSerial = 32_874
	latestSerial   = 73_415
)

// anyYear is a year that has every day.
const anyYear = 2000

// isDay reports whether a text is a day, with or without its year, or the number of one in a
// workbook.
func isDay(text string, t *tables.Table) bool {
	if serial, err := strconv.ParseFloat(text, 64); err == nil && tables.IsPlain(text) {
		return t.Serials && earliestSerial <= serial && serial <= latestSerial || isDate(text)
	}
	if f, err := tables.ParseFigure(text, tables.MarkComma); err == nil && f.Unit == "" && !dotted.MatchString(text) {
		return false // 17,4 is no 17 April
	}
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return !isLetter(r) }) {
		if plain := spelling.Plain(word); !monthWords[plain] && !dayWords[plain] {
			return false // Marsh 12 is a name
		}
	}
	for _, order := range [...]tables.Order{tables.DayFirst, tables.MonthFirst} {
		if _, err := tables.ParseDate(text, order, anyYear); err == nil {
			return true
		}
	}
	return false
}

// dotted is a day and a month with the dots of ordinals: 3.7.
var dotted = regexp.MustCompile(`^\d{1,2}\.\d{1,2}\.$`)

func isLetter(r rune) bool { return 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || r >= 0xc0 }

// isMonth reports whether a text is a month alone, with or without its year: July, Jul 2026,
// julio de 2026, 2026-07.
func isMonth(text string) bool {
	named := false
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" .,-/'", r) }) {
		plain := spelling.Plain(word)
		switch n, err := strconv.Atoi(word); {
		case monthWords[plain] && !named:
			named = true
		case plain == "de" || plain == "del" || plain == "of":
		case err == nil && len(word) == 4 && tables.FirstYear <= n && n <= tables.LastYear:
		default:
			return isYearAndMonth(text)
		}
	}
	return named
}

// isYearAndMonth holds for 2026-07.
func isYearAndMonth(text string) bool {
	const year, all = 4, 7
	if len(text) != all || text[year] != '-' || isDayNumber(text) {
		return false
	}
	_, err := tables.ParseDate(text+"-01", tables.OrderUnknown, 0)
	return err == nil
}

// lastDay is that of the longest months.
const lastDay = 31

// isDayNumber holds for 1 to 31.
func isDayNumber(text string) bool {
	n, err := strconv.Atoi(text)
	return err == nil && 1 <= n && n <= lastDay && len(text) <= 2
}

// ofMonth is a day of a month that a text names alone, and its last day where it has fewer.
func ofMonth(month string, day, year int) string {
	const someYear, fewest = 2001, 28
	if year == 0 {
		year = someYear
	}
	for ; ; day-- {
		text := dayOfMonth(month, day)
		if _, err := tables.ParseDate(text, tables.DayFirst, year); err == nil || day <= fewest {
			return text
		}
	}
}

// dayOfMonth writes a day of a month that a text names alone.
func dayOfMonth(month string, day int) string {
	const twoFigures = 100
	if isYearAndMonth(month) {
		return month + "-" + strconv.Itoa(twoFigures + day)[1:]
	}
	return strconv.Itoa(day) + " " + month
}

// isMonthAndYear reports whether a text has a month and two figures that are a day or the
// end of a year: Jul-26.
func isMonthAndYear(text string) (figures string, is bool) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" .-/'", r) })
	if len(parts) != 2 || !monthWords[spelling.Plain(parts[0])] || len(parts[1]) != 2 || !isDayNumber(parts[1]) {
		return "", false
	}
	return parts[1], true
}

// isTimeTitle reports whether a title says of when its rows are, and nothing else.
func isTimeTitle(text string) bool {
	for _, word := range strings.Fields(spelling.Plain(text)) {
		_, err := strconv.Atoi(word)
		if !monthWords[word] && !dayWords[word] && !timeWords[word] && err != nil {
			return false
		}
	}
	return true
}

// timeWords are words of titles that say when, in English and Spanish; common practice.
var timeWords = wordSet(`season temporada year ano month mes week semana page pagina to a and y from desde hasta
	spring summer autumn fall primavera verano otono continued cont continuacion`)

// monthWords and dayWords are what dates have in letters, in English and Spanish, months in German, French
// and Portuguese too: which of these no date is made of, is asked.
var monthWords, dayWords = wordSet(`jan feb mar apr may jun jul aug sep sept oct nov dec
	january february march april june july august september october november december
	ene abr ago set dic enero febrero marzo abril mayo junio julio agosto septiembre setiembre octubre noviembre diciembre
	januar februar marz mai juni juli oktober dezember okt dez
	janvier fevrier avril juin juillet aout septembre octobre novembre decembre
	janeiro fevereiro maio junho julho setembro outubro novembro dezembro`),
	wordSet(`de del of the st nd rd th t z am pm mon tue wed thu fri sat sun lun mie jue vie sab dom
	monday tuesday wednesday thursday friday saturday sunday lunes martes miercoles jueves viernes sabado domingo`)

func wordSet(words string) map[string]bool {
	out := map[string]bool{}
	for _, word := range strings.Fields(words) {
		out[word] = true
	}
	return out
}
