package importing

import (
	"strings"
	"time"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// nightClock is what is known of the times of a sheet that say no am or pm.
type nightClock struct {
	afternoon bool // one of them is after 12:59, or says its zeros: the clock shows 24 hours
	morning   bool // one of them is between 6:00 and 12:59
	row       int  // the first in the small hours; 0 where none is
	sent      string
}

// noteClock takes the time of the row at hand. Of a log goesRoundTwelve tells.
func (k *taking) noteClock(w tables.When, clock string) {
	const one, six, thirteen = time.Hour, 6 * time.Hour, 13 * time.Hour
	text := clock
	if text == "" {
		text = k.text(FieldDate)
	}
	n := &k.nightClock
	if k.wide != nil || k.Mapping.Of == TemperatureLogs || !w.HasClock || w.Zone != nil || strings.HasSuffix(strings.ToLower(strings.TrimRight(text, " .")), "m") {
		return
	}
	switch {
	case w.Clock >= thirteen, w.Clock > 0 && w.Clock < one, saysZero(text):
		n.afternoon = true
	case w.Clock >= six:
		n.morning = true
	case n.row == 0 && one <= w.Clock:
		n.row, n.sent = k.row, strings.Clone(text)
	}
}

// saysZero reports whether the hour of a time is written with a zero before it, as clocks of
// twelve hours seldom are.
func saysZero(text string) bool {
	hour, _, found := strings.Cut(text[strings.LastIndexAny(text, " T")+1:], ":")
	return found && len(hour) == 2 && hour[0] == '0'
}

// askNightClock asks about times in the small hours, where others are of a morning and none is after
// 12:59: the clock may show twelve hours.
func (k *taking) askNightClock() {
	n := &k.nightClock
	c := k.columns[FieldTime]
	if c == nil {
		c = k.columns[FieldDate]
	}
	if n.row == 0 || !n.morning || n.afternoon || c == nil || k.Mapping.Rows[n.row] != "" {
		return
	}
	p := Problem{Code: DoubtfulRow, Row: n.row, Field: c.Field, Sent: n.sent, DidYouMean: []string{string(Another)},
		Message: message.F("This is in the small hours, and no time of the sheet is later than 12:59. Does the clock show twelve hours? Write am or pm behind each time, or type it as 14:30; or say that the row holds as it stands%s, and so do all the others.", message.Option("rows: another"))}
	if c.index >= 0 {
		p.Column, p.Heading = c.Column.Column, c.Heading
	}
	k.add(p)
}
