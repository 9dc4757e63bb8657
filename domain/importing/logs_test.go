package importing_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// The hour that clocks show twice is told from its neighbours, whether the oldest row stands
// first or the newest.
func TestTheHourThatComesTwiceIsReadInEitherOrder(t *testing.T) {
	t.Parallel()
	winnipeg, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	rows := []string{"2026-11-01 00:30,30", "2026-11-01 01:00,31", "2026-11-01 01:30,32", "2026-11-01 01:00,33", "2026-11-01 01:30,34", "2026-11-01 02:00,35", "2026-11-01 02:30,36"}
	const want = "05:30 30, 06:00 31, 06:30 32, 07:00 33, 07:30 34, 08:00 35, 08:30 36" // UTC, five and then six hours ahead
	for range 2 {
		h := newHouse()
		book, err := ledger.Open(winnipeg, h.Entries)
		if err != nil {
			t.Fatal(err)
		}
		text := "Time,Temp C\n" + strings.Join(rows, "\n") + "\n"
		m := h.guess(t, importing.TemperatureLogs, text)
		m.Fixed = map[importing.Field]string{importing.FieldTank: "sump"}
		var got []string
		_, err = importing.Take(book.Ahead(), table(t, text), m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, func(e *ledger.Entry) error {
			for _, p := range e.Body.(*ledger.TemperatureLog).Points {
				got = append(got, p.At.Format("15:04 ")+strings.TrimSuffix(time.Duration(p.TemperatureC*1e9).String(), "s"))
			}
			return nil
		})
		if err != nil || strings.Join(got, ", ") != want {
			t.Errorf("%v %v\n%s\nby hand\n%s", rows, err, strings.Join(got, ", "), want)
		}
		slices.Reverse(rows)
	}
}

// A log that comes again with humidity, or with another one, does not drop it without a word.
func TestHumidityOfALogThatComesAgainIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.TemperatureLogs, "Time,Tank,Temp C,RH\n2026-07-01 10:00,sump,30,\n2026-07-01 10:10,sump,31,\n2026-07-01 10:20,sump,32,55\n")
	for rows, want := range map[string]string{
		"2026-07-01 10:00,sump,30,\n2026-07-01 10:20,sump,32,55\n":           "",
		"2026-07-01 10:20,sump,32,\n":                                        "",
		"2026-07-01 10:00,sump,30,41\n2026-07-01 10:10,sump,31,42\n":         "2D two_values: without its humidity",
		"2026-07-01 10:20,sump,32,56\n":                                      "2D two_values: humidity of 55 %",
		"2026-07-01 10:20,sump,33,55\n":                                      "2C two_values: already has 32 °C",
		"2026-07-01 10:30,sump,33,56\n2026-07-01 10:30,sump,33,57\n":         "3D two_values: humidity of 56 %",
		"2026-07-01 10:40,sump,33,56\n2026-07-01 10:50,sump,33.0625,57.25\n": "",
	} {
		text := "Time,Tank,Temp C,RH\n" + rows
		r := h.check(t, text, h.guess(t, importing.TemperatureLogs, text))
		code, says, _ := strings.Cut(want, ": ")
		switch got := problems(r); {
		case want == "" && got != nil, want != "" && (!slices.Equal(got, []string{code}) || !strings.Contains(said(r)[0], says)):
			t.Errorf("%q: %v, %v", rows, got, said(r))
		}
	}
}

// A clock of twelve hours that does not say am or pm is asked about where its hours begin again.
func TestALogByAClockOfTwelveHoursIsAskedAbout(t *testing.T) {
	t.Parallel()
	for times, want := range map[string][]string{
		"10:00 11:00 12:00 1:00 2:00":      {"5B no_date"},
		"11:50 12:50 1:50":                 {"4B no_date"},
		"9:00 12:00 3:00":                  {"4B no_date"},
		"10:00 11:00 12:00 13:00 14:00":    nil,
		"11:00 12:00 1:00pm 2:00pm":        nil,
		"14:00 13:00 12:00 11:00 1:00":     nil, // newest first
		"10:00 11:00 12:00 10:00 11:00":    nil, // stands twice
		"0:00 0:30 1:00 11:30 12:00 12:30": nil,
	} {
		text := "Date,Time,Tank,Temp C\n"
		for _, at := range strings.Fields(times) {
			text += "2026-07-01," + at + ",sump,30\n"
		}
		if got := problems(newHouse().check(t, text, newHouse().guess(t, importing.TemperatureLogs, text))); !slices.Equal(got, want) {
			t.Errorf("%s: %v", times, got)
		}
	}
}
