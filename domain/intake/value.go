package intake

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"pullbook/domain/say"
	"pullbook/domain/sheet"
)

// text is what the row at hand says of a field: its cell, or what is fixed for all
// rows where the cell is empty.
func (k *taking) text(f Field) string {
	c := k.columns[f]
	if c == nil {
		return ""
	}
	if text := k.cell(c); text != "" {
		return text
	}
	return k.Mapping.Fixed[f]
}

// longest are the most letters that the book keeps of a text; of others it is
// usualLongest.
var longest = map[Field]int{FieldNote: 2000, FieldProduct: 200, FieldLaboratory: 200, FieldLot: 40, FieldContainer: 40}

const usualLongest = 80

// word reads a text; empty where there is none or it will not do.
func (k *taking) word(f Field) string {
	text := strings.TrimPrefix(k.text(f), "'")
	most, bounded := longest[f]
	if !bounded {
		most = usualLongest
	}
	switch c := k.columns[f]; {
	case sheet.IsError(text):
		k.problem(SheetError, c, say.F("The sheet could not work this cell out itself: put the formula right there, or type what it should be."))
	case sheet.IsFormula(text) && f != FieldNote:
		k.problem(Formula, c, say.F("This begins like a formula and is no name: type what it is called."))
	case utf8.RuneCountInString(text) > most:
		k.problem(OutOfRange, c, say.F("This is longer than the %s letters that the book keeps: shorten it.", most))
	case strings.ContainsRune(text, 0):
		k.problem(OutOfRange, c, say.F("This holds a character that cannot be kept (U+0000): leave it out."))
	default:
		return text
	}
	return ""
}

// must reads a text that must be there.
func (k *taking) must(f Field) string {
	text := k.word(f)
	if text == "" && !k.bad {
		k.problem(MissingField, k.columns[f], say.F("This is empty, and a row needs it: fill it in, or leave the row out."))
	}
	return text
}

// keep notes what was typed, where that is not what is stored.
func (k *taking) keep(name, text string) {
	const mostTyped = 80
	if utf8.RuneCountInString(text) > mostTyped {
		return
	}
	if k.typed == nil {
		k.typed = map[string]string{}
	}
	k.typed[name] = text
}

// figure reads a number of a column; given is false where the cell is empty or
// will not do.
func (k *taking) figure(f Field) (x sheet.Figure, given bool) {
	c := k.columns[f]
	if c == nil {
		return x, false
	}
	return k.number(c, k.text(f))
}

func (k *taking) number(c *column, text string) (x sheet.Figure, given bool) {
	if sheet.Missing(text) {
		return x, false
	}
	if sheet.IsError(text) {
		k.problem(SheetError, c, say.F("The sheet could not work this cell out itself: put the formula right there, or type what it should be."))
		return x, false
	}
	x, err := sheet.ParseFigure(text, c.mark)
	if two := new(sheet.TwoFigures); errors.As(err, &two) {
		k.problem(TwoFigures, c, say.F("This can be %s or %s: say whether the decimals of column %s stand behind a point or a comma.",
			say.Figure(two.Decimal), say.Figure(two.Grouped), columnName(c.Column.Column, c.Heading)), asText(two.Decimal), asText(two.Grouped))
		return x, false
	}
	if err != nil {
		k.problem(NoFigure, c, say.F("A figure is needed here, such as 17.4 or 61: type it, or empty the cell."))
		return x, false
	}
	return x, true
}

// plain reads a figure that has no unit to be converted, within bounds.
func (k *taking) plain(f Field, least, most float64) (v float64, given bool) {
	x, given := k.figure(f)
	switch {
	case !given:
	case x.LessThan:
		k.problem(NoFigure, k.columns[f], say.F("Less than something cannot be kept here: type the figure itself, or empty the cell."))
		return 0, false
	case x.Value < least || x.Value > most:
		k.problem(OutOfRange, k.columns[f], say.F("This lies outside %s to %s, which the book takes.", say.Figure(least), say.Figure(most)))
		return 0, false
	}
	return x.Value, given
}

// count reads a whole number from 0; words behind it, as in "12 boxes", are idle.
func (k *taking) count(c *column, text string) (n int, given bool) {
	const most = 100_000
	x, given := k.number(c, text)
	if given && (x.Value != math.Trunc(x.Value) || x.Value < 0 || x.Value > most || x.LessThan) {
		k.problem(OutOfRange, c, say.F("A whole number from 0 to %s is needed here.", most))
		return 0, false
	}
	return int(x.Value), given
}

// mostGrams is 1,000 tonnes, the most that the book takes of any mass.
const mostGrams = 1_000_000_000

// mass reads a weight as whole grams, or a volume of honey where honey is true.
// What was typed is kept where it was not kilograms.
func (k *taking) mass(f Field, name string, honey bool) (grams int64, given bool) {
	x, given := k.figure(f)
	if !given {
		return 0, false
	}
	c := k.columns[f]
	unit, ok := k.unit(c, x.Unit)
	if !ok {
		return 0, false
	}
	if !honey && (unit == Litres || unit == USGallons || unit == ImperialGallons) {
		k.problem(NoUnit, c, say.F("This is a volume, and a weight is needed here."), string(Kilograms), string(Pounds))
		return 0, false
	}
	grams, ok = gramsOf(x.Value, unit)
	if !ok || x.LessThan || grams < 0 || grams > mostGrams {
		k.problem(OutOfRange, c, say.F("No such weight can be kept: %s to %s can.", say.Kg(0), say.Kg(mostGrams/1000)))
		return 0, false
	}
	if unit != Kilograms {
		typed := k.text(f)
		if x.Unit == "" {
			typed += " " + string(unit)
		}
		k.keep(name, typed)
	}
	return grams, true
}

// unit settles what a figure is in: the cell's own unit before its column's. Where
// neither says it, or it says no more than gallons, it is asked.
func (k *taking) unit(c *column, own string) (Unit, bool) {
	unit := c.Unit
	if own != "" {
		known := false
		if unit, known = unitWords[own]; !known || !c.info.measure.takes(unit) {
			k.problem(NoUnit, c, say.F("%s is no unit that can be read here.", say.Quoted(own)), c.info.measure.units()...)
			return "", false
		}
		if unit == SomeGallons && c.Unit != "" && c.Unit != Kilograms {
			unit = c.Unit
		}
	}
	if unit == SomeGallons {
		k.problem(NoUnit, c, say.F("Which gallons are these? Say for column %s whether they are us_gal or imp_gal: an imperial one is a fifth more.", columnName(c.Column.Column, c.Heading)), string(USGallons), string(ImperialGallons))
		return "", false
	}
	if unit == "" {
		k.problem(NoUnit, c, say.F("In which unit is this? Say it for column %s.", columnName(c.Column.Column, c.Heading)), c.info.measure.units()...)
		return "", false
	}
	return unit, true
}

func (m measure) units() []string {
	if m == temperatures {
		return []string{string(Celsius), string(Fahrenheit)}
	}
	return []string{string(Kilograms), string(Pounds)}
}

// celsius reads a temperature within bounds in degrees Celsius.
func (k *taking) celsius(f Field, name string, least, most float64) (v float64, given bool) {
	x, given := k.figure(f)
	if !given {
		return 0, false
	}
	c := k.columns[f]
	unit, ok := k.unit(c, x.Unit)
	if !ok {
		return 0, false
	}
	v = celsiusOf(x.Value, unit)
	if v < least || v > most || x.LessThan {
		k.problem(OutOfRange, c, say.F("This lies outside %s to %s, which the book takes.", say.Celsius(least), say.Celsius(most)))
		return 0, false
	}
	if unit == Fahrenheit && name != "" {
		k.keep(name, strconv.FormatFloat(x.Value, 'f', -1, 64)+" F")
	}
	return v, true
}

// when reads the instant of the row at hand in the outfit's zone.
func (k *taking) when() (at time.Time, given bool) {
	c := k.columns[FieldDate]
	text := k.text(FieldDate)
	if text == "" {
		k.problem(NoDate, c, say.F("The row has no date: fill it in, or leave the row out."))
		return at, false
	}
	if sheet.IsError(text) {
		k.problem(SheetError, c, say.F("The sheet could not work this cell out itself: put the formula right there, or type what it should be."))
		return at, false
	}
	w, ok := k.date(c, text)
	if !ok {
		return at, false
	}
	if clock := k.text(FieldTime); clock != "" && !w.HasClock && !k.clock(&w, clock) {
		return at, false
	}
	at = w.In(k.book.Location())
	if k.Mapping.MakeSeasons {
		k.failed = errors.Join(k.failed, k.season(at))
	}
	return at, true
}

func (k *taking) date(c *column, text string) (w sheet.When, ok bool) {
	w, err := sheet.ParseDate(text, c.order)
	if err == nil {
		return w, true
	}
	if two := new(sheet.TwoDates); errors.As(err, &two) {
		k.problem(TwoDates, c, say.F("This can be %s or %s, and no other date of the column says which: say whether its dates have the day or the month first (dates: day_first or month_first).",
			day(two.DayFirst), day(two.MonthFirst)), string(sheet.DayFirst), string(sheet.MonthFirst))
		return w, false
	}
	if k.table.Serials {
		if serial, err := strconv.ParseFloat(text, 64); err == nil {
			if w, ok := sheet.FromSerial(serial, k.table.Epoch1904); ok {
				return w, true
			}
		}
	}
	k.problem(NoDate, c, say.F("A date is needed here, such as 2026-07-06: type it, or leave the row out."))
	return w, false
}

func day(w sheet.When) say.Day {
	return say.Day(time.Date(w.Year, time.Month(w.Month), w.Day, 12, 0, 0, 0, time.UTC))
}

// clock reads the time of day from a column of its own; a workbook keeps it as part
// of a day.
func (k *taking) clock(w *sheet.When, text string) bool {
	clock, err := sheet.ParseClock(text)
	if err != nil && k.table.Serials {
		if part, perr := strconv.ParseFloat(text, 64); perr == nil && 0 <= part && part < 1 {
			clock, err = time.Duration(math.Round(part*86400))*time.Second, nil
		}
	}
	if err != nil {
		k.problem(NoDate, k.columns[FieldTime], say.F("A time of day is needed here, such as 14:30: type it, or empty the cell."))
		return false
	}
	w.Clock, w.HasClock = clock, true
	return true
}
