package heat

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// writtenTime is a time as a logger wrote it, before it is known which of two
// figures is the day.
type writtenTime struct {
	instant time.Time // set when the text is RFC 3339 and leaves nothing open
	year    int
	a, b    int // month and day as ordered says, else as written
	ordered bool
	dots    bool
	clock   time.Duration
}

var (
	yearFirst = regexp.MustCompile(`^(\d{4})([-/.])(\d{1,2})[-/.](\d{1,2})[ T]+(.+)$`)
	yearLast  = regexp.MustCompile(`^(\d{1,2})([-/.])(\d{1,2})[-/.](\d{4}|\d{2})[ T,]+(.+)$`)
	clockTime = regexp.MustCompile(`^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d{1,9})?)?(?: ?([AaPp])\.?[Mm]\.?)?$`)
)

func splitTime(text string) (writtenTime, bool) {
	if at, err := time.Parse(time.RFC3339, text); err == nil {
		return writtenTime{instant: at}, true
	}
	if at, err := time.Parse("2006-01-02 15:04:05Z07:00", text); err == nil {
		return writtenTime{instant: at}, true
	}
	m, isoOrder := yearFirst.FindStringSubmatch(text), true
	if m != nil {
		m = []string{m[0], m[3], m[2], m[4], m[1], m[5]}
	} else if m, isoOrder = yearLast.FindStringSubmatch(text), false; m == nil {
		return writtenTime{}, false
	}
	clock, ok := splitClock(strings.TrimSpace(m[5]))
	if !ok {
		return writtenTime{}, false
	}
	w := writtenTime{ordered: isoOrder, dots: m[2] == ".", clock: clock}
	w.a, _ = strconv.Atoi(m[1])
	w.b, _ = strconv.Atoi(m[3])
	w.year, _ = strconv.Atoi(m[4])
	if len(m[4]) == 2 {
		w.year += 2000
	}
	return w, true
}

func splitClock(text string) (time.Duration, bool) {
	m := clockTime.FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	hour, _ := strconv.Atoi(m[1])
	minute, _ := strconv.Atoi(m[2])
	second, _ := strconv.Atoi("0" + m[3])
	if half := strings.ToLower(m[4]); half != "" {
		if hour < 1 || hour > 12 {
			return 0, false
		}
		hour %= 12
		if half == "p" {
			hour += 12
		}
	}
	if hour > 23 || minute > 59 || second > 59 {
		return 0, false
	}
	return time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute + time.Duration(second)*time.Second, true
}

// dateOrder finds which figure is the day: by the separator, by being told, or
// by a figure above 12 anywhere in the file.
func dateOrder(rows []row, column int, told DateOrder) (DateOrder, error) {
	if told != DateOrderOfFile && told != DayFirst && told != MonthFirst {
		return "", fmt.Errorf("the order of dates %q is unknown: say %s or %s", told, DayFirst, MonthFirst)
	}
	firstAbove, secondAbove, example := false, false, ""
	for _, r := range rows {
		text := field(r.fields, column)
		w, ok := splitTime(text)
		if !ok {
			w, ok = splitTime(text + " 00:00")
		}
		if !ok || w.ordered || !w.instant.IsZero() {
			continue
		}
		if w.dots {
			return DayFirst, nil
		}
		if example == "" {
			example = text
		}
		firstAbove, secondAbove = firstAbove || w.a > 12, secondAbove || w.b > 12
	}
	switch {
	case example == "", told == DayFirst && !secondAbove, told == MonthFirst && !firstAbove:
		return told, nil
	case told != DateOrderOfFile || (firstAbove && secondAbove):
		return "", fmt.Errorf("dates like %q do not all fit one order of day and month", example)
	case firstAbove:
		return DayFirst, nil
	case secondAbove:
		return MonthFirst, nil
	}
	return "", fmt.Errorf("dates like %q can be read with the day or the month first: say which (%s or %s)", example, DayFirst, MonthFirst)
}

// in settles the time in a place.
func (w writtenTime) in(order DateOrder, location *time.Location) (time.Time, error) {
	at := w.instant
	if at.IsZero() {
		if location == nil {
			return time.Time{}, errors.New("it has no offset from UTC: say in which time zone the logger's clock ran")
		}
		month, day := w.a, w.b
		if !w.ordered && order == DayFirst {
			month, day = w.b, w.a
		}
		at = time.Date(w.year, time.Month(month), day, int(w.clock.Hours()), int(w.clock.Minutes())%60, int(w.clock.Seconds())%60, 0, location)
		if month < 1 || month > 12 || day < 1 || time.Date(w.year, time.Month(month), day, 0, 0, 0, 0, time.UTC).Day() != day {
			return time.Time{}, errors.New("there is no such day")
		}
	}
	if year := at.Year(); year < 1990 || year > 2100 {
		return time.Time{}, fmt.Errorf("the year %d is out of place: it must be from 1990 to 2100", year)
	}
	return at, nil
}
