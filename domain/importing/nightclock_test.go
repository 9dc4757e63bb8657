package importing_test

import (
	"fmt"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// A sample that was drawn at half past one in the afternoon was not drawn at night.
func TestTimesThatMayBeOfAClockOfTwelveHoursAreAskedAbout(t *testing.T) {
	t.Parallel()
	for times, want := range map[string]string{
		"11:30 12:30 1:30 2:30":       "[4B doubtful_row]",
		"9:00 3:15":                   "[3B doubtful_row]",
		"9:00 3:15 15:00":             "[]",
		"01:30 02:30":                 "[]",
		"9:00 10:00 12:30":            "[]",
		"3:15pm 4:15pm":               "[]",
		"0:30 1:30 2:30 (night turn)": "[]",
	} {
		h := newHouse()
		text := "Date,Time,Tank,Moisture\n"
		for i, at := range strings.Fields(strings.TrimSuffix(times, " (night turn)")) {
			text += fmt.Sprintf("2026-07-14,%s,sump,17.%d\n", at, i)
		}
		m := h.guess(t, importing.Readings, text)
		if got := fmt.Sprint(problems(h.check(t, text, m))); got != want {
			t.Errorf("of %s %s is asked, and %s should be", times, got, want)
		}
		m.Rows = map[int]importing.Alike{3: importing.Another, 4: importing.Another}
		if got := problems(h.check(t, text, m)); len(got) > 0 {
			t.Errorf("of %s %s is asked though it was answered", times, got)
		}
	}
}
