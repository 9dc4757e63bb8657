package importing

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// text is what the row at hand says of a field: its cell, or what is fixed for all
// rows where the cell is empty.
func (k *taking) text(f Field) string {
	c := k.columns[f]
	if c == nil {
		return ""
	}
	c.looked = k.row
	if text := k.cell(c); text != "" {
		return text
	}
	return k.Mapping.Fixed[f]
}

// longest are the most letters that the book keeps of a text; of others it is
// usualLongest.
var longest = map[Field]int{FieldNote: 2000, FieldProduct: 200, FieldLaboratory: 200, FieldLot: 40, FieldContainer: 40}

const usualLongest = 80

// mostListed is how many letters a cell may have that lists the containers of a sale.
const mostListed = 2000

// word reads a text; empty where there is none or it will not do.
func (k *taking) word(f Field) string {
	text := strings.TrimPrefix(k.text(f), "'")
	if f != FieldNote {
		text = strings.Join(strings.Fields(text), " ") // a name that is broken into lines is one name
	}
	most, bounded := longest[f]
	if !bounded {
		most = usualLongest
	}
	if f == FieldContainer && k.Mapping.Of == Sales {
		most = mostListed
	}
	unseen, found := spelling.Unseen(text)
	switch c := k.columns[f]; {
	case found:
		k.problem(OutOfRange, c, message.F("This holds a character that cannot be seen (%s): leave it out.", fmt.Sprintf("%U", unseen)))
	case tables.IsError(text):
		k.problem(SheetError, c, message.F("The sheet could not work this cell out itself: put the formula right there, or type what it should be."))
	case tables.IsFormula(text) && f != FieldNote:
		k.problem(Formula, c, message.F("This begins like a formula and is no name: type what it is called."))
	case utf8.RuneCountInString(text) > most:
		k.problem(OutOfRange, c, message.F("This is longer than the %s letters that the book keeps: shorten it.", most))
	case c != nil && c.info.measure == words && f != FieldNote && k.isDitto(c, text):
	default:
		return text
	}
	return ""
}

// must reads a text that must be there.
func (k *taking) must(f Field) string {
	text := k.word(f)
	if text == "" && !k.bad {
		k.problem(MissingField, k.columns[f], message.F("This is empty, and a row needs it: fill it in, or leave the row out."))
	}
	return text
}

// tookForDay asks about a name that a spreadsheet took for a day near that of the row: it keeps
// a number for the run 6/7, and no longer what was typed.
func (k *taking) tookForDay(f Field, name string, at time.Time) {
	const near = 366 * 24 * time.Hour
	c := k.columns[f]
	if c == nil || !k.table.Serials || !isWhole(name) {
		return
	}
	serial, err := strconv.ParseFloat(name, 64)
	w, is := tables.FromSerial(serial, k.table.Epoch1904)
	if err != nil || !is || w.In(k.book.Location()).Sub(at).Abs() > near {
		return
	}
	k.problem(TwoValues, c, message.F("This is the number by which a spreadsheet keeps %s, as it does where it takes a name for a day: type what the name is, with a word before it.", day(w)))
}

// keep notes what was typed, where that is not what is stored.
func (k *taking) keep(name, text string) {
	text = strings.TrimPrefix(text, "'")
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
func (k *taking) figure(f Field) (x tables.Figure, given bool) {
	c := k.columns[f]
	if c == nil {
		return x, false
	}
	return k.number(c, k.text(f))
}

func (k *taking) number(c *column, text string) (x tables.Figure, given bool) {
	c.looked = k.row
	if text == "" {
		k.shared(c)
	}
	if tables.Missing(text) {
		return x, false
	}
	if tables.IsError(text) {
		k.problem(SheetError, c, message.F("The sheet could not work this cell out itself: put the formula right there, or type what it should be."))
		return x, false
	}
	mark := c.mark
	if k.isNumber(text) {
		mark = tables.MarkPoint
	}
	x, err := tables.ParseFigure(text, mark)
	if err == nil && !c.can(x.Value, x.Unit) && tables.MayBeGrouped(text) {
		x, err = tables.ParseFigure(text, tables.MarkUnknown) // whatever the column's other figures say
	}
	two := new(tables.TwoFigures)
	if errors.As(err, &two) {
		x, err = c.onlyPossible(two, x.Unit)
	}
	if errors.As(err, &two) {
		k.problem(TwoFigures, c, message.F("This can be %s or %s: say whether the decimals of column %s stand behind a point or a comma.",
			message.Figure(two.Decimal), message.Figure(two.Grouped), columnName(c.Column.Column, c.Heading)), asText(two.Decimal), asText(two.Grouped))
		return x, false
	}
	if err != nil {
		var meant []string
		if mended, is := tables.Mistyped(text); is {
			meant = append(meant, mended)
		}
		k.problem(NoFigure, c, message.F("A figure is needed here, such as 17.4 or 61: type it, or empty the cell."), meant...)
		return x, false
	}
	if c.scaleOf(x.Unit) == nil && !k.understood(c, text, &x) {
		return x, false
	}
	if c.info.measure == counts || c.info.measure == figures {
		if !k.scaled(c, text, &x) {
			return x, false
		}
		k.keepTyped(strings.TrimSpace(string(c.Field)+" "+c.Of), text)
	}
	return x, true
}

// possible are the values that fields can have at all, where a figure without its decimal
// mark has none of them: what the book takes, and of temperatures what it takes in either
// unit. What the others of a reading can be, ledger.Plausible says.
var possible = map[Field][2]float64{
	FieldLatitude: {-90, 90}, FieldLongitude: {-180, 180}, FieldMoisture: {0, 100}, FieldRefractive: {1, 2}, FieldBrix: {0, 100},
	FieldSampleC: {-40, 250}, FieldTemperature: {-40, 250}, FieldHumidity: {0, 100},
}

// heaviestLoad is in grams: no pull, run or drum weighs as much as a loaded truck with its
// trailer may where the most is allowed; common practice.
const heaviestLoad = 60_000_000

// can reports whether a field can have a value at all, in the cell's own unit or else its
// column's.
func (c *column) can(value float64, own string) bool {
	if c.info.measure != masses {
		if s := c.scaleOf(own); s != nil && s.by > 0 {
			value *= s.by
		}
		least, most, _, _, known := ledger.Plausible(string(c.Field))
		if within, own := possible[c.Field]; own {
			least, most, known = within[0], within[1], true
		}
		return !known || least <= value && value <= most
	}
	unit, said := unitWords[own]
	if !said {
		unit = c.Unit
	}
	switch unit {
	case "":
		unit = Pounds // the lightest that it may be
	case SomeGallons:
		unit = USGallons
	}
	grams, ok := gramsOf(value, unit)
	return ok && grams <= heaviestLoad
}

// onlyPossible is the one of two readings of a figure that the field can have; the error
// is two where it can have both, or neither.
func (c *column) onlyPossible(two *tables.TwoFigures, own string) (tables.Figure, error) {
	mark := tables.MarkPoint
	switch decimal := c.can(two.Decimal, own); {
	case decimal == c.can(two.Grouped, own):
		return tables.Figure{}, two
	case decimal == strings.Contains(two.Text, ","):
		mark = tables.MarkComma
	}
	return tables.ParseFigure(two.Text, mark)
}

// keepTyped notes a figure as it was typed, where reading it took more than its digits.
func (k *taking) keepTyped(name, text string) {
	if k.Mapping.Of != TemperatureLogs && (!tables.IsPlain(text) || !k.isNumber(text) && tables.MayBeGrouped(text)) {
		k.keep(name, text)
	}
}

// shared notes a figure that is merged over several rows: what of it is each row's
// own, nothing says.
func (k *taking) shared(c *column) {
	if over := k.over(c); over != nil {
		k.add(Problem{Code: TwoValues, Row: k.row, Column: c.Column.Column, Heading: c.Heading, Field: c.Field, Sent: over.Text,
			Message: message.F("This figure is merged over rows %s to %s: part the cells, and say in each row what is its own.", over.First, over.Last)})
		k.bad = true
	}
}

// plain reads a figure that has no unit to be converted, within bounds.
func (k *taking) plain(f Field, least, most float64) (v float64, given bool) {
	x, given := k.figure(f)
	switch {
	case !given:
	case x.LessThan:
		k.problem(NoFigure, k.columns[f], message.F("“Less than” cannot be stored here. Type the figure itself, or empty the cell."))
		return 0, false
	case x.Value < least || x.Value > most:
		k.problem(OutOfRange, k.columns[f], message.F("The book takes only %s to %s here.", message.Figure(least), message.Figure(most)))
		return 0, false
	}
	return x.Value, given
}

// mostCounted is what no yard, pull or run has of anything. The numbers by which spreadsheets
// keep the days of this century are above it: 3-4 becomes one where it is taken for a date.
const mostCounted = 9_999

// count reads a whole number from 0.
func (k *taking) count(c *column, text string) (n int, given bool) {
	const most = mostCounted
	x, given := k.number(c, text)
	const noise = 1e-6 // of what a spreadsheet reckons in binary
	if whole := math.Round(x.Value); math.Abs(x.Value-whole) < noise {
		x.Value = whole
	}
	if given && (x.Value != math.Trunc(x.Value) || x.Value < 0 || x.Value > most || x.LessThan) {
		k.problem(OutOfRange, c, message.F("A whole number from 0 to %s is needed here.", most))
		return 0, false
	}
	if given && k.tooMany(c, int(x.Value)) {
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
		k.problem(NoUnit, c, message.F("This is a volume, and a weight is needed here."), string(Kilograms), string(Pounds))
		return 0, false
	}
	grams, ok = gramsOf(x.Value, unit)
	if !ok || x.LessThan || grams < 0 || grams > mostGrams {
		k.problem(OutOfRange, c, message.F("The book takes weights from %s to %s.", message.Kg(0), message.Kg(mostGrams/1000)))
		return 0, false
	}
	if k.tooHeavy(f, grams) {
		return 0, false
	}
	typed := k.text(f)
	if unit != Kilograms && x.Unit == "" {
		typed += " " + string(unit)
	}
	k.keepTyped(name, typed)
	return grams, true
}

// unit settles what a figure is in: the cell's own unit before its column's. Where
// neither says it, or it says no more than gallons, it is asked.
func (k *taking) unit(c *column, own string) (Unit, bool) {
	unit := c.Unit
	if own == "" {
		own = k.unitBeside(c)
	}
	if own != "" {
		known := false
		if unit, known = unitWords[own]; !known || !c.info.measure.takes(unit) {
			k.problem(NoUnit, c, message.F("%s is no unit that can be read here.", message.Quoted(own)), c.info.measure.units()...)
			return "", false
		}
		if unit == SomeGallons && c.Unit != "" && c.Unit != Kilograms {
			unit = c.Unit
		}
	}
	if unit == SomeGallons {
		k.problemOnce(NoUnit, c, message.F("Which gallons are these? Say for column %s whether they are us_gal or imp_gal: an imperial one is a fifth more.", columnName(c.Column.Column, c.Heading)), string(USGallons), string(ImperialGallons))
		return "", false
	}
	if unit == "" && k.askUnitElsewhere(c) {
		return "", false
	}
	if unit == "" {
		k.problemOnce(NoUnit, c, message.F("In which unit is this? Say it for column %s.", columnName(c.Column.Column, c.Heading)), c.info.measure.units()...)
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
		k.problem(OutOfRange, c, message.F("The book takes only %s to %s here.", message.Celsius(least), message.Celsius(most)))
		return 0, false
	}
	typed := k.text(f)
	if unit == Fahrenheit && x.Unit == "" {
		typed += " F"
	}
	k.keepTyped(name, typed)
	return v, true
}

// when reads the instant of the row at hand in the outfit's zone.
func (k *taking) when() (at time.Time, given bool) {
	c := k.columns[FieldDate]
	text := k.text(FieldDate)
	if text == "" {
		k.problem(NoDate, c, message.F("The row has no date: fill it in, or leave the row out."))
		return at, false
	}
	if tables.IsError(text) {
		k.problem(SheetError, c, message.F("The sheet could not work this cell out itself: put the formula right there, or type what it should be."))
		return at, false
	}
	w, ok := k.date(c, text)
	if !ok {
		return at, false
	}
	defer func() { k.timed = w.HasClock }()
	clock := k.text(FieldTime)
	if clock != "" && !k.clock(&w, clock) || k.halfInHeading(&w, clock) {
		return at, false
	}
	if at, ok = k.shownAt(w); !ok {
		return at, false
	}
	k.keepDay()
	k.noteClock(w, clock)
	k.noteYear(at)
	k.failed = errors.Join(k.failed, k.season(at, c))
	return at, true
}

// shownAt is the instant of a date and time in the outfit's zone, where its clocks
// ever showed that.
func (k *taking) shownAt(w tables.When) (at time.Time, ok bool) {
	loc := k.book.Location()
	if w.Zone == nil && w.HasClock {
		w.Zone = k.zoneOfColumns()
	}
	at, k.zoned = w.In(loc), w.Zone != nil
	hour, minute, _ := at.Clock()
	if !w.HasClock || k.zoned || hour == int(w.Clock/time.Hour) && minute == int(w.Clock/time.Minute)%60 {
		return at, true
	}
	c := k.columns[FieldDate]
	if clock := k.columns[FieldTime]; k.cell(clock) != "" {
		c = clock
	}
	k.problem(NoDate, c, message.F("The clocks of %s never showed this time: they were put forward over it. Put it right, or write the offset from UTC behind it, as in %s.",
		loc.String(), fmt.Sprintf("%02d:%02d", w.Clock/time.Hour, w.Clock/time.Minute%60)+at.Format("-07:00")))
	return at, false
}

// zoneOfColumns is the zone that the headings of times name; nil where they do not.
func (k *taking) zoneOfColumns() *time.Location {
	for _, f := range [...]Field{FieldTime, FieldDate} {
		if c := k.columns[f]; c != nil && c.zone != nil {
			return c.zone
		}
	}
	return nil
}

func (k *taking) date(c *column, text string) (w tables.When, ok bool) {
	text = strings.TrimPrefix(text, "'")
	w, err := tables.ParseDate(text, c.order, k.Mapping.Year)
	if err == nil {
		w = c.aright(w, isReal(text))
		if other := tables.OtherWeekday(text, w); other != "" {
			k.problem(NoDate, c, message.F("%s is no %s. Put right the day, its weekday or the year.", day(w), message.Quoted(other)))
			return w, false
		}
		return w, true
	}
	if none := new(tables.NoYearError); errors.As(err, &none) {
		k.problem(NoYear, c, message.F("The date has no year. Say which one the dates of this sheet are of%s.", message.Option("year")))
		return w, false
	}
	if two := new(tables.TwoDates); errors.As(err, &two) && c.bothOrders {
		k.problem(TwoDates, c, message.F("This can be %s or %s, and of the column's other dates some have the day first and others the month: put right those that are wrong, or say which it is%s.",
			day(two.DayFirst), day(two.MonthFirst), message.Option("dates: day_first or month_first")), string(tables.DayFirst), string(tables.MonthFirst))
		return w, false
	}
	if two := new(tables.TwoDates); errors.As(err, &two) {
		k.problem(TwoDates, c, message.F("This can be %s or %s, and no other date of the column says which: say whether its dates have the day or the month first%s.",
			day(two.DayFirst), day(two.MonthFirst), message.Option("dates: day_first or month_first")), string(tables.DayFirst), string(tables.MonthFirst))
		return w, false
	}
	serial, err := strconv.ParseFloat(text, 64)
	w, ok = tables.FromSerial(serial, k.table.Epoch1904)
	switch {
	case err == nil && ok && k.table.Serials:
		w.HasClock = w.HasClock || c.timed // midnight, where the others have a time
		return c.aright(w, true), true
	case err == nil && ok:
		k.problem(NoDate, c, message.F("This is the number by which a spreadsheet keeps a day: have it show the column as dates and save the file again, or bring in the workbook itself."), dateOnly(w))
		return w, false
	}
	k.problem(NoDate, c, message.F("A date is needed here, such as 2026-07-06: type it, or leave the row out."))
	return w, false
}

func dateOnly(w tables.When) string { return fmt.Sprintf("%04d-%02d-%02d", w.Year, w.Month, w.Day) }

func day(w tables.When) message.Day {
	return message.Day(time.Date(w.Year, time.Month(w.Month), w.Day, 12, 0, 0, 0, time.UTC))
}

// clock reads the time of day from a column of its own; a workbook keeps it as part
// of a day. A date that has one itself keeps it, but for midnight, which programs write behind
// a day that has none.
func (k *taking) clock(w *tables.When, text string) bool {
	clock, err := tables.ParseClock(text)
	if err != nil && k.table.Serials {
		if part, perr := strconv.ParseFloat(text, 64); perr == nil && 0 <= part && part < 1 {
			const lastSecond = 24*time.Hour - time.Second
			clock, err = min(time.Duration(math.Round(part*86400))*time.Second, lastSecond), nil
		}
	}
	has := w.HasClock && (w.Clock != 0 || w.Zone != nil)
	switch {
	case k.halfOfDay() != "":
		k.problem(NoDate, k.columns[FieldTime], message.F("%s stands in a cell of its own: write it behind the time, as in 2:30 pm, or type the time as 14:30.", message.Quoted(k.halfOfDay())))
		return false
	case has && (err != nil || clock.Truncate(time.Minute) == w.Clock.Truncate(time.Minute)):
		return true
	case has:
		k.problem(TwoValues, k.columns[FieldTime], message.F("The date has a time of day of its own, and this is another one: put right which one is wrong, or empty the cell."))
		return false
	case err != nil:
		k.problem(NoDate, k.columns[FieldTime], message.F("A time of day is needed here, such as 14:30: type it, or empty the cell."))
		return false
	}
	w.Clock, w.HasClock = clock, true
	return true
}

// halfInHeading asks about a time that says no am or pm itself where the heading does: in which
// half of the day it was, may have been meant for all.
func (k *taking) halfInHeading(w *tables.When, clock string) bool {
	c, text := k.columns[FieldTime], clock
	if clock == "" {
		c, text = k.columns[FieldDate], k.text(FieldDate)
	}
	if c == nil || c.index < 0 || !w.HasClock || strings.HasSuffix(strings.ToLower(strings.TrimRight(text, " .")), "m") {
		return false
	}
	const noon = 12 * time.Hour
	if !c.am && !c.pm || c.am && !c.pm && w.Clock < noon || w.Clock >= noon+time.Hour && c.pm {
		return false // as the heading has it, or in 24 hours
	}
	k.problemOnce(NoDate, c, message.F("The heading %s says am or pm, and the cell does not say which it is: write it behind each time, as in 2:30 pm, or type the time as 14:30 and take it out of the heading.", message.Quoted(c.Heading)))
	return true
}

// halves reports which halves of the day a heading names.
func halves(heading string) (am, pm bool) {
	for _, word := range strings.FieldsFunc(strings.ToLower(strings.ReplaceAll(heading, ".", "")), func(r rune) bool { return !unicode.IsLetter(r) }) {
		am, pm = am || word == "am" || word == "ampm", pm || word == "pm" || word == "ampm"
	}
	return am, pm
}

// halfOfDay is the cell of the row at hand that says no more than am or pm; empty where none
// does.
func (k *taking) halfOfDay() string {
	const longest = 4 // p.m.
	for _, cell := range k.cells {
		if len(cell) < 2 || len(cell) > longest || !strings.ContainsAny(cell[:1], "aApP") {
			continue
		}
		switch strings.ToLower(strings.ReplaceAll(cell, ".", "")) {
		case "am", "pm":
			return cell
		}
	}
	return ""
}
