package tables

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"
)

// Order says which of two figures of a date is the day.
type Order string

// The orders; OrderUnknown where nothing says which.
const (
	OrderUnknown Order = ""
	DayFirst     Order = "day_first"
	MonthFirst   Order = "month_first"
)

// When is a date, with a time of day where there was one.
type When struct {
	Year, Month, Day int
	// Clock is the time since midnight; HasClock is false where none was written.
	Clock    time.Duration
	HasClock bool
	// Zone is the offset that was written; nil where none was.
	Zone *time.Location
}

// The years that dates can be of.
const (
	FirstYear = 1900
	LastYear  = 2200
)

// In is the instant in the zone of a place, if the text brought none of its own.
// A date without a time is at noon, which no change of the clocks moves to
// another day.
func (w When) In(loc *time.Location) time.Time {
	if w.Zone != nil {
		loc = w.Zone
	}
	clock := w.Clock
	if !w.HasClock {
		clock = 12 * time.Hour
	}
	return time.Date(w.Year, time.Month(w.Month), w.Day, int(clock/time.Hour), int(clock/time.Minute)%60, int(clock/time.Second)%60, 0, loc)
}

// TwoDates says that a date can be read two ways.
type TwoDates struct {
	Text       string
	DayFirst   When
	MonthFirst When
}

func (t *TwoDates) Error() string {
	return fmt.Sprintf("%q can be %s or %s", t.Text, t.DayFirst.day(), t.MonthFirst.day())
}

func (w When) day() string {
	return fmt.Sprintf("%d %s %d", w.Day, time.Month(w.Month), w.Year)
}

// DateError says that a text is no date.
type DateError struct{ Text string }

func (e *DateError) Error() string { return fmt.Sprintf("%q is no date", e.Text) }

// NoYearError says that a date has no year.
type NoYearError struct{ Text string }

func (e *NoYearError) Error() string { return fmt.Sprintf("%q has no year", e.Text) }

// ParseDate reads 2026-07-06, 6/7/26, 6.7.2026, 6 Jul 2026, Monday, July 6th, 2026,
// 6-jul-26, 6 de julio de 2026 and the like, with a time of day behind it or not. Where order is unknown and
// the text does not say by itself which figure is the day, the error is *TwoDates;
// a text that is no date gives *DateError. Two figures of a year are of this
// century. noYear is the year of 6 July and 6/7; where it is 0 they give *NoYearError,
// once their order is known.
func ParseDate(text string, order Order, noYear int) (When, error) {
	date, clock := cut(strings.TrimSpace(text))
	w, a, b, err := dateOf(date)
	if err != nil {
		return w, &DateError{text}
	}
	bare := w.Year == 0
	if bare {
		const leap = 2000 // 29 February is some year's day
		w.Year = leap
		if noYear != 0 {
			w.Year = noYear
		}
	}
	if w, err = w.ordered(text, order, a, b, clock); err == nil && bare && noYear == 0 {
		return w, &NoYearError{text}
	}
	return w, err
}

// ordered puts the figures of a date and the time of day behind it into their places.
func (w When) ordered(text string, order Order, a, b int, clock string) (_ When, err error) {
	if clock != "" {
		if w.Clock, w.Zone, err = clockOf(clock); err != nil {
			return w, &DateError{text}
		}
		w.HasClock = true
	}
	if w.Month != 0 {
		return w.proper(text)
	}
	day, month := w, w
	day.Day, day.Month = a, b
	month.Day, month.Month = b, a
	switch {
	case order == DayFirst, order == OrderUnknown && b <= 12 && a > 12:
		return day.proper(text)
	case order == MonthFirst, order == OrderUnknown && a <= 12 && b > 12, a == b:
		return month.proper(text)
	case a > 12: // and so is b
		return w, &DateError{text}
	}
	return w, &TwoDates{text, day, month}
}

func (w When) proper(text string) (When, error) {
	at := time.Date(w.Year, time.Month(w.Month), w.Day, 0, 0, 0, 0, time.UTC)
	if w.Month < 1 || w.Month > 12 || at.Day() != w.Day || w.Year < FirstYear || w.Year > LastYear {
		return w, &DateError{text}
	}
	return w, nil
}

// cut parts a date from a time of day.
func cut(text string) (date, clock string) {
	i := strings.IndexByte(text, ':')
	if i < 0 {
		return text, ""
	}
	for i > 0 && '0' <= text[i-1] && text[i-1] <= '9' {
		i--
	}
	return strings.TrimRight(text[:i], " ,Tt\u00a0"), text[i:]
}

// dateOf gives a date whose order is plain, or its two figures.
func dateOf(text string) (w When, a, b int, err error) {
	var parts [3]string
	n, from := 0, -1
	var mark byte
	for i := 0; i <= len(text); i++ {
		if i < len(text) && !strings.ContainsRune("-/. ,", rune(text[i])) {
			if from < 0 {
				from = i
			}
			continue
		}
		if from >= 0 {
			part := text[from:i]
			if from = -1; idleInDates[strings.ToLower(part)] {
				continue
			}
			if n == 3 {
				return w, 0, 0, &DateError{text}
			}
			parts[n], n = ordinal(part), n+1
			if n == 1 && i < len(text) {
				mark = text[i]
			}
		}
	}
	if n == 2 {
		return withoutYear(text, parts[0], parts[1])
	}
	if n != 3 {
		if w, ok := compactDate(text); ok {
			return w, 0, 0, nil
		}
		return w, 0, 0, &DateError{text}
	}
	first, second, third := digits(parts[0]), digits(parts[1]), digits(parts[2])
	switch {
	case first >= 0 && second >= 0 && third >= 0 && len(parts[0]) == 4:
		w.Year, w.Month, w.Day = first, second, third
	case first >= 0 && second >= 0 && third >= 0 && mark == '.' && strings.Contains(text, ". "):
		w.Day, w.Month, w.Year = first, second, year(parts[2], third) // 6. 7. 2026: the dots are those of ordinals
	case first >= 0 && second >= 0 && third >= 0:
		w.Year, a, b = year(parts[2], third), first, second
	case first >= 0 && third >= 0 && len(parts[0]) == 4:
		w.Year, w.Month, w.Day = first, monthOf(parts[1]), third
	case first >= 0 && third >= 0:
		w.Day, w.Month, w.Year = first, monthOf(parts[1]), year(parts[2], third)
	case second >= 0 && third >= 0:
		w.Month, w.Day, w.Year = monthOf(parts[0]), second, year(parts[2], third)
	}
	if w.Year == 0 || w.Month == 0 && a == 0 && b == 0 || w.Month < 0 {
		return w, 0, 0, &DateError{text}
	}
	return w, a, b, nil
}

// withoutYear gives the month and day of 14 July, July 14 and 7-14. 7.14 is a figure.
func withoutYear(text, one, other string) (w When, a, b int, err error) {
	first, second := digits(one), digits(other)
	switch {
	case len(one) > 2 && first >= 0, len(other) > 2 && second >= 0, IsPlain(text):
		return w, 0, 0, &DateError{text}
	case first >= 0 && second >= 0:
		return w, first, second, nil
	case first >= 0:
		w.Day, w.Month = first, monthOf(other)
	case second >= 0:
		w.Day, w.Month = second, monthOf(one)
	}
	if w.Month <= 0 {
		return w, 0, 0, &DateError{text}
	}
	return w, 0, 0, nil
}

// compactDate reads 20260706.
func compactDate(text string) (When, bool) {
	n := digits(text)
	if len(text) != 8 || n < 19000101 {
		return When{}, false
	}
	return When{Year: n / 10000, Month: n / 100 % 100, Day: n % 100}, true
}

// digits reads a whole number of at most eight figures; -1 for anything else.
func digits(text string) int {
	if text == "" || len(text) > 8 {
		return -1
	}
	n := 0
	for i := range len(text) {
		if text[i] < '0' || text[i] > '9' {
			return -1
		}
		n = n*10 + int(text[i]-'0')
	}
	return n
}

func year(text string, n int) int {
	if len(text) <= 2 {
		return 2000 + n
	}
	return n
}

// months by their first three letters, in English and Spanish.
var months = map[string]int{
	"jan": 1, "ene": 1, "feb": 2, "mar": 3, "apr": 4, "abr": 4, "may": 5, "jun": 6, "jul": 7, "aug": 8, "ago": 8,
	"sep": 9, "set": 9, "oct": 10, "nov": 11, "dec": 12, "dic": 12,
	"mä": 3, "avr": 4, "mai": 5, "okt": 10, "dez": 12, // März, avril, Mai, Oktober, Dezember
}

// idleInDates are words of a date that say nothing more: days of the week, and what
// stands between day, month and year.
var idleInDates = map[string]bool{
	"de": true, "del": true, "of": true, "the": true,
	"mon": true, "tue": true, "wed": true, "thu": true, "fri": true, "sat": true, "sun": true,
	"monday": true, "tuesday": true, "wednesday": true, "thursday": true, "friday": true, "saturday": true, "sunday": true,
	"lunes": true, "martes": true, "miércoles": true, "miercoles": true, "jueves": true, "viernes": true, "sábado": true, "sabado": true, "domingo": true,
}

// ordinal leaves the letters of 1st, 2nd, 3rd and 4th out.
func ordinal(part string) string {
	if n := len(part) - 2; n > 0 && n <= 2 && digits(part[:n]) > 0 {
		switch strings.ToLower(part[n:]) {
		case "st", "nd", "rd", "th":
			return part[:n]
		}
	}
	return part
}

func monthOf(text string) int {
	if len(text) < 3 {
		return -1
	}
	if m, known := months[strings.ToLower(text[:3])]; known {
		return m
	}
	return -1
}

// ParseClock reads a time of day: 14:30, 2:30 PM, 14:30:05.
func ParseClock(text string) (time.Duration, error) {
	clock, _, err := clockOf(strings.TrimSpace(text))
	return clock, err
}

// besideClock takes out what stands between a time and what says its half of the day: 2:30 p. m.
var besideClock = strings.NewReplacer(" ", "", "\u00a0", "", ".", "")

func clockOf(text string) (time.Duration, *time.Location, error) {
	wrong := &DateError{text}
	var figures [3]int
	n, i := 0, 0
	for n < 3 {
		from := i
		for i < len(text) && '0' <= text[i] && text[i] <= '9' {
			i++
		}
		if figures[n] = digits(text[from:i]); figures[n] < 0 || i-from > 2 {
			return 0, nil, wrong
		}
		n++
		if i == len(text) || text[i] != ':' || n == 3 {
			break
		}
		i++
	}
	if n < 2 {
		return 0, nil, wrong
	}
	if n == 3 && i < len(text) && (text[i] == '.' || text[i] == ',') { // fractions of a second
		for i++; i < len(text) && '0' <= text[i] && text[i] <= '9'; i++ {
		}
	}
	var zone *time.Location
	switch rest := strings.ToLower(besideClock.Replace(text[i:])); {
	case rest == "":
	case rest == "am" || rest == "pm":
		if figures[0] < 1 || figures[0] > 12 {
			return 0, nil, wrong
		}
		figures[0] %= 12
		if rest == "pm" {
			figures[0] += 12
		}
	default:
		if zone = zoneOf(strings.ToUpper(rest)); zone == nil {
			return 0, nil, wrong
		}
	}
	if figures[0] > 23 || figures[1] > 59 || figures[2] > 59 {
		return 0, nil, wrong
	}
	return time.Duration(figures[0])*time.Hour + time.Duration(figures[1])*time.Minute + time.Duration(figures[2])*time.Second, zone, nil
}

// zoneOf reads an offset from UTC: Z, -05:00, -0500 or -05; nil where it is none.
func zoneOf(text string) *time.Location {
	for _, form := range [...]string{"Z07:00", "Z0700", "Z07"} {
		if at, err := time.Parse(form, text); err == nil {
			return at.Location()
		}
	}
	return nil
}

var zoneOfHeading = regexp.MustCompile(`\b(?:GMT|UTC)(?:\s*([+-])\s*(\d{1,2})(?::?(\d{2}))?)?\b`)

// ZoneIn is the zone that a heading names, as loggers write it: GMT-05:00, UTC; nil
// where it names none.
func ZoneIn(heading string) *time.Location {
	m := zoneOfHeading.FindStringSubmatch(strings.ToUpper(heading))
	if m == nil {
		return nil
	}
	seconds := max(digits(m[2]), 0)*3600 + max(digits(m[3]), 0)*60
	if m[1] == "-" {
		seconds = -seconds
	}
	return time.FixedZone(m[0], seconds)
}

// The days that a serial number of a date may be: 1950 to 2150.
const (
	leastSerial = 18264
	mostSerial  = 91311
)

// FromSerial is the date that a spreadsheet keeps as the number of days since the
// end of 1899, or since the beginning of 1904; false where the number is no date
// that a book can tell of.
func FromSerial(serial float64, epoch1904 bool) (When, bool) {
	if epoch1904 {
		serial += 1462
	}
	if !(leastSerial <= serial && serial <= mostSerial) {
		return When{}, false
	}
	day, part := math.Modf(serial)
	at := time.Date(1899, time.December, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(day))
	// To the second: a serial holds no more than some hundredths of one.
	clock := time.Duration(math.Round(part*86400)) * time.Second
	if clock == 24*time.Hour {
		at, clock = at.AddDate(0, 0, 1), 0
	}
	return When{Year: at.Year(), Month: int(at.Month()), Day: at.Day(), Clock: clock, HasClock: part != 0}, true
}

// Orders is what a column's dates say of their order.
type Orders struct {
	Day, Month int
	// Open counts dates that say nothing.
	Open int
}

// Note takes a cell into account.
func (o *Orders) Note(text string) {
	date, _ := cut(strings.TrimSpace(text))
	w, a, b, err := dateOf(date)
	switch {
	case err != nil || w.Month != 0:
	case a > 12 && b <= 12:
		o.Day++
	case b > 12 && a <= 12:
		o.Month++
	case a != b && a <= 12:
		o.Open++
	}
}

// Order is what the dates prove; OrderUnknown where they prove nothing, or both.
func (o *Orders) Order() Order {
	switch {
	case o.Day > 0 && o.Month == 0:
		return DayFirst
	case o.Month > 0 && o.Day == 0:
		return MonthFirst
	}
	return OrderUnknown
}

// Both reports whether some dates have the day first and others the month.
func (o *Orders) Both() bool { return o.Day > 0 && o.Month > 0 }
