package tables

import (
	"strings"
	"time"
)

// weekdays are the days of the week among the words that say nothing more in a date.
var weekdays = map[string]time.Weekday{
	"mon": time.Monday, "tue": time.Tuesday, "wed": time.Wednesday, "thu": time.Thursday, "fri": time.Friday, "sat": time.Saturday, "sun": time.Sunday,
	"monday": time.Monday, "tuesday": time.Tuesday, "wednesday": time.Wednesday, "thursday": time.Thursday, "friday": time.Friday, "saturday": time.Saturday, "sunday": time.Sunday,
	"lunes": time.Monday, "martes": time.Tuesday, "miércoles": time.Wednesday, "miercoles": time.Wednesday, "jueves": time.Thursday, "viernes": time.Friday, "sábado": time.Saturday, "sabado": time.Saturday, "domingo": time.Sunday,
}

// OtherWeekday is the day of the week that a date as it was typed begins or ends with, where the day is
// another one; empty where it is not.
func OtherWeekday(text string, w When) string {
	text = strings.TrimSpace(text)
	if text == "" || text[0] <= '9' && text[len(text)-1] <= '9' {
		return "" // no letter at either end
	}
	words := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' || r == '.' })
	if len(words) < 2 {
		return ""
	}
	for _, word := range []string{words[0], words[len(words)-1]} {
		day, is := weekdays[strings.ToLower(word)]
		if is && day != time.Date(w.Year, time.Month(w.Month), w.Day, 0, 0, 0, 0, time.UTC).Weekday() {
			return word
		}
	}
	return ""
}
